package check

import (
	"fmt"
	"math"
	"slices"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/timed"
)

// A stop is the worst outcome of tapping the stop button in one state.
type stop struct {
	took     int64          // longest time to rest in milliseconds, where it leads to rest
	diverges bool           // in some configuration it need not lead to rest
	unheeded bool           // in some configuration neither press nor release does anything
	slowest  timed.Response // the one that takes took
	failing  timed.Response // the first that diverges or is unheeded
}

// fails reports whether the stop button fails in the state.
func (s *stop) fails() bool { return s.diverges || s.unheeded }

// stops holds a stop for each state, or none if the remote has no stop button. It checks
// `dormant within … after press STOP`.
var stops = NewPart(func(s *Study) ([]stop, error) {
	x, err := explored.Of(s)
	if _, ok := s.Program.Button(s.Remote.Stop); !ok {
		return nil, err
	}
	all := make([]stop, len(s.States))
	for r := range x.Delays(s.pressStop(model.Press), nil, math.MaxInt).Latest {
		in := x.State(r.Configuration)
		w := &all[in]
		diverges, unheeded := r.Time == timed.Never, s.unheeded(in, r)
		if (diverges || unheeded) && !w.fails() {
			w.failing = r
		}
		w.diverges, w.unheeded = w.diverges || diverges, w.unheeded || unheeded
		if !diverges && r.Time > w.took {
			w.slowest, w.took = r, r.Time
		}
	}
	return all, err
})

// pressStop returns the trigger of the stop button that has a kind.
func (s *Study) pressStop(kind model.TriggerKind) model.Trigger {
	return model.Trigger{Kind: kind, Name: s.Remote.Stop}
}

// unheeded reports whether neither the press of stop nor its release does anything in a
// state that is not dormant. A deferred transition counts only while the end that it
// waits for is still to come. Pressing stop releases any button that is down; if that
// release changes the state, stop is heard in the new state.
func (s *Study) unheeded(in machine.StateID, r timed.Response) bool {
	return r.State == in && s.Program.Kind(in) != model.Dormant && !s.answersStop(in, !r.Ended)
}

// answersStop reports whether stop does anything in a state. live means that the
// state's routine has not ended.
func (s *Study) answersStop(in machine.StateID, live bool) bool {
	for _, kind := range []model.TriggerKind{model.Press, model.Release} {
		m := s.move(in, s.pressStop(kind))
		if m != nil && !m.Stays() && (!m.Defer || live && s.Program.Length[in] >= 0) {
			return true
		}
	}
	return false
}

// move returns what an event does in a state, or nil.
func (s *Study) move(in machine.StateID, on model.Trigger) *machine.Move {
	if e, ok := s.Program.Event(on); ok {
		return s.Program.Move(in, e)
	}
	return nil
}

func noStop(p *Pass) {
	if _, ok := p.Program.Button(p.Design.Remote.Stop); !ok {
		p.Report(Finding{
			Pos:     p.Design.Remote.At("stop"),
			Message: "the remote has no stop button",
			Advice:  "name with stop = the button that must always bring the prop to rest",
		})
		return
	}
	var failing, lost []*timed.Response
	all, _ := stops.Of(p.Study)
	for i := range all {
		if all[i].fails() {
			failing = append(failing, &all[i].failing)
		}
	}
	slices.SortFunc(failing, func(a, b *timed.Response) int { return a.Configuration - b.Configuration })
	for _, r := range failing {
		if r.Time == timed.Never {
			lost = append(lost, r)
		}
	}
	ends := p.explored.Lost(lost)
	for _, r := range failing {
		if r.Time < timed.Never {
			p.deaf(r)
			continue
		}
		p.restless(r, ends[0])
		ends = ends[1:]
	}
}

