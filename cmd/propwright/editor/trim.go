package editor

import (
	"errors"
	"fmt"
	"slices"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/trim"
	"propwright/gen/sketch"
	"propwright/model"
)

// A trimming moves one servo or spinner of the rig by hand, on a board with the trim
// sketch.
type trimming struct {
	*rig
	line   *trim.Line
	jog    *trim.Jog
	moving bool  // another goroutine waits for the servo to be there
	said   error // why the last key did nothing
}

// fine is a step between the usual ones, in microseconds: some servos notice it.
const fine = 2

// waitLine says how long a move may take, as keys do nothing until it ends.
var waitLine = fmt.Sprintf("A long way takes some seconds; a board that is silent is given up after %s.", model.SayDuration(trim.Patience))

// askTrim asks for the board on which the servo under the cursor is moved.
func (v *rig) askTrim() {
	d := v.desk.design()
	there := sketch.Trimmed(d)
	at, _ := v.elem()
	i := slices.IndexFunc(there, func(o *model.Output) bool { return o.Name == d.Name(at) && at.Sort == model.SortOutput })
	if i < 0 {
		v.say("choose a servo or a spinner first: t moves it by hand")
		return
	}
	o := there[i]
	v.askBoard("move "+o.Name+" by hand", func(line *trim.Line) { v.trim(line, i, o) })
}

// askBoard asks for the port of a board with the trim sketch, and waits for it beside
// the screen.
func (w *workspace) askBoard(title string, then func(*trim.Line)) {
	c := &pane.Dialog{Title: title + ": the board's serial port", Hint: "servos go to their places at once: stay clear"}
	w.offerPorts(c, func(port string) error {
		w.say("waiting for the trim sketch on " + port + " …")
		prop := w.desk.design().Prop.Name
		var line *trim.Line
		w.beside(func() (err error) { line, err = trim.Open(port, prop); return err }, func(err error) {
			if err != nil {
				w.complain(err)
				return
			}
			then(line)
		})
		return nil
	})
	c.Offer("first write the trim sketch", "for the board to run", w.writeTrim)
	w.over.Choose(c, "")
}

// beside calls a function that waits for a board without blocking the screen, and then
// another with its result.
func (w *workspace) beside(do func() error, then func(error)) {
	go func() {
		err := do()
		w.queue(func() { then(err) })
	}()
}

// writeTrim writes the trim sketch beside the design.
func (w *workspace) writeTrim() error {
	d := w.desk.design()
	files, err := sketch.Trim(d)
	if err != nil {
		return err
	}
	return w.writeSketch(sketch.TrimFolder, files, fmt.Sprintf("upload it to the %s; then begin again", d.Prop.Board))
}

// trim begins to move an output, the trim sketch's with that number.
func (v *rig) trim(line *trim.Line, number int, o *model.Output) {
	t := &trimming{rig: v, line: line}
	t.jog = trim.NewJog(o, func(us int) error { return line.Move(number, us) })
	v.trimming = t
	v.over.Open(&pane.Dialog{Title: "move " + o.Name + " by hand", Heard: []scope{inTrim}, Body: t.draw})
	t.move(t.jog.Start)
}

// move makes a move without blocking the screen; until it ends, keys do nothing.
func (t *trimming) move(how func() error) {
	if t.moving {
		return
	}
	t.moving, t.said = true, nil
	t.beside(how, func(err error) { t.moving, t.said = false, err })
}

func (t *trimming) by(us int) { t.move(func() error { return t.jog.By(us) }) }

// set writes settings into the design, as one edit.
func (t *trimming) set(what string, find func() ([]trim.Setting, error)) {
	if t.moving {
		return
	}
	settings, err := find()
	if err == nil {
		name := t.jog.Output.Name
		at, _ := t.desk.design().Find(model.SortOutput, name)
		err = t.did(t.desk.draft.Together(what+" of "+name, func() error {
			for _, s := range settings {
				if err := t.desk.draft.Set(at, s.Key, s.Value); err != nil {
					return err
				}
			}
			return nil
		}))
	}
	if err == nil {
		t.jog.Output = t.desk.design().Output(t.jog.Output.Name)
		err = fmt.Errorf("%s is set", what)
	}
	t.said = err
}

