package editor

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/rehearsal"
)

// inspect reads a design as a build would and lists what is wrong with it. It
// may run on any goroutine.
func inspect(d *model.Design) []finding {
	text := d.Format()
	found := inspectText(d.File, text)
	lines := strings.Split(string(text), "\n")
	for i := range found {
		if n := found[i].pos.Line; n >= 1 && n <= len(lines) {
			key, _, _ := strings.Cut(lines[n-1], "=")
			found[i].key = strings.TrimSpace(key)
		}
	}
	return found
}

func inspectText(file string, text []byte) []finding {
	read, err := model.Read(file, text)
	var faults model.Faults
	if errors.As(err, &faults) {
		return ofFaults(read, faults)
	}
	all, err := check.NewStudy(read).Check(sketch.Rules())
	found := ofFindings(read, all)
	if err != nil {
		found = append(found, finding{severity: wrong, elem: model.Elem{Sort: model.SortProp}, said: err.Error()})
	}
	return found
}

// inspectScripts says which rehearsals beside a design's file do not fit the
// design any more: a build stops at them. The file is "" where there is none.
func inspectScripts(d *model.Design, file string) []finding {
	if file == "" {
		return nil
	}
	wrongWith := func(said, advice string) finding {
		return finding{severity: wrong, elem: model.Elem{Sort: model.SortProp}, said: said, advice: advice}
	}
	var found []finding
	scripts, err := rehearsal.Beside(file)
	if err != nil {
		found = append(found, wrongWith("a rehearsal cannot be read: "+err.Error(), "mend or delete that file: a build stops at it"))
	}
	for _, s := range scripts {
		var faults model.Faults
		if !errors.As(s.Fit(d), &faults) {
			continue
		}
		for _, f := range faults {
			said := fmt.Sprintf("the rehearsal %s does not fit the design any more: %s in line %d", filepath.Base(s.File), f.Wrong, f.Pos.Line)
			found = append(found, wrongWith(said, f.Advice+" there, or delete the file: a build stops at it"))
		}
	}
	return found
}

// ofFaults makes findings of what keeps a file from being a design. The
// places are those of read, which has the same elements as the design.
func ofFaults(read *model.Design, faults model.Faults) []finding {
	var found []finding
	for _, f := range faults {
		found = append(found, finding{severity: fault, elem: elemAt(read, f.Pos), pos: f.Pos, said: f.Wrong, advice: f.Advice})
	}
	return found
}

// ofUnread makes findings of what the file says and the design does not.
func ofUnread(faults model.Faults) []finding {
	var found []finding
	for _, f := range faults {
		advice := "mend that line of the file in a text editor, or say here what is meant: a save leaves the line out"
		if f.Advice != "" {
			advice = f.Advice + "; " + advice
		}
		found = append(found, finding{
			severity: fault,
			elem:     model.Elem{Sort: model.SortProp},
			said:     fmt.Sprintf("line %d of the file cannot be read: %s", f.Pos.Line, f.Wrong),
			advice:   advice,
		})
	}
	return found
}

func ofFindings(read *model.Design, all check.Findings) []finding {
	var found []finding
	numberOf := map[string]int{}
	for i := range read.States {
		numberOf[read.States[i].Name] = i
	}
	for i := range all {
		f := &all[i]
		var states []model.Elem
		for _, name := range f.States {
			states = append(states, model.Elem{Sort: model.SortState, Index: numberOf[name]})
		}
		found = append(found, finding{
			severity: severityOf(f.Severity),
			rule:     f.Rule,
			elem:     elemAt(read, f.Pos),
			states:   states,
			pos:      f.Pos,
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
