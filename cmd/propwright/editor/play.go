package editor

import (
	"errors"
	"slices"
	"strings"
	"unicode"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/machine"
)

const inPlay scope = "rehearsal"

// play is the rehearsal: the remote, and what the prop does.
type play struct {
	performance
	pane.List // of the controls
}

// A control is a button, an input or an event of the maker's own code.
type control struct {
	name string
	of   model.Sort
}

func (v *play) controls() []control {
	var all []control
	d := v.desk.design()
	for i := range d.Remote.Buttons {
		all = append(all, control{d.Remote.Buttons[i].Name, model.SortButton})
	}
	for _, in := range d.Wired().Inputs {
		all = append(all, control{in.Name, model.SortInput})
	}
	for i := range d.Events {
		all = append(all, control{d.Events[i].Name, model.SortEvent})
	}
	return all
}

func (v *play) renew() {
	v.Put(len(v.controls()), nil)
}

// press presses a button, turns an input over or posts an event.
func (v *play) press(c control) {
	switch {
	case v.prop != nil && c.of == model.SortButton:
		v.pressProp(c.name)
		return
	case v.prop != nil:
		v.say(c.name + " is the prop's own: do it there")
		return
	}
	switch c.of {
	case model.SortEvent:
		v.do(machine.Act{Kind: machine.ActEvent, Name: c.name})
		return
	case model.SortInput:
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
	all := v.controls()
	switch i := slices.Index(digits(all), r); {
	case i >= 0 && unicode.IsDigit(r):
		v.At = i
		v.press(all[i])
	case v.prop != nil:
		v.say("this is the prop itself; l goes back to the rehearsal")
	}
}

func (v *play) askDigit() { v.say("press a digit") }

// digits returns what presses each of the controls: its name where that is a digit, else
// the next that is no other's name; blank where none is left.
func digits(all []control) []rune {
	of := make([]rune, len(all))
	free := "1234567890"
	for i, c := range all {
		of[i] = ' '
		if len(c.name) == 1 && strings.Contains(free, c.name) {
			of[i], free = rune(c.name[0]), strings.Replace(free, c.name, "", 1)
		}
	}
	for i := range of {
		if of[i] == ' ' && free != "" {
			of[i], free = rune(free[0]), free[1:]
		}
	}
	return of
}

func (v *play) pressHere() {
	if all := v.controls(); v.At < len(all) {
		v.press(all[v.At])
	}
}

// hold keeps the button down, or lets it go.
func (v *play) hold() {
	all := v.controls()
	if v.At >= len(all) || all[v.At].of != model.SortButton {
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

func (v *play) Move(dx, dy int) { v.List.Move(0, dx+dy) }
func (v *play) Page(dy int)     { v.Move(0, dy*5) }

// place returns the state that the prop is in.
func (v *play) place() model.Elem {
	if v.prop != nil {
		if at, ok := v.desk.design().Find(model.SortState, v.prop.State); ok {
			return at
		}
	} else if v.ready() {
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
	if v.prop != nil {
		return ""
	}
	if len(v.steps) > 0 {
		return "n: " + v.steps[0].String() + " — the next step towards: " + v.told
	}
	if v.held != "" {
		return v.held + " is kept down; h lets it go"
	}
	return ""
}

// playActions returns the keys of the rehearsal.
func playActions() []viewAction {
	return []viewAction{
		{"play-press", []string{"Enter"}, "press the button under the cursor, or turn the input over", "press", inView((*play).pressHere)},
		{"play-digit", []string{"0…9"}, "press the button, or turn the input over, beside the digit", "press that", inView((*play).askDigit)},
		{"play-hold", []string{"h"}, "keep the button down, or let it go", "hold", inView((*play).hold)},
		{"play-run", []string{"Space"}, "let the clock run, or stop it", "run", inView((*play).run)},
		{"play-next", []string{"n"}, "let time pass until something happens; or a finding's next step", "next", inView((*play).next)},
		{"play-frame", []string{"."}, "let 20 ms pass", "20 ms", inView((*play).frame)},
		{"play-faster", []string{"+"}, "let the clock run faster", "faster", inView(func(v *play) { v.clock.change(1) })},
		{"play-slower", []string{"-"}, "let the clock run slower", "slower", inView(func(v *play) { v.clock.change(-1) })},
		{"play-anew", []string{"r"}, "power the prop up again", "power up", inView((*play).anew)},
		{"play-expect", []string{"e"}, "note for the script that the prop is to be in its present state", "expect", inView((*play).expect)},
		{"play-prop", []string{"l"}, "listen to the prop itself and press its buttons", "prop", inView((*play).askProp)},
		{"play-save", []string{"s"}, "save what was done as a script beside the design; it becomes a test", "script", inView((*play).save)},
	}
}

// propActions returns the keys while the prop itself is listened to.
func propActions() []action {
	heard := func(do func(*play)) func(*Editor) {
		return func(e *Editor) { do(e.playView()) }
	}
	return []action{
		{"prop-press", []string{"Enter"}, "press the prop's button under the cursor", inProp, "press", heard((*play).pressHere)},
		{"prop-digit", []string{"0…9"}, "press the prop's button beside the digit", inProp, "press that", heard((*play).askDigit)},
		{"prop-save", []string{"s"}, "save what was heard as a script beside the design; it becomes a test", inProp, "script", heard((*play).save)},
		{"prop-leave", []string{"l"}, "leave the prop, back to the rehearsal", inProp, "leave", heard(func(v *play) {
			v.leaveProp(errors.New("the rehearsal goes on where it was"))
		})},
	}
}
