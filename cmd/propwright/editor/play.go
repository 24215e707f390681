package editor

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

const inPlay scope = "rehearsal"

// play is the rehearsal: the remote, the clock and what the prop does.
type play struct {
	*workspace
	follow    func()            // shows the state that the prop is in
	player    *rehearsal.Player // nil where the design cannot be rehearsed
	why       error             // why not
	of        *model.Design     // what the player was made of
	pane.List                   // of the buttons and inputs
	held      string            // the button that is kept down
	high      map[string]bool   // inputs that are active
	clock     clock
	steps     []machine.Act // of a witness, still to be played
	told      string        // what the witness shows
}

// A control is a button or an input.
type control struct {
	name  string
	input bool
}

func (v *play) controls() []control {
	var all []control
	d := v.desk.design()
	for i := range d.Remote.Buttons {
		all = append(all, control{d.Remote.Buttons[i].Name, false})
	}
	for i := range d.Inputs {
		all = append(all, control{d.Inputs[i].Name, true})
	}
	return all
}

func (v *play) renew() {
	v.Put(len(v.controls()), nil)
}

// ready makes sure that the player plays the design of now. After an edit
// what was done so far is done again to the changed prop.
func (v *play) ready() bool {
	d := v.desk.design()
	if v.of == d {
		return v.player != nil
	}
	before := v.player
	v.power()
	if before == nil || v.player == nil {
		return v.player != nil
	}
	for _, l := range before.Script().Lines {
		if l.Expect != "" {
			continue
		}
		if err := v.player.Do(l.Act); err != nil {
			v.power()
			v.say("the design has changed, and what was done does not fit it any more: powered up again")
			return v.player != nil
		}
	}
	v.say("the design has changed: what was done so far was done again to the changed prop")
	return true
}

// power powers the prop up.
func (v *play) power() { v.powerDrawing(nil) }

// powerDrawing powers the prop up; its deadlines are those of draws, then the
// longest that they can be, as model/check has it. Without draws they come
// from the random sequence.
func (v *play) powerDrawing(draws []uint32) {
	v.of = v.desk.design()
	v.clock.stop()
	v.held, v.high, v.steps, v.told = "", map[string]bool{}, nil, ""
	// The player is for a whole design: what a file could not hold is told here.
	read, err := model.Read(v.of.File, v.of.Format())
	switch {
	case err != nil:
	case draws == nil:
		v.player = rehearsal.New(read)
	default:
		v.player = rehearsal.NewDrawing(read, func(_, hi uint32) uint32 {
			if len(draws) == 0 {
				return hi
			}
			n := draws[0]
			draws = draws[1:]
			return n
		})
	}
	if v.why = err; err != nil {
		v.player = nil
	}
}

// do does an act.
func (v *play) do(a machine.Act) {
	if !v.ready() {
		v.say("the design cannot be rehearsed yet; F7 shows what is missing")
		return
	}
	if err := v.player.Do(a); err != nil {
		v.complain(err)
	}
}

// press presses a button or turns an input over.
func (v *play) press(c control) {
	if c.input {
		kind := machine.ActRise
		if v.high[c.name] {
			kind = machine.ActFall
		}
		v.do(machine.Act{Kind: kind, Name: c.name})
		v.high[c.name] = !v.high[c.name]
		return
	}
	v.do(machine.Act{Kind: machine.ActPress, Name: c.name})
	v.held = ""
}

// typed presses the button of a digit.
func (v *play) typed(r rune) {
	if all := v.controls(); r >= '1' && r <= '9' && int(r-'1') < len(all) {
		v.At = int(r - '1')
		v.press(all[v.At])
	}
}

// playView is the rehearsal.
func (e *Editor) playView() *play { return e.views[inPlay].(*play) }

func (v *play) pressHere() {
	if all := v.controls(); v.At < len(all) {
		v.press(all[v.At])
	}
}

// hold keeps the button down, or lets it go.
func (v *play) hold() {
	all := v.controls()
	if v.At >= len(all) || all[v.At].input {
		v.say("only a button of the remote can be kept down")
		return
	}
	name := all[v.At].name
	if v.held == name {
		v.do(machine.Act{Kind: machine.ActLetGo, Name: name})
		v.held = ""
		return
	}
	v.do(machine.Act{Kind: machine.ActHold, Name: name})
	v.held = name
}

// run lets the clock run, or stops it.
func (v *play) run() {
	if !v.ready() {
		v.say("the design cannot be rehearsed yet; F7 shows what is missing")
		return
	}
	if v.clock.running {
		v.clock.stop()
		return
	}
	v.clock.start(func(passed time.Duration) {
		v.queue(func() {
			if v.clock.running && v.ready() {
				v.player.Advance(passed)
				v.follow()
			}
		})
	})
}

