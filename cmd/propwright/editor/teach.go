package editor

import (
	"fmt"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/trim"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/edit"
)

// A posing moves the servos of a prop by hand, on a board with the trim sketch, and
// writes the poses into a routine as cues.
type posing struct {
	*routines
	line   *trim.Line
	jogs   []*trim.Jog // of the servos
	moved  []bool      // since the last pose
	chosen int
	moving *trim.Jog // another goroutine waits for its servo to be there
	said   string
}

// coarse is a large step, in microseconds.
const coarse = 5 * trim.Step

// askTeach asks for the board on which a pose is taught.
func (v *routines) askTeach() {
	if _, ok := v.list.elem(); !ok {
		v.say("there is no routine yet; Ctrl-N makes one")
		return
	}
	p := &posing{routines: v}
	for i, o := range sketch.Trimmed(v.desk.design()) {
		if o.Kind == model.KindServo {
			j := trim.NewJog(o, func(us int) error { return p.line.Move(i, us) })
			j.Within()
			p.jogs = append(p.jogs, j)
		}
	}
	if p.jogs == nil {
		v.say("there is no servo to take a pose with")
		return
	}
	p.moved = make([]bool, len(p.jogs))
	v.askBoard("teach a pose", func(line *trim.Line) {
		p.line, v.posing = line, p
		v.over.Open(&pane.Dialog{Title: "teach a pose", Heard: []scope{inPosing}, Body: p.draw})
	})
}

// by moves the chosen servo without blocking the screen; a servo that is still free goes
// to its rest first. Until it is there, keys do nothing.
func (p *posing) by(us int) {
	if p.moving != nil {
		return
	}
	j, n := p.jogs[p.chosen], p.chosen
	p.moving, p.said = j, ""
	how := func() error { return j.By(us) }
	if j.Us == 0 {
		how = j.Start
	}
	p.beside(how, func(err error) {
		p.moving = nil
		if err != nil {
			p.said = err.Error()
		} else {
			p.moved[n] = true
		}
	})
}

func (p *posing) choose(step int) {
	p.chosen = (p.chosen + step + len(p.jogs)) % len(p.jogs)
}

// take adds the pose as cues, one for each servo moved since the last pose, at the time
// of a new cue.
func (p *posing) take() {
	if p.moving != nil {
		return
	}
	routine, at := p.of, model.FormatDuration(p.nextTime())
	var cues []model.Elem
	err := p.desk.draft.Together("a pose", func() error {
		for i, j := range p.jogs {
			if !p.moved[i] {
				continue
			}
			cue := model.SortCue.At(routine, p.desk.design().Len(model.SortCue, routine))
			cue, err := p.desk.draft.Add(cue,
				edit.Key{Key: "output", Value: j.Output.Name}, edit.Key{Key: "at", Value: at},
				edit.Key{Key: "to", Value: j.Angle().String()}, edit.Key{Key: "over", Value: poseOver})
			if err != nil {
				return err
			}
			cues = append(cues, cue)
		}
		return nil
	})
	switch {
	case err != nil:
		p.said = err.Error()
	case cues == nil:
		p.said = "no servo has been moved"
	default:
		p.moved = make([]bool, len(p.jogs))
		p.changed()
		p.goTo(cues[len(cues)-1])
		p.said = fmt.Sprintf("%s at %s", edit.Count(cues), at)
	}
}

// poseOver is how long a taught move takes, until a hand changes it.
const poseOver = "500ms"

// leave ends the moving; the pulses end by themselves.
func (p *posing) leave() {
	p.over.Close()
	p.posing = nil
	p.say("the servos are free in two seconds")
	if err := p.line.Close(); err != nil {
		p.complain(err)
	}
}

func (p *posing) draw(in pane.Pen) {
	for i, j := range p.jogs {
		where := "free"
		switch {
		case j == p.moving:
			where = "moving …"
		case j.Us > 0:
			where = j.Angle().String()
		}
		mark, style := "  ", p.theme.Plain
		if i == p.chosen {
			mark, style = "» ", p.theme.Cursor
		}
		changed := ""
		if p.moved[i] {
			changed = "in the pose"
		}
		in.Text(1, i, style, fmt.Sprintf("%s%-16s %-10s %s", mark, j.Output.Name, where, changed))
	}
	said := p.said
	if p.moving != nil {
		said = waitLine
	}
	in.Lines(1, len(p.jogs)+1, p.theme.Plain, pane.Wrap(said, in.W-2))
}

// posingActions returns the keys while a pose is taught.
func posingActions() []action {
	heard := func(do func(*posing)) func(*Editor) {
		return func(e *Editor) { do(e.current().(*routines).posing) }
	}
	by := func(us int) func(*Editor) { return heard(func(p *posing) { p.by(us) }) }
	choose := func(step int) func(*Editor) { return heard(func(p *posing) { p.choose(step) }) }
	return []action{
		{"pose-up", []string{"Up"}, "the servo above", inPosing, "", choose(-1)},
		{"pose-down", []string{"Down"}, "the servo below", inPosing, "servo", choose(1)},
		{"pose-less", []string{"Left", "-"}, fmt.Sprintf("a step of %d us back; a free servo goes to its rest", trim.Step), inPosing, "", by(-trim.Step)},
		{"pose-more", []string{"Right", "+"}, fmt.Sprintf("a step of %d us on; a free servo goes to its rest", trim.Step), inPosing, "step", by(trim.Step)},
		{"pose-far-less", []string{","}, fmt.Sprintf("%d us back", coarse), inPosing, "", by(-coarse)},
		{"pose-far-more", []string{"."}, fmt.Sprintf("%d us on", coarse), inPosing, "far", by(coarse)},
		{"pose-take", []string{"Enter"}, "the pose becomes cues of the routine, where a new one would begin", inPosing, "cues", heard((*posing).take)},
		{"pose-leave", []string{"Esc"}, "leave the servos", inPosing, "leave", heard((*posing).leave)},
	}
}
