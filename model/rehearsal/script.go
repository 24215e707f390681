package rehearsal

import (
	"bytes"
	"fmt"
	"strings"

	"propwright/model"
	"propwright/model/machine"
)

// A Script is a rehearsal in writing: a line for each act, as
// machine.ParseAct reads it, or for what is expected at that moment, as in
// `expect watch`. What follows a # is a comment.
type Script struct {
	File  string
	Lines []Line
}

// A Line is an act, or an expectation where Expect is not empty.
type Line struct {
	Pos    model.Pos
	Act    machine.Act
	Expect string // the state that the prop is to be in
}

func (l Line) String() string {
	if l.Expect != "" {
		return "expect " + l.Expect
	}
	return l.Act.String()
}

// maxScript is the most bytes that a script may have, far more than anybody
// rehearses.
const maxScript = 1 << 20

// ParseScript reads a script; file is its name for messages. The error is
// model.Faults, all that are in the script. It does not know the design: see
// Fit.
func ParseScript(file string, text []byte) (*Script, error) {
	s := &Script{File: file}
	var faults model.Faults
	if len(text) > maxScript {
		return nil, model.Faults{{
			Pos: model.Pos{File: file}, Wrong: "the script is larger than 1 MiB", Advice: "is this the right file?",
		}}
	}
	if bytes.IndexByte(text, 0) >= 0 {
		return nil, model.Faults{{
			Pos: model.Pos{File: file}, Wrong: "this is not a text file: it has a zero byte", Advice: "name a script of acts such as `press wake` and `wait 20s`, one a line",
		}}
	}
	number := 0
	for raw := range strings.Lines(strings.TrimPrefix(string(text), "\ufeff")) {
		number++
		text, _, _ := strings.Cut(raw, "#")
		trimmed := strings.TrimSpace(text)
		if trimmed == "" {
			continue
		}
		l := Line{Pos: model.Pos{File: file, Line: number, Column: strings.Index(text, trimmed) + 1}}
		var err error
		const expect = "expect"
		switch words := strings.Fields(trimmed); {
		case model.Nearest(words[0], []string{expect}) != "":
			err = fmt.Errorf("unknown act %q; write %q", words[0], strings.Join(append([]string{expect}, words[1:]...), " "))
		case words[0] != expect:
			l.Act, err = machine.ParseAct(trimmed)
		case len(words) != 2:
			err = fmt.Errorf("%q is not complete or has a word too many; write for example %q", trimmed, "expect watch")
		default:
			l.Expect = words[1]
		}
		if err != nil {
			faults = append(faults, model.Fault{Pos: l.Pos, Wrong: err.Error()})
			continue
		}
		s.Lines = append(s.Lines, l)
	}
	if faults != nil {
		return nil, faults
	}
	return s, nil
}

// Format writes the script as ParseScript reads it; title is a comment at the
// top.
func (s *Script) Format(title string) []byte {
	var b bytes.Buffer
	for line := range strings.SplitSeq(strings.TrimSpace(title), "\n") {
		if line != "" {
			fmt.Fprintf(&b, "# %s\n", strings.TrimSpace(line))
		}
	}
	for _, l := range s.Lines {
		fmt.Fprintln(&b, l)
	}
	return b.Bytes()
}

// Fit checks that a design has the buttons, inputs and states that a script
// names. The error is model.Faults.
func (s *Script) Fit(d *model.Design) error {
	d = d.Wired()
	var faults model.Faults
	known := func(pos model.Pos, sort model.Sort, name string) {
		if _, ok := d.Find(sort, name); ok {
			return
		}
		all := d.Names(sort)
		advice := "there are " + strings.Join(all, ", ")
		if near := model.Nearest(name, all); near != "" {
			advice = fmt.Sprintf("write %q", near)
		} else if len(all) == 0 {
			advice = "the design has none"
		}
		faults = append(faults, model.Fault{Pos: pos, Wrong: fmt.Sprintf("there is no %s %q", sort.Noun(), name), Advice: advice})
	}
	for _, l := range s.Lines {
		switch {
		case l.Expect != "":
			known(l.Pos, model.SortState, l.Expect)
		case l.Act.Kind == machine.ActRise || l.Act.Kind == machine.ActFall:
			known(l.Pos, model.SortInput, l.Act.Name)
		case l.Act.Kind == machine.ActEvent:
			known(l.Pos, model.SortEvent, l.Act.Name)
		case l.Act.Kind != machine.ActWait:
			known(l.Pos, model.SortButton, l.Act.Name)
		}
	}
	if faults != nil {
		return faults
	}
	return nil
}
