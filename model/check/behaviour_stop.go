package check

import (
	"fmt"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/timed"
)

func noStop(p *Pass) {
	if _, ok := p.Program.Button(p.Design.Remote.Stop); !ok {
		p.Report(Finding{
			Pos:     p.Design.Remote.At("stop"),
			Message: "the remote has no stop button",
			Advice:  "name with stop = the button that must always bring the prop to rest",
		})
		return
	}
	for _, f := range p.explored.StopFailures() {
		if f.Unheeded {
			p.unheeded(f)
		} else {
			p.restless(f)
		}
	}
}

// unheeded reports that stop does nothing: that the prop would come to rest by itself
// some time is not a stopping.
func (p *Pass) unheeded(s timed.StopFailure) {
	state := &p.Design.States[s.State]
	button := p.Design.Remote.Stop
	f := Finding{
		Pos: state.Pos, State: state.Name,
		Message: fmt.Sprintf("the stop button %q does nothing in state %q", button, state.Name),
		Advice:  p.stopAdvice(s.State),
	}
	if s.Ended {
		f.Message += ", once its routine has ended"
	}
	p.report(report{Finding: f, show: func(f *Finding) {
		// A state that is left by itself at once is shown without the press.
		run := s.End.Run()
		for _, r := range []timed.Run{run, run.Before()} {
			f.reach(r)
			if f.Claim != (Claim{}) && f.Replay(p.Program) == nil {
				break
			}
		}
	}})
}

// restless reports that stop does not lead to rest.
func (p *Pass) restless(s timed.StopFailure) {
	state := &p.Design.States[s.State]
	button := p.Design.Remote.Stop
	r := report{Finding: Finding{Pos: state.Pos, State: state.Name, Advice: p.stopAdvice(s.State)}}
	if last := p.Program.Name(s.End.State); s.End.Circle > 0 {
		r.same = fmt.Sprint("goes around ", s.End.Circle)
	} else if last == state.Name {
		r.Message = fmt.Sprintf("the stop button %q does not lead out of state %q", button, state.Name)
	} else {
		r.Message = fmt.Sprintf("the stop button %q, pressed in state %q, leads to state %q and not to rest", button, state.Name, last)
	}
	r.show = func(f *Finding) {
		run := s.End.Run()
		if s.End.Circle > 0 {
			f.Message = fmt.Sprintf("the stop button %q, pressed in state %q, need not lead to rest: the prop can go on and on through %s", button, state.Name, p.list(run.Lap()))
		}
		f.shows(run, Claim{State: p.Program.Name(run.State()), Still: s.End.Circle == 0})
	}
	p.report(r)
}

// stopAdvice is how to let the stop button lead to rest from a state.
func (p *Pass) stopAdvice(state machine.StateID) string {
	button := p.Design.Remote.Stop
	move := func(s machine.StateID, kind model.TriggerKind) *machine.Move {
		if e, ok := p.Program.Event(model.Trigger{Kind: kind, Name: button}); ok {
			return p.Program.Move(s, e)
		}
		return nil
	}
	// named is a transition for people; one that was never in a file has no line.
	named := func(kind model.TriggerKind, m *machine.Move) string {
		on := fmt.Sprintf("the transition on %q", model.Trigger{Kind: kind, Name: button})
		if line := p.Design.Transitions[m.Transition].Pos.Line; line > 0 {
			on += fmt.Sprintf(" in line %d", line)
		}
		return on
	}
	press, lands := move(state, model.Press), state
	if press != nil && !press.Ignore && !press.Defer && press.Target != machine.BackTarget {
		lands = press.Target
	}
	if p.Program.Kind(lands) == model.Dormant {
		if !p.rests(lands) {
			return fmt.Sprintf("let the prop stay in state %q for a while: nothing may lead out of it at once", p.Program.Name(lands))
		}
		if m := p.wakingRelease(lands); m != nil {
			return fmt.Sprintf("%s wakes the prop again: let it lead to a dormant state, or remove it", named(model.Release, m))
		}
	}
	switch {
	case press == nil:
		return fmt.Sprintf("add a transition from \"any\", or from %q, on \"press %s\" to a dormant state", p.Program.Name(state), button)
	case press.Ignore:
		return named(model.Press, press) + " ignores it: let it lead to a dormant state, or remove it"
	case press.Defer:
		return "let " + named(model.Press, press) + " lead to a dormant state at once, without defer"
	}
	return "let " + named(model.Press, press) + " lead to a dormant state"
}

// rests reports whether a state is one in which the prop comes to rest.
func (p *Pass) rests(s machine.StateID) bool { return p.restTimes()[s] < timed.Never }

// wakingRelease is what the release of the stop button does that leads out of a
// state of rest, that one first, or else another; nil where it wakes from none.
func (p *Pass) wakingRelease(first machine.StateID) *machine.Move {
	e, ok := p.Program.Event(model.Trigger{Kind: model.Release, Name: p.Design.Remote.Stop})
	if !ok {
		return nil
	}
	var found *machine.Move
	for i := range p.Design.States {
		s := machine.StateID(i)
		m := p.Program.Move(s, e)
		if m == nil || m.Ignore || !p.rests(s) || p.rests(m.Target) {
			continue
		}
		if s == first {
			return m
		}
		if found == nil {
			found = m
		}
	}
	return found
}
