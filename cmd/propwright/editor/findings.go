package editor

import (
	"fmt"
	"strings"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/editor/review"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
)

const inFindings scope = "findings"

// findings lists what the check has found.
type findings struct {
	*workspace
	pane.List // of the findings
	rows      pane.Rows
	shown     int // lines of the screen
}

func (v *findings) all() []review.Finding { return v.review.Findings }

func (v *findings) renew() { v.Put(len(v.all()), nil) }

func (v *findings) draw(p pane.Pen, here bool) {
	t := v.theme
	all := v.all()
	if len(all) == 0 {
		s := "Nothing is found: the design passes every rule."
		if v.review.Pending {
			s = "The design is being checked."
		}
		p.Text(2, 1, t.Good, s)
		return
	}
	v.shown = p.H
	var rows []pane.Row
	for i := range all {
		f := &all[i]
		head := f.Word()
		if f.Rule != "" {
			head += " " + f.Rule
		}
		rows = append(rows, pane.Row{Of: i, Style: v.style(f.Severity), Text: fmt.Sprintf(" %s — %s", head, v.desk.design().Title(f.Elem)), Head: true})
		said := []string{f.Message}
		if i == v.At && f.Advice != "" {
			said = append(said, "What to do: "+f.Advice)
		}
		if i == v.At && len(f.Witness) > 0 {
			said = append(said, "Seen by: "+machine.Tell(f.Witness))
		}
		for _, s := range said {
			for _, s := range pane.Wrap(s, p.W-6) {
				rows = append(rows, pane.Row{Of: i, Style: t.Plain, Text: "     " + s})
			}
		}
	}
	above, below := v.rows.Draw(p, rows, v.At, t.CursorOf(here), 0)
	p.More(t.Strong, above, below)
}

func (v *findings) style(s check.Severity) tcell.Style {
	switch s {
	case check.Error:
		return v.theme.Errs
	case check.Warning:
		return v.theme.Warning
	}
	return v.theme.Notes
}

// Page moves by the findings that fit a screen, about.
func (v *findings) Page(dy int) { v.Move(0, dy*max(v.shown/3, 1)) }

func (v *findings) place() model.Elem {
	if v.At < len(v.all()) {
		return v.all()[v.At].Elem
	}
	return model.Elem{Sort: model.SortProp}
}

func (v *findings) click(_, y int) bool {
	if i, ok := v.rows.Item(y); ok {
		v.At = i
	}
	return true
}

func (v *findings) where() string {
	all := v.all()
	n := len(all)
	if n == 0 {
		return ""
	}
	s := fmt.Sprintf("%d of %d", v.At+1, n)
	if all[v.At].Witness != nil {
		s += "; p plays what shows it, step by step, in rehearsal"
	}
	return s
}

// here is the finding under the cursor.
func (v *findings) here() (review.Finding, bool) {
	if v.At >= len(v.all()) {
		return review.Finding{}, false
	}
	return v.all()[v.At], true
}

// goThere goes to the place that the finding is about.
func (v *findings) goThere() {
	f, ok := v.here()
	if !ok {
		return
	}
	v.openFinding(f)
	said := strings.TrimSuffix(f.Message, ".")
	if f.Advice != "" {
		said += ". What to do: " + f.Advice
	}
	v.say(said)
}

// showWitness plays a finding's witness step by step.
func (v *findings) showWitness() {
	f, ok := v.here()
	if !ok || len(f.Witness) == 0 {
		v.say("this finding has nothing to play: it can be read off the design")
		return
	}
	v.playWitness(f)
	v.say("n does the next step")
}

// findingsActions are the keys of the findings.
func findingsActions() []viewAction {
	return []viewAction{
		{"finding-go", []string{"Enter"}, "go to the place that the finding is about", "go there", inView((*findings).goThere)},
		{"witness", []string{"p"}, "play what shows the finding, step by step, in rehearsal", "play it", inView((*findings).showWitness)},
	}
}
