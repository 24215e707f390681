package live

import (
	"errors"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

// settled is how long a state must have lasted for a script to expect it: the
// rehearsal's times are the firmware's only within some milliseconds.
const settled = 200 * time.Millisecond

// Script returns the reports since power-up as a rehearsal: presses and changes of
// inputs with the time between them, and the states in between. The error says that the
// power-up was not heard.
func (p *Prop) Script() (*rehearsal.Script, error) {
	if len(p.log) == 0 || p.log[0].What != 'H' {
		return nil, errors.New("a rehearsal begins at power-up, and the prop was not heard then: press the board's reset button while it is listened to")
	}
	var (
		script rehearsal.Script
		now    time.Duration // of the script
		state  string
		since  time.Duration
		typed  = -1 // the button of a press that came over the line and is to be handled next
	)
	to := func(at time.Duration) {
		for at > now {
			wait := min(at-now, machine.MaxTime)
			script.Lines = append(script.Lines, rehearsal.Line{Act: machine.Act{Kind: machine.ActWait, For: wait}})
			now += wait
		}
		if state != "" && since+settled <= now {
			script.Lines = append(script.Lines, rehearsal.Line{Expect: state})
		}
	}
	for i, t := range p.log {
		switch t.What {
		case 'S':
			state, since = "", t.At
			if t.Which < len(p.study.States) { // else it was spoilt on the way
				state = p.state(t.Which)
			}
		case 'K':
			if t.Value != 0 {
				typed = t.Which
			}
		case 'E':
			if t.Which >= len(p.study.Program.Events) {
				continue
			}
			on := p.study.Program.Events[t.Which]
			var act machine.Act
			switch on.Kind {
			case model.Press:
				act = machine.Act{Kind: machine.ActPress, Name: on.Name}
				if t.Which != typed {
					act = p.pressed(act, p.log[i:])
				}
				typed = -1
			case model.Rise:
				act = machine.Act{Kind: machine.ActRise, Name: on.Name}
			case model.Fall:
				act = machine.Act{Kind: machine.ActFall, Name: on.Name}
			default:
				continue // part of the press
			}
			to(t.At)
			script.Lines = append(script.Lines, rehearsal.Line{Act: act})
			now += act.For
		}
	}
	to(p.log[len(p.log)-1].At)
	return &script, nil
}

// pressed returns a press, which the log begins with, as long as the button was kept
// down: as far as its holds and its release tell.
func (p *Prop) pressed(act machine.Act, log []Told) machine.Act {
	var held time.Duration
	for i, t := range log {
		if i == 0 || t.What != 'E' || t.Which >= len(p.study.Program.Events) {
			continue
		}
		on := p.study.Program.Events[t.Which]
		if on.Kind == model.Press {
			break
		}
		if on.Name != act.Name {
			continue
		}
		switch on.Kind {
		case model.Hold:
			held = max(held, on.For)
		case model.Release:
			b, _ := p.study.Program.Button(on.Name)
			code, err := p.study.Remote.Sends(&p.study.Remote.Buttons[b])
			if err == nil {
				after := time.Duration(machine.ReleaseAfter(code)) * time.Millisecond
				held = max(held, t.At-log[0].At-after)
			}
		}
	}
	if held > 0 {
		act.Kind, act.For = machine.ActHold, min(held, machine.MaxTime)
	}
	return act
}
