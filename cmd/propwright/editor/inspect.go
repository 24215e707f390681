package editor

import (
	"errors"

	"propwright/model"
)

// inspect reads a design as a build would and lists what is wrong with it. It
// may run on any goroutine.
func inspect(d *model.Design) []finding {
	read, err := model.Read(d.File, d.Format())
	var faults model.Faults
	if errors.As(err, &faults) {
		return ofFaults(read, faults)
	}
	return nil
}

// ofFaults makes findings of what keeps a file from being a design. The
// places are those of read, which has the same elements as the design.
func ofFaults(read *model.Design, faults model.Faults) []finding {
	var found []finding
	for _, f := range faults {
		found = append(found, finding{severity: fault, elem: elemAt(read, f.Pos), said: f.Wrong, advice: f.Advice})
	}
	return found
}

func elemAt(read *model.Design, pos model.Pos) model.Elem {
	if read != nil {
		if at, ok := read.ElemAt(pos); ok {
			return at
		}
	}
	return model.Elem{Sort: model.SortProp}
}
