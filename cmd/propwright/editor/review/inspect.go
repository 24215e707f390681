package review

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

// Inspect reads a design as a build would and lists what is wrong with it. It
// may run on any goroutine.
func Inspect(d *model.Design) []Finding {
	text := d.Format()
	found := inspectText(d.File, text)
	lines := strings.Split(string(text), "\n")
	for i := range found {
		if n := found[i].Pos.Line; n >= 1 && n <= len(lines) {
			key, _, _ := strings.Cut(lines[n-1], "=")
			found[i].Key = strings.TrimSpace(key)
		}
	}
	return found
}

func inspectText(file string, text []byte) []Finding {
	read, err := model.Read(file, text)
	var faults model.Faults
	if errors.As(err, &faults) {
		return ofFaults(read, faults)
	}
	all, err := check.NewStudy(read).Check(sketch.Rules())
	found := ofFindings(read, all)
	if err != nil {
		found = append(found, ofProp(check.Error, err.Error(), ""))
	}
	return found
}

// inspectScripts says which rehearsals beside a design's file do not fit the
// design any more: a build stops at them. The file is "" where there is none.
func inspectScripts(d *model.Design, file string) []Finding {
	if file == "" {
		return nil
	}
	var found []Finding
	scripts, err := rehearsal.Beside(file)
	if err != nil {
		found = append(found, ofProp(check.Error, "a rehearsal cannot be read: "+err.Error(), "mend or delete that file: a build stops at it"))
	}
	for _, s := range scripts {
		var faults model.Faults
		if !errors.As(s.Fit(d), &faults) {
			continue
		}
		for _, f := range faults {
			said := fmt.Sprintf("the rehearsal %s does not fit the design any more: %s in line %d", filepath.Base(s.File), f.Wrong, f.Pos.Line)
			found = append(found, ofProp(check.Error, said, f.Advice+" there, or delete the file: a build stops at it"))
		}
	}
	return found
}

// ofProp returns a finding about the prop as a whole.
func ofProp(severity check.Severity, message, advice string) Finding {
	return Finding{Finding: check.Finding{Severity: severity, Message: message, Advice: advice}, Elem: model.Elem{Sort: model.SortProp}}
}

// ofFaults makes findings of what keeps a file from being a design. The
// places are those of read, which has the same elements as the design.
func ofFaults(read *model.Design, faults model.Faults) []Finding {
	var found []Finding
	for _, f := range faults {
		of := check.Finding{Severity: check.Error, Pos: f.Pos, Message: f.Wrong, Advice: f.Advice}
		found = append(found, Finding{Finding: of, Unfinished: true, Elem: elemAt(read, f.Pos)})
	}
	return found
}

// ofUnread makes findings of what the file says and the design does not.
func ofUnread(faults model.Faults) []Finding {
	var found []Finding
	for _, f := range faults {
		advice := "mend that line of the file in a text editor, or say here what is meant: a save leaves the line out"
		if f.Advice != "" {
			advice = f.Advice + "; " + advice
		}
		of := ofProp(check.Error, fmt.Sprintf("line %d of the file cannot be read: %s", f.Pos.Line, f.Wrong), advice)
		of.Unfinished = true
		found = append(found, of)
	}
	return found
}

func ofFindings(read *model.Design, all check.Findings) []Finding {
	var found []Finding
	for _, f := range all {
		found = append(found, Finding{Finding: f, Elem: elemAt(read, f.Pos), FixOf: elemAt(read, model.Pos{Line: f.Fix.Line, Column: f.Fix.Column})})
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
