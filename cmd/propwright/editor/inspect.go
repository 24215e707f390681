package editor

import (
	"errors"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
)

// inspect reads a design as a build would and lists what is wrong with it. It
// may run on any goroutine.
func inspect(d *model.Design) []finding {
	read, err := model.Read(d.File, d.Format())
	var faults model.Faults
	if errors.As(err, &faults) {
		return ofFaults(read, faults)
	}
	found, err := sketch.Check(read)
	switch {
	case errors.As(err, &faults):
		return ofFaults(read, faults)
	case err != nil:
		return []finding{{severity: warn, elem: model.Elem{Sort: model.SortProp}, said: err.Error()}}
	}
	return ofFindings(read, found)
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

func ofFindings(read *model.Design, all check.Findings) []finding {
	var found []finding
	for i := range all {
		f := &all[i]
		found = append(found, finding{
			severity: severityOf(f.Severity),
			rule:     f.Rule,
			elem:     elemAt(read, f.Pos),
			said:     f.Message,
			advice:   f.Advice,
			witness:  f.Witness,
			draws:    f.Draws,
		})
	}
	return found
}

func severityOf(s check.Severity) severity {
	switch s {
	case check.Error:
		return wrong
	case check.Warning:
		return warn
	}
	return note
}

func elemAt(read *model.Design, pos model.Pos) model.Elem {
	if read != nil {
		if at, ok := read.ElemAt(pos); ok {
			return at
		}
	}
	return model.Elem{Sort: model.SortProp}
}