// frame lets one frame of the outputs pass.
func (v *play) frame() {
	if v.ready() {
		v.player.Advance(20 * time.Millisecond)
	}
}

// next lets time pass until something happens by itself, or does the next
// step of a witness.
func (v *play) next() {
	if !v.ready() {
		return
	}
	if len(v.steps) > 0 {
		a := v.steps[0]
		v.steps = v.steps[1:]
		v.do(a)
		v.say(fmt.Sprintf("%s; %d more", a, len(v.steps)))
		if len(v.steps) == 0 {
			v.say(a.String() + " — this is what was found: " + v.told)
		}
		return
	}
	if !v.player.Step() {
		v.say("nothing will happen any more by itself: press a button")
	}
}

func (v *play) anew() {
	v.power()
	v.say("powered up")
}

// expect notes that the prop is to be in its present state.
func (v *play) expect() {
	if v.ready() {
		v.player.Expect()
		v.say("noted for the script: expect " + v.player.State())
	}
}

// save saves what was done as a script beside the design.
func (v *play) save() {
	if !v.ready() {
		v.say("there is nothing to save yet")
		return
	}
	if v.desk.file == nil {
		v.say("there is no design yet")
		return
	}
	v.over.Write(&pane.Dialog{
		Title: "save the rehearsal as a script",
		Hint:  "a title, for example greeting; `propwright rehearse` plays it, and it becomes a test of the built firmware",
		Accept: func(title string) error {
			if err := newName(&model.Design{}, model.SortState, title); err != nil {
				return err
			}
			file := rehearsal.File(v.desk.file.Name(), title)
			text := v.player.Script().Format("A rehearsal of " + v.desk.title() + ": " + title)
			f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
			if errors.Is(err, fs.ErrExist) {
				return fmt.Errorf("%s is there already; choose another title", file)
			}
			if err != nil {
				return err
			}
			_, err = f.Write(text)
			if err := errors.Join(err, f.Close()); err != nil {
				return err
			}
			v.review.start(v.workspace) // it looks at the scripts, too
			v.say(file + " is saved")
			return nil
		},
	}, "")
}

func (v *play) Move(dx, dy int) { v.List.Move(0, dx+dy) }
func (v *play) Page(dy int)     { v.Move(0, dy*5) }

// place is the state that the prop is in.
func (v *play) place() model.Elem {
	if v.ready() {
		if at, ok := v.of.Find(model.SortState, v.player.State()); ok {
			return at
		}
	}
	return model.Elem{Sort: model.SortProp}
}

func (v *play) click(x, y int) bool {
	if x < controlColumns && v.Click(y-1) { // below the heading
		v.pressHere()
	}
	return false
}

func (v *play) where() string {
	if len(v.steps) > 0 {
		return "n: " + v.steps[0].String() + " — the next step towards: " + v.told
	}
	if v.held != "" {
		return v.held + " is kept down; h lets it go"
	}
	return ""
}

// playActions are the keys of the rehearsal.
func playActions() []action {
	return []action{
		{"play-press", []string{"Enter"}, "press the button under the cursor, or turn the input over", inPlay, "press", inView((*play).pressHere)},
		{"play-digit", []string{"1…9"}, "press the button, or turn the input over, that stands beside the digit", inPlay, "press that", func(e *Editor) { e.say("press a digit from 1 to 9") }},
		{"play-hold", []string{"h"}, "keep the button down, or let it go", inPlay, "hold", inView((*play).hold)},
		{"play-run", []string{"Space"}, "let the clock run, or stop it", inPlay, "run", inView((*play).run)},
		{"play-next", []string{"n"}, "let time pass until something happens by itself; or the next step of what shows a finding", inPlay, "next", inView((*play).next)},
		{"play-frame", []string{"."}, "let 20 ms pass", inPlay, "20 ms", inView((*play).frame)},
		{"play-faster", []string{"+"}, "let the clock run faster", inPlay, "faster", inView(func(v *play) { v.clock.change(1) })},
		{"play-slower", []string{"-"}, "let the clock run slower", inPlay, "slower", inView(func(v *play) { v.clock.change(-1) })},
		{"play-anew", []string{"r"}, "power the prop up again", inPlay, "power up", inView((*play).anew)},
		{"play-expect", []string{"e"}, "note for the script that the prop is to be in its present state", inPlay, "expect", inView((*play).expect)},
		{"play-save", []string{"s"}, "save what was done as a script beside the design; it becomes a test", inPlay, "script", inView((*play).save)},
	}
}
