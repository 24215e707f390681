package editor

import (
	"fmt"
	"strings"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/editor/review"
	"propwright/model"
	"propwright/model/check"
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
			said = append(said, whatToDo(f))
		}
		if i == v.At && len(f.Witness) > 0 {
			said = append(said, "Seen by: "+f.Seen())
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

func (w *workspace) style(s check.Severity) tcell.Style {
	switch s {
	case check.Error:
		return w.theme.Errs
	case check.Warning:
		return w.theme.Warning
	}
	return w.theme.Notes
}

// tell writes a finding below its element; in full, with the advice.
func (w *workspace) tell(f *review.Finding, full bool, columns int, put func(style tcell.Style, head bool, s string)) {
	for _, s := range pane.Wrap("▸ "+f.Message, columns-3) {
		put(w.style(f.Severity), false, "  "+s)
	}
	todo := keyOfFix(f)
	if full && f.Advice != "" {
		todo = whatToDo(f)
	}
	if todo == "" {
		return
	}
	for _, s := range pane.Wrap(todo, columns-3) {
		put(w.theme.Plain, false, "  "+s)
	}
}

// whatToDo returns a finding's advice, with the key that follows it.
func whatToDo(f *review.Finding) string {
	s := "What to do: " + f.Advice
	if key := keyOfFix(f); key != "" {
		s += ". " + key
	}
	return s
}

// keyOfFix returns the key that writes a finding's fix, or "".
func keyOfFix(f *review.Finding) string {
	if f.Fix.Key == "" {
		return ""
	}
	return fmt.Sprintf("Ctrl-T writes %s = %s", f.Fix.Key, f.Fix.Value)
}

// fix writes the fix of a finding: the one under the cursor in the findings, else one
// about the element under the cursor.
func (e *Editor) fix() {
	about := e.review.About(e.panel.elem)
	if v, ok := e.current().(*findings); ok && !e.inPanel {
		f, _ := v.here()
		about = []review.Finding{f}
	}
	if e.review.Pending || e.review.Of != e.desk.design() {
		e.say("the design is being checked; once more in a moment")
		return
	}
	key := e.panel.line().key
	for _, f := range about {
		if f.Fix.Key == "" || e.inPanel && key != nil && key.Key != f.Key {
			continue
		}
		if e.try(e.desk.draft.Set(f.FixOf, f.Fix.Key, f.Fix.Value)) {
			e.say(fmt.Sprintf("%s of %s is now %s; Ctrl-Z takes it back", f.Fix.Key, e.desk.design().Title(f.FixOf), f.Fix.Value))
		}
		return
	}
	e.say("no finding here says which value to write; F7 shows them all")
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

// here returns the finding under the cursor.
func (v *findings) here() (review.Finding, bool) {
	if v.At >= len(v.all()) {
		return review.Finding{}, false
	}
	return v.all()[v.At], true
}

// goThere goes to the element that the finding is about.
func (v *findings) goThere() {
	f, ok := v.here()
	if !ok {
		return
	}
	v.openFinding(f)
	said := strings.TrimSuffix(f.Message, ".")
	if f.Advice != "" {
		said += ". " + whatToDo(&f)
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

// findingsActions returns the keys of the findings.
func findingsActions() []viewAction {
	return []viewAction{
		{"finding-go", []string{"Enter"}, "go to the place that the finding is about", "go there", inView((*findings).goThere)},
		{"witness", []string{"p"}, "play what shows the finding, step by step, in rehearsal", "play it", inView((*findings).showWitness)},
	}
}