// deaf reports that stop does nothing. That the prop would come to rest by itself
// does not count.
func (p *Pass) deaf(r *timed.Response) {
	in := p.explored.State(r.Configuration)
	state := &p.Design.States[in]
	f := Finding{
		Pos: state.Pos, State: state.Name,
		Message: fmt.Sprintf("the stop button %q does nothing in state %q", p.Design.Remote.Stop, state.Name),
		Advice:  p.stopAdvice(in),
	}
	how := "deaf"
	if r.Ended && p.answersStop(in, true) {
		f.Message += ", once its routine has ended"
		how += " at last"
	}
	p.report(report{Finding: f, cause: p.stopCause(in, how), show: func(f *Finding) {
		// A state that is left at once by itself is shown without the press.
		for _, run := range []timed.Run{r.Event, p.explored.To(r.Configuration)} {
			f.reach(run)
			if f.Claim != (Claim{}) && f.Replay(p.Program) == nil {
				break
			}
		}
	}})
}

// restless reports that stop leads to a component in which the prop does not come
// to rest.
func (p *Pass) restless(r *timed.Response, end timed.Component) {
	in := p.explored.State(r.Configuration)
	state := &p.Design.States[in]
	button := p.Design.Remote.Stop
	said := report{Finding: Finding{Pos: state.Pos, State: state.Name, Advice: p.stopAdvice(in)}}
	said.cause = p.stopCause(in, fmt.Sprint("leads to ", end.State, end.State == in))
	if end.Circle > 0 {
		said.same = fmt.Sprint("goes around ", end.Circle)
		said.cause = p.stopCause(in, said.same)
	} else if end.State == in {
		said.Message = fmt.Sprintf("the stop button %q does not lead out of state %q", button, state.Name)
	} else {
		said.Message = fmt.Sprintf("the stop button %q, pressed in state %q, leads to state %q and not to rest", button, state.Name, p.Program.Name(end.State))
	}
	said.show = func(f *Finding) {
		run := end.Run()
		if end.Circle > 0 {
			f.Message = fmt.Sprintf("the stop button %q, pressed in state %q, need not lead to rest: the prop can go on and on through %s", button, state.Name, p.list(run.Lap()))
		}
		f.shows(run, Claim{State: p.Program.Name(run.State()), Still: end.Circle == 0})
	}
	p.report(said)
}

// stopCause is the cause of reports that stop fails in one way and with one advice, where
// a transition on its press does not do what it should; else "".
func (p *Pass) stopCause(in machine.StateID, how string) string {
	press := p.move(in, p.pressStop(model.Press))
	if press == nil {
		return ""
	}
	return fmt.Sprint(how, " by transition ", press.Transition, ": ", p.stopAdvice(in))
}

// stopAdvice says how to let the stop button lead to rest from a state.
func (p *Pass) stopAdvice(state machine.StateID) string {
	button := p.Design.Remote.Stop
	// named describes a transition. One that was never in a file has no line.
	named := func(kind model.TriggerKind, m *machine.Move) string {
		on := fmt.Sprintf("the transition on %q", p.pressStop(kind))
		if line := p.Design.Transitions[m.Transition].Pos.Line; line > 0 {
			on += fmt.Sprintf(" in line %d", line)
		}
		return on
	}
	press, lands := p.move(state, p.pressStop(model.Press)), state
	if press != nil && !press.Stays() && !press.Defer {
		for _, to := range p.Program.Targets(press) {
			if lands = to; !p.rests(to) {
				break
			}
		}
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
	case press.Do:
		return named(model.Press, press) + " leads nowhere, and what it orders stops nothing: let it lead to a dormant state"
	case press.Defer:
		return "let " + named(model.Press, press) + " lead to a dormant state at once, without defer"
	}
	return "let " + named(model.Press, press) + " lead to a dormant state"
}

// rests reports whether the prop comes to rest in a state.
func (p *Pass) rests(s machine.StateID) bool { return p.restTimes()[s] < timed.Never }

// wakingRelease returns what the release of the stop button does where that leads
// out of rest, preferably in state first, or nil.
func (p *Pass) wakingRelease(first machine.StateID) *machine.Move {
	var found *machine.Move
	for i := range p.Design.States {
		s := machine.StateID(i)
		m := p.move(s, p.pressStop(model.Release))
		if m == nil || m.Stays() || !p.rests(s) || !slices.ContainsFunc(p.Program.Targets(m), func(to machine.StateID) bool { return !p.rests(to) }) {
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