// leave ends the moving; the pulses end by themselves.
func (t *trimming) leave() {
	t.over.Close()
	t.trimming = nil
	t.say(t.jog.Output.Name + " is free in two seconds; Ctrl-Z takes back what was set")
	if err := t.line.Close(); err != nil {
		t.complain(err)
	}
}

func (t *trimming) draw(in pane.Pen) {
	o, style := t.jog.Output, t.theme
	where := "moving …"
	if !t.moving {
		where = fmt.Sprintf("%d us", t.jog.Us)
		if o.Kind == model.KindServo {
			where += ", " + t.jog.Angle().String()
		}
	}
	in.Text(1, 0, style.Strong, where)
	lines := []string{fmt.Sprintf("min %s at %d us, max %s at %d us, rest %s", o.Min, o.UsAtMin, o.Max, o.UsAtMax, o.Rest)}
	if o.Kind == model.KindSpinner {
		lines = []string{fmt.Sprintf("stands still at %d us", o.StopUs)}
	}
	lines = append(lines, "Where it has not been it goes a step at a time: look at the linkage.")
	if t.moving {
		lines = append(lines, waitLine)
	}
	if t.said != nil {
		lines = append(lines, t.said.Error())
	}
	y := 2
	for _, text := range lines {
		for _, line := range pane.Wrap(text, in.W-2) {
			in.Text(1, y, style.Plain, line)
			y++
		}
	}
}

// rigActions returns the keys of the rig.
func rigActions() []viewAction {
	return []viewAction{
		{"trim", []string{"t"}, "move the servo by hand, and set its ends and its rest", "trim", inView((*rig).askTrim)},
	}
}

// trimActions returns the keys while a servo is moved by hand.
func trimActions() []action {
	heard := func(do func(*trimming)) func(*Editor) {
		return func(e *Editor) { do(e.current().(*rig).trimming) }
	}
	by := func(us int) func(*Editor) { return heard(func(t *trimming) { t.by(us) }) }
	return []action{
		{"trim-less", []string{"Left", "-"}, fmt.Sprintf("a step of %d us back", trim.Step), inTrim, "", by(-trim.Step)},
		{"trim-more", []string{"Right", "+"}, fmt.Sprintf("a step of %d us on", trim.Step), inTrim, "step", by(trim.Step)},
		{"trim-fine-less", []string{","}, fmt.Sprintf("%d us back", fine), inTrim, "", by(-fine)},
		{"trim-fine-more", []string{"."}, fmt.Sprintf("%d us on", fine), inTrim, "fine", by(fine)},
		{"trim-min", []string{"m"}, "the linkage's min is here", inTrim, "min", heard(func(t *trimming) {
			t.set("min", func() ([]trim.Setting, error) { return t.jog.End(false, "") })
		})},
		{"trim-max", []string{"x"}, "the linkage's max is here", inTrim, "max", heard(func(t *trimming) {
			t.set("max", func() ([]trim.Setting, error) { return t.jog.End(true, "") })
		})},
		{"trim-rest", []string{"r"}, "it rests here; a spinner stands still", inTrim, "rest", heard(func(t *trimming) {
			t.set("rest", t.jog.Rest)
		})},
		{"trim-clear", []string{"c"}, "ends that were confirmed are open again", inTrim, "", heard(func(t *trimming) {
			t.jog.Clear()
			t.said = errors.New("the ends are open again")
		})},
		{"trim-leave", []string{"Esc"}, "leave the servo", inTrim, "leave", heard((*trimming).leave)},
	}
}
