package editor

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
)

const controlColumns = 20

// draw draws the remote on the left, then what the prop does.
func (v *play) draw(p pane.Pen, here bool) {
	t := v.theme
	if v.prop == nil && !v.ready() {
		p.Text(2, 1, t.Warning, "The design cannot be rehearsed yet:")
		p.Lines(2, 3, t.Plain, pane.Wrap(v.why.Error(), p.W-4))
		return
	}
	left, right := p.Split(controlColumns-1, t.Box)
	v.drawControls(left, here)
	right = right.Part(1, 0, right.W-1, right.H)
	if v.prop != nil {
		v.drawProp(right)
		return
	}
	v.drawState(right.Part(0, 0, right.W, 3))
	d := v.player.Design()
	n := min(len(d.Outputs), max(right.H-3-6, 3))
	outputs := v.outputs(right.W, n < len(d.Outputs))
	for i, l := range outputs[:n] {
		l.draw(right.Part(0, 4+i, right.W, 1), t)
	}
	y := 4 + n + 1
	if n < len(outputs) {
		right.Text(0, 4+n, t.Dim, fmt.Sprintf("and %d more; those that the state moves stand first", len(outputs)-n))
	}
	v.drawLog(right.Part(0, y, right.W, right.H-y))
}

func (v *play) drawControls(p pane.Pen, here bool) {
	t := v.theme
	p.Text(1, 0, t.Head, pane.Pad("remote and inputs", p.W-2))
	all := v.controls()
	down, pressed := "", false
	if v.prop == nil {
		down, pressed = v.player.Down()
	}
	keys := digits(all)
	for y, i := range v.Lines(p.H - 1) {
		c := all[i]
		style := t.Plain
		if i == v.At {
			style = t.CursorOf(here)
			p.Fill(0, 1+y, p.W, style)
		}
		mark := ""
		switch {
		case c.of == model.SortInput && v.high[c.name]:
			mark = " on"
		case c.of == model.SortInput:
			mark = " off"
		case c.of == model.SortEvent:
			mark = " event"
		case v.held == c.name:
			mark = " held"
		case pressed && down == c.name:
			mark = " ●"
		case c.name == v.desk.design().Remote.Stop:
			mark = " ■"
		}
		p.Text(1, 1+y, style, string(keys[i])+" "+pane.Fit(c.name, p.W-4-pane.Width(mark))+mark)
	}
	v.More(p.Part(0, 1, p.W, p.H-1), t.Strong)
}

func (v *play) drawState(p pane.Pen) {
	t, pl := v.theme, v.player
	how := "paused"
	if v.clock.running {
		how = "running"
	}
	if h := v.clock.hundredths(); h != 100 {
		how += fmt.Sprintf(" at %s×", strconv.FormatFloat(float64(h)/100, 'g', -1, 64))
	}
	right := model.SayClock(pl.Now()) + "  " + how
	p.Text(p.W-pane.Width(right)-1, 0, t.Strong, right)
	left := p.Part(0, 0, p.W-pane.Width(right)-3, 1)
	x, kind := v.drawStateName(left, pl.State())
	left.Text(x+1, 0, t.Plain, string(kind)+" for "+model.SayClock(pl.Since()))
	s := "back: " + pl.Back()
	if to := pl.Deferred(); to != "" {
		s += "   when the routine ends: " + to
	}
	if n := pl.Dropped(); n > 0 {
		s += fmt.Sprintf("   events lost: %d", n)
	}
	p.Text(0, 1, t.Plain, s)
	var timers []string
	for _, d := range pl.Deadlines() {
		timers = append(timers, d.Trigger.String()+" in "+model.SayClock(d.Left))
	}
	p.Text(0, 2, t.Dim, strings.Join(timers, "   "))
}

// drawStateName draws the state that the prop is in, and says where the name ends.
func (v *play) drawStateName(p pane.Pen, name string) (end int, kind model.StateKind) {
	if at, ok := v.desk.design().Find(model.SortState, name); ok {
		kind = v.desk.design().States[at.Index].Kind
	}
	return p.Text(0, 0, v.theme.kinds[kind].Bold(true).Reverse(true), " "+kindMark(kind)+" "+name+" "), kind
}

