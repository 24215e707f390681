package editor

import (
	"fmt"
	"strings"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/machine"
)

const inFindings scope = "findings"

// findings lists what the check has found.
type findings struct {
	*workspace
	opener findingOpener
	at     int
	top    int
	rows   int
	lines  []int // for each line of the screen the finding drawn there
}

// A findingOpener shows in other views what a finding is about.
type findingOpener interface {
	openFinding(finding)
	// playWitness has the rehearsal ready to play the finding's witness.
	playWitness(finding)
}

func (v *findings) all() []finding { return v.review.findings }

func (v *findings) renew() { v.at = max(min(v.at, len(v.all())-1), 0) }

func (v *findings) draw(p pane.Pen, here bool) {
	t := v.theme
	all := v.all()
	if len(all) == 0 {
		s := "Nothing is found: the design passes every rule."
		if v.review.pending {
			s = "The design is being checked."
		}
		p.Text(2, 1, t.Good, s)
		return
	}
	v.lines = v.lines[:0]
	type line struct {
		text string
		of   int
		head bool
	}
	var lines []line
	first, last := 0, 0
	for i := range all {
		f := &all[i]
		if i == v.at {
			first = len(lines)
		}
		head := f.severity.String()
		if f.rule != "" {
			head += " " + f.rule
		}
		lines = append(lines, line{fmt.Sprintf("%s — %s", head, v.desk.design().Title(f.elem)), i, true})
		for _, s := range pane.Wrap(f.said, p.W-6) {
			lines = append(lines, line{"    " + s, i, false})
		}
		if i == v.at {
			if f.advice != "" {
				for _, s := range pane.Wrap("What to do: "+f.advice, p.W-6) {
					lines = append(lines, line{"    " + s, i, false})
				}
			}
			if len(f.witness) > 0 {
				for _, s := range pane.Wrap("Seen by: "+machine.Tell(f.witness), p.W-6) {
					lines = append(lines, line{"    " + s, i, false})
				}
			}
			last = len(lines) - 1
		}
	}
	v.rows = p.H
	v.top = min(pane.Scrolled(v.top, last, p.H, len(lines)), first)
	for y := 0; y < p.H && v.top+y < len(lines); y++ {
		l := lines[v.top+y]
		v.lines = append(v.lines, l.of)
		style := t.Plain
		if l.head {
			style = v.style(all[l.of].severity)
			if l.of == v.at {
				style = t.CursorIdle
				if here {
					style = t.Cursor
				}
				p.Fill(0, y, p.W, style)
			}
		}
		p.Text(1, y, style, l.text)
	}
	p.More(t.Strong, v.top > 0, v.top+p.H < len(lines))
}

func (v *findings) style(s severity) tcell.Style {
	t := v.theme
	switch s {
	case fault, wrong:
		return t.Errs
	case warn:
		return t.Warning
	}
	return t.Notes
}

func (v *findings) move(_, dy int) { v.at = max(min(v.at+dy, len(v.all())-1), 0) }
func (v *findings) page(dy int)    { v.move(0, dy*max(v.rows/3, 1)) }
func (v *findings) end(dx int)     { v.far(dx) }
func (v *findings) far(dy int)     { v.move(0, dy*len(v.all())) }

func (v *findings) place() model.Elem {
	if v.at < len(v.all()) {
		return v.all()[v.at].elem
	}
	return model.Elem{Sort: model.SortProp}
}

func (v *findings) click(_, y int) bool {
	if y < len(v.lines) {
		v.at = v.lines[y]
	}
	return true
}

func (v *findings) where() string {
	all := v.all()
	n := len(all)
	if n == 0 {
		return ""
	}
	s := fmt.Sprintf("%d of %d", v.at+1, n)
	if all[v.at].witness != nil {
		s += "; p plays what shows it, step by step, in rehearsal"
	}
	return s
}

// here is the finding under the cursor.
func (v *findings) here() (finding, bool) {
	if v.at >= len(v.all()) {
		return finding{}, false
	}
	return v.all()[v.at], true
}

// goThere goes to the place that the finding is about.
func (v *findings) goThere() {
	f, ok := v.here()
	if !ok {
		return
	}
	v.opener.openFinding(f)
	said := strings.TrimSuffix(f.said, ".")
	if f.advice != "" {
		said += ". What to do: " + f.advice
	}
	v.say(said)
}

// showWitness plays a finding's witness step by step.
func (v *findings) showWitness() {
	f, ok := v.here()
	if !ok || len(f.witness) == 0 {
		v.say("this finding has nothing to play: it can be read off the design")
		return
	}
	v.opener.playWitness(f)
	v.say("n does the next step")
}

// findingsActions are the keys of the findings.
func findingsActions() []action {
	return []action{
		{"finding-go", []string{"Enter"}, "go to the place that the finding is about", inFindings, "go there", inView((*findings).goThere)},
		{"witness", []string{"p"}, "play what shows the finding, step by step, in rehearsal", inFindings, "play it", inView((*findings).showWitness)},
	}
}
