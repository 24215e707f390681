package check

import (
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

func noStop(p *Pass) {
	x := p.explored
	stop, ok := p.Program.Button(p.Design.Remote.Stop)
	if !ok {
		p.Report(Finding{
			Pos:     p.Design.Remote.At("stop"),
			Message: "the remote has no stop button",
			Advice:  "name with stop = the button that must always bring the prop to rest",
		})
		return
	}
	s := x.stopper(stop)
	reported := make([]bool, len(x.modes))
	for i := range x.all.configurations {
		state := x.all.configurations[i].state
		if reported[state] {
			continue
		}
		o, ok := s.press(i)
		if !ok {
			continue
		}
		for _, root := range s.roots(o) {
			if !reported[state] && !s.surelyRests(root) {
				reported[state] = true
				p.Report(p.restless(s, i, o, root))
			}
		}
		if !reported[state] && s.isDeaf(i) {
			reported[state] = true
			p.Report(p.deafTo(s, i, o))
		}
	}
}

// deafTo is the finding that stop does nothing in configuration i: that the prop
// would come to rest by itself some time is not a stopping.
func (p *Pass) deafTo(s *stopper, i int, o outcome) Finding {
	x := p.explored
	state := &p.Design.States[x.all.configurations[i].state]
	button := p.Design.Remote.Stop
	f := Finding{
		Pos: state.Pos, State: state.Name,
		Message: fmt.Sprintf("the stop button %q does nothing in state %q", button, state.Name),
		Advice:  p.stopAdvice(x.all.configurations[i].state),
	}
	if n := &x.all.configurations[i]; n.ended && s.answers(n.state, true) {
		f.Message += ", once its routine has ended"
	}
	// A state that is left by itself at once is shown without the press.
	for _, hs := range [][]step{append(x.path(i), o.via), x.path(i)} {
		if _, ok := f.witness(x, hs); ok {
			f.Claim = Claim{State: state.Name}
			if f.Replay(p.Program) == nil {
				break
			}
		}
	}
	return f
}

// restless is the finding that stop, pressed in configuration i, does not do.
func (p *Pass) restless(s *stopper, i int, o outcome, root int) Finding {
	x := p.explored
	state := &p.Design.States[x.all.configurations[i].state]
	way, lap := s.roaming(root)
	hs := append(x.path(i), o.via)
	hs = append(hs, way...)
	last := p.Program.Name(hs[len(hs)-1].state)
	f := Finding{Pos: state.Pos, State: state.Name}
	button := p.Design.Remote.Stop
	switch {
	case lap > 0:
		var states []machine.StateID
		for _, h := range way[len(way)-lap:] {
			if !slices.Contains(states, h.state) {
				states = append(states, h.state)
			}
		}
		slices.Sort(states)
		f.Message = fmt.Sprintf("the stop button %q, pressed in state %q, need not lead to rest: the prop can go on and on through %s", button, state.Name, p.list(states))
	case last == state.Name:
		f.Message = fmt.Sprintf("the stop button %q does not lead out of state %q", button, state.Name)
	default:
		f.Message = fmt.Sprintf("the stop button %q, pressed in state %q, leads to state %q and not to rest", button, state.Name, last)
	}
	f.Advice = p.stopAdvice(x.all.configurations[i].state)
	if upTo, ok := f.witness(x, hs); ok {
		f.Claim = Claim{State: last, Still: lap == 0}
		if lap > 0 {
			f.Claim.Lap = len(f.Witness) - upTo[len(hs)-lap]
		}
	}
	return f
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
	if m := move(lands, model.Release); m != nil && !m.Ignore && p.Program.Kind(lands) == model.Dormant {
		return fmt.Sprintf("%s wakes the prop again: let it lead to a dormant state, or remove it", named(model.Release, m))
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
