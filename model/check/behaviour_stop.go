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
	worst := s.stops()
	var failing, roots []int // states
	for i, w := range worst {
		if w.roams || w.deaf {
			failing = append(failing, i)
		}
		if w.heard {
			roots = append(roots, w.failing.root)
		}
	}
	slices.SortFunc(failing, func(i, j int) int { return worst[i].failing.configuration - worst[j].failing.configuration })
	lost := s.astray(roots)
	for _, i := range failing {
		if w := &worst[i]; w.heard {
			p.restless(lost, w.failing)
		} else {
			p.deafTo(s, w.failing)
		}
	}
}

// deafTo reports that stop does nothing in a configuration: that the prop would
// come to rest by itself some time is not a stopping.
func (p *Pass) deafTo(s *stopper, at pressed) {
	x := p.explored
	n := &x.all.configurations[at.configuration]
	state := &p.Design.States[n.state]
	button := p.Design.Remote.Stop
	f := Finding{
		Pos: state.Pos, State: state.Name,
		Message: fmt.Sprintf("the stop button %q does nothing in state %q", button, state.Name),
		Advice:  p.stopAdvice(n.state),
	}
	if n.ended && s.answers(n.state, true) {
		f.Message += ", once its routine has ended"
	}
	p.report(report{Finding: f, show: func(f *Finding) {
		// A state that is left by itself at once is shown without the press.
		path := x.path(at.configuration)
		for _, hs := range [][]step{append(path, at.via), path} {
			if _, ok := f.witness(x, hs); ok {
				f.Claim = Claim{State: f.State}
				if f.Replay(p.Program) == nil {
					break
				}
			}
		}
	}})
}

// restless reports that stop, pressed in a configuration, does not lead to rest.
func (p *Pass) restless(lost *astray, at pressed) {
	x := p.explored
	id := x.all.configurations[at.configuration].state
	state := &p.Design.States[id]
	button := p.Design.Remote.Stop
	r := report{Finding: Finding{Pos: state.Pos, State: state.Name, Advice: p.stopAdvice(id)}}
	end := lost.end(at.root)
	last := p.Program.Name(lost.quiet.configurations[end].state)
	if lap := lost.round[end]; lap > 0 {
		r.same = fmt.Sprint("goes around ", lost.circle[end])
	} else if last == state.Name {
		r.Message = fmt.Sprintf("the stop button %q does not lead out of state %q", button, state.Name)
	} else {
		r.Message = fmt.Sprintf("the stop button %q, pressed in state %q, leads to state %q and not to rest", button, state.Name, last)
	}
	r.show = func(f *Finding) {
		hs := append(x.path(at.configuration), at.via)
		way, lap := lost.way(at.root)
		hs = append(hs, way...)
		if lap > 0 {
			var states []machine.StateID
			for _, h := range way[len(way)-lap:] {
				states = append(states, h.state)
			}
			slices.Sort(states)
			f.Message = fmt.Sprintf("the stop button %q, pressed in state %q, need not lead to rest: the prop can go on and on through %s", button, state.Name, p.list(slices.Compact(states)))
		}
		if upTo, ok := f.witness(x, hs); ok {
			f.Claim = Claim{State: p.Program.Name(hs[len(hs)-1].state), Still: lap == 0}
			if lap > 0 {
				f.Claim.Lap = len(f.Witness) - upTo[len(hs)-lap]
			}
		}
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
		if !p.explored.rests(lands) {
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

// wakingRelease is what the release of the stop button does that leads out of a
// state of rest, that one first, or else another; nil where it wakes from none.
func (p *Pass) wakingRelease(first machine.StateID) *machine.Move {
	e, ok := p.Program.Event(model.Trigger{Kind: model.Release, Name: p.Design.Remote.Stop})
	if !ok {
		return nil
	}
	var found *machine.Move
	for i := range p.explored.modes {
		s := machine.StateID(i)
		m := p.Program.Move(s, e)
		if m == nil || m.Ignore || !p.explored.rests(s) || p.explored.rests(m.Target) {
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