// An outputLine is one output as the rehearsal shows it.
type outputLine struct {
	name   string
	gauge  string
	lights []tcell.Style // of the gauge's characters, nil: plain
	text   string
}

func (l *outputLine) draw(p pane.Pen, t theme) {
	p.Within(0, 0, 13, t.Strong, l.name)
	if l.gauge == "" {
		p.Text(14, 0, t.Plain, l.text)
		return
	}
	x := 14
	for i, r := range []rune(l.gauge) {
		style := t.Plain
		if i < len(l.lights) {
			style = l.lights[i]
		}
		p.Set(x+i, 0, r, style)
	}
	p.Text(x+len([]rune(l.gauge))+1, 0, t.Plain, l.text)
}

// moved returns the outputs, those that the state moves first.
func (v *play) moved() []*model.Output {
	d := v.player.Design()
	moves := map[string]bool{}
	if at, ok := d.Find(model.SortState, v.player.State()); ok {
		s := &d.States[at.Index]
		for i := range s.Pose {
			moves[s.Pose[i].Output] = true
		}
		for i := range s.Drift {
			moves[s.Drift[i].Output] = true
		}
		if r := d.Routine(s.Plays); r != nil {
			for i := range r.Cues {
				moves[r.Cues[i].Output] = true
				if t := d.Track(r.Cues[i].Track); t != nil {
					moves[t.Play.Output] = true
				}
			}
		}
	}
	var first, then []*model.Output
	for i := range d.Outputs {
		if o := &d.Outputs[i]; moves[o.Name] {
			first = append(first, o)
		} else {
			then = append(then, o)
		}
	}
	return append(first, then...)
}

// outputs returns the outputs as they are now, in file order or those that the
// state moves first.
func (v *play) outputs(w int, movedFirst bool) []outputLine {
	d := v.player.Design()
	room := max(min(w-14-22, 40), 8)
	all := make([]*model.Output, len(d.Outputs))
	for i := range all {
		all[i] = &d.Outputs[i]
	}
	if movedFirst {
		all = v.moved()
	}
	var lines []outputLine
	for _, o := range all {
		l := outputForms[motion.FormOf(o)].gauge(v.theme, v.player.Stage(), v.player.Now(), o, room)
		l.name, l.text = o.Name, l.text+v.sound(o)
		lines = append(lines, l)
	}
	return lines
}

// sound returns the track that an output plays in its routine.
func (v *play) sound(o *model.Output) string {
	d := v.player.Design()
	at, ok := d.Find(model.SortState, v.player.State())
	if !ok {
		return ""
	}
	r := d.Routine(d.States[at.Index].Plays)
	if r == nil {
		return ""
	}
	since := v.player.Since()
	for i := range r.Cues {
		c := &r.Cues[i]
		if tr := d.Track(c.Track); tr != nil && tr.Play.Output == o.Name && since >= c.At && since < c.At+tr.Length {
			return "  ♪ " + tr.Name + " " + model.SayClock(since-c.At)
		}
	}
	return ""
}

func (v *play) drawLog(p pane.Pen) {
	t := v.theme
	p.Text(0, 0, t.Head, pane.Pad("log", p.W-1))
	log := v.player.Log()
	for y := 1; y < p.H; y++ {
		i := len(log) - y
		if i < 0 {
			return
		}
		ev := log[i]
		style := t.Plain
		what := ""
		switch ev.Outcome {
		case machine.Entered:
			what = "→ " + ev.State
		case machine.Acted:
			what = v.player.Design().Does(&v.player.Design().Transitions[ev.Transition])
		case machine.Deferred:
			what = "when the routine ends"
		case machine.Ignored:
			what, style = "ignored on purpose", t.Dim
		case machine.Unanswered:
			what, style = "nothing is said about it", t.Dim
		}
		p.Text(0, y, style, fmt.Sprintf("%14s  %-17s %s", model.SayClock(ev.At), ev.Cause, what))
	}
}
