package check

import (
	"fmt"
	"slices"
	"strings"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/timed"
)

var behaviourRules = []*Rule{
	{"unreachable-state", "no sequence of events leads to a state", Error, unreachableState, explores},
	{"dead-end", "no event leads out of a state", Error, deadEnd, explores},
	{"trap", "no dormant state can be reached from a set of states", Error, trap, explores},
	{"no-stop", "the stop button does not surely lead to rest", Error, noStop, explores},
	{"slow-stop", "the stop button can take longer than rest_within to bring the prop to rest", Warning, slowStop, explores},
	{"ambiguous-trigger", "two transitions of one rank wait for the same event in the same state", Error, ambiguousTrigger, reads},
	{"instant-loop", "the prop can go around a circle of states in no time", Error, instantLoop, explores},
	{"unfinished-performance", "a performance waits for an end that does not come", Error, unfinishedPerformance, reads},
	{"shadowed-timer", "another event always comes before a timer", Warning, shadowedTimer, explores},
	{"never-rests", "left alone, the prop need not come to rest", Warning, neverRests, explores},
	{"unhandled-button", "a state says nothing about a button", Note, unhandledButton, explores},
	{"unused-button", "no transition names a button", Warning, unusedButton, reads},
	{"unused-routine", "no state plays a routine", Warning, unusedRoutine, reads},
	{"unused-output", "nothing ever moves an output", Warning, unusedOutput, reads},
	{"unused-track", "no cue plays a track", Warning, unusedTrack, reads},
	{"unused-message", "nothing sends a message", Warning, unusedMessage, reads},
	{"silent-state", "a state that is not dormant does nothing", Warning, silentState, reads},
	{"order-at-rest", "an order sets something in motion in a dormant state", Error, ordersAtRest, explores},
	{"unheeded-order", "what is ordered on a trigger is never carried out", Warning, unheededOrders, reads},
	{"restless-rest", "something moves, turns or changes its light in a dormant state", Error, restlessRest, explores},
}

func unreachableState(p *Pass) {
	for i := range p.Design.States {
		s := &p.Design.States[i]
		if !p.explored.Reaches(machine.StateID(i)) {
			p.Report(Finding{
				Pos: s.Pos, State: s.Name,
				Message: fmt.Sprintf("state %q can never be reached", s.Name),
				Advice:  fmt.Sprintf("add a transition to %q from a state that can be reached, or remove the state", s.Name),
			})
		}
	}
}

// deadEnds marks the reachable states that nothing leaves.
func deadEnds(p *Pass) []bool {
	dead := make([]bool, len(p.Design.States))
	for i := range dead {
		s := machine.StateID(i)
		_, reached := p.explored.First(s)
		dead[i] = reached && !p.explored.Leaves(s)
	}
	return dead
}

func deadEnd(p *Pass) {
	for i, dead := range deadEnds(p) {
		if dead {
			s := &p.Design.States[i]
			p.reportIn(Finding{
				Pos: s.Pos, State: s.Name,
				Message: fmt.Sprintf("no event leads out of state %q", s.Name),
				Advice:  "add a transition from it: on a button, on done or after a while",
			})
		}
	}
}

func trap(p *Pass) {
	dead := deadEnds(p)
	for _, c := range p.explored.Traps() {
		if len(c.States) == 1 && dead[c.States[0]] {
			continue
		}
		p.reportComponent(c, fmt.Sprintf("from %s no dormant state can be reached", p.list(c.States)),
			"add a transition from one of them that leads to rest in the end")
	}
}

// reportComponent reports something about configurations that reach each other.
func (p *Pass) reportComponent(c timed.Component, message, advice string) {
	p.reportAmong(c.States, report{
		Finding: Finding{
			Pos: p.Design.States[c.States[0]].Pos, State: p.Program.Name(c.State),
			Message: message, Advice: advice,
		},
		show: func(f *Finding) { f.reach(c.Run()) },
	})
}

func ambiguousTrigger(p *Pass) {
	for _, a := range p.Program.Ambiguities() {
		on := p.Design.Transitions[a.Second.Transition].On[a.Second.Trigger]
		first := &p.Design.Transitions[a.First.Transition].On[a.First.Trigger]
		f := Finding{Pos: on.Pos}
		where := "any state"
		switch a.Rank {
		case machine.RankNamed:
			where = fmt.Sprintf("state %q", p.Program.Name(a.State))
		case machine.RankKind:
			where = fmt.Sprintf("any %s state", a.Kind)
		}
		// The witness leads to the state that is reached first.
		best := -1
		for _, s := range a.In {
			if n, ok := p.explored.First(s); ok && (best < 0 || n < best) {
				best = n
			}
		}
		if best >= 0 {
			f.State = p.Program.Name(p.explored.State(best))
		}
		f.Message = fmt.Sprintf("two transitions wait for %q in %s: the other is in line %d", on, where, first.Pos.Line)
		f.Advice = "remove one, or let one name the state and the other say any"
		p.reportIn(f)
	}
}

func instantLoop(p *Pass) {
	for _, c := range p.explored.InstantLoops() {
		p.reportComponent(c, fmt.Sprintf("the prop can go around through %s in no time", p.list(c.States)),
			"let one of their timers take longer than 0s, or give one of their routines a length")
	}
}

func unfinishedPerformance(p *Pass) {
	waits := p.waitingForEnd()
	for i := range p.Design.States {
		if f, ok := p.unfinished(machine.StateID(i), waits[i]); ok {
			p.reportIn(f)
		}
	}
}

// unfinished makes the finding that a state's performance does not end. waits is
// the transition that waits for the end, nil for none.
func (p *Pass) unfinished(id machine.StateID, waits *model.Transition) (f Finding, yes bool) {
	s := &p.Design.States[id]
	if s.Kind != model.Performing {
		return f, false
	}
	endless := p.Program.Length[id] < 0
	timed := p.endedByTimer(id)
	f = Finding{Pos: s.Pos, State: s.Name}
	switch {
	case endless && waits != nil:
		f.Pos = waits.Pos
		what := "plays no routine"
		if s.Plays != "" {
			what = fmt.Sprintf("plays %q, which repeats", s.Plays)
		}
		f.Message = fmt.Sprintf("a transition waits for the end of the routine, but state %q %s", s.Name, what)
		f.Advice = "play a routine without loop = true, or use an after in place of the end"
	case endless && s.Plays != "" && !timed && p.Program.Done(id) != nil && !p.Program.Done(id).Stays() && !p.endedByHand(id):
		f.Pos = s.At("plays")
		f.Message = fmt.Sprintf("state %q plays %q, which repeats: the end that %q waits for never comes", s.Name, s.Plays, p.doneFrom(id))
		f.Advice = "play a routine without loop = true, or add a transition that ends it, on after or on a button"
	case s.Plays == "" && !timed:
		f.Message = fmt.Sprintf("state %q is a performance without a routine and without a time", s.Name)
		f.Advice = "give it a routine with plays, or add a transition on after"
	case !endless && p.Program.Done(id) == nil && !timed && !p.passedOnly(id):
		f.Message = fmt.Sprintf("nothing says what follows when the routine of state %q has ended", s.Name)
		f.Advice = fmt.Sprintf("add a transition from %q on \"done\", for example to \"back\"; or one with ignore = true where it is to stay", s.Name)
	default:
		return f, false
	}
	return f, true
}

// passedOnly reports whether a state is always left in the step that enters it.
func (p *Pass) passedOnly(id machine.StateID) bool {
	_, stays := p.explored.First(id)
	return !stays && p.explored.Reaches(id)
}

// endedByTimer reports whether a timer is sure to end a state's performance.
// A deferred timer does so only if it fires before the routine's end, which is
// handled first where both are due in the same millisecond.
func (p *Pass) endedByTimer(id machine.StateID) bool {
	return slices.ContainsFunc(p.Program.Timers(id), func(t machine.Timer) bool {
		return !t.Do && (!t.Defer || int64(t.Hi) < p.Program.Length[id])
	})
}

// endedByHand reports whether a button other than stop, or an input, leads out
// of a state: its performance is meant to go on until then.
func (p *Pass) endedByHand(id machine.StateID) bool {
	for e, on := range p.Program.Events {
		m := p.Program.Move(id, machine.EventID(e))
		if m != nil && !m.Stays() && !m.Defer && m.Target != id && on.Name != p.Design.Remote.Stop {
			return true
		}
	}
	return false
}

// doneFrom returns the source, "any" or "any KIND", of the transition that waits
// for a state's end.
func (p *Pass) doneFrom(id machine.StateID) string {
	if p.Program.Done(id).Rank == machine.RankKind {
		return model.Any + " " + string(p.Program.Kind(id))
	}
	return model.Any
}

// waitingForEnd returns, for each state, the first transition that names it and
// waits for the end of its routine.
func (p *Pass) waitingForEnd() []*model.Transition {
	waits := make([]*model.Transition, len(p.Design.States))
	for i := range p.Design.Transitions {
		t := &p.Design.Transitions[i]
		done := func(on model.Trigger) bool { return on.Kind == model.Done }
		if t.Ignore || len(t.Do) > 0 || !t.Defer && !slices.ContainsFunc(t.On, done) {
			continue
		}
		for _, from := range t.From {
			if s, ok := p.Program.State(from.State); ok && waits[s] == nil {
				waits[s] = t
			}
		}
	}
	return waits
}

func shadowedTimer(p *Pass) {
	x := p.explored
	type timer struct {
		state machine.StateID
		timer int
	}
	fires := map[timer]bool{}
	for i := range x.Size().Configurations {
		for _, t := range x.Next(i) {
			fires[timer{x.State(i), t}] = true
		}
	}
	// A timer from any or any KIND is a fallback: it is enough that it fires in
	// one of its states.
	type trigger struct{ transition, trigger int }
	comes := map[trigger]bool{}
	silent := map[trigger][]machine.StateID{}
	var order []trigger
	for i := range p.Design.States {
		s := machine.StateID(i)
		if _, reached := x.First(s); !reached {
			continue
		}
		for j, t := range p.Program.Timers(s) {
			k := trigger{t.Transition, t.Trigger}
			switch {
			case fires[timer{s, j}]:
				comes[k] = comes[k] || t.Rank != machine.RankNamed
			case silent[k] == nil:
				order = append(order, k)
				fallthrough
			default:
				silent[k] = append(silent[k], s)
			}
		}
	}
	for _, k := range order {
		if comes[k] {
			continue
		}
		on := p.Design.Transitions[k.transition].On[k.trigger]
		where := "state"
		if len(silent[k]) > 1 {
			where = "states"
		}
		p.reportAmong(silent[k], report{
			Finding: Finding{
				Pos: on.Pos, State: p.Program.Name(silent[k][0]),
				Message: fmt.Sprintf("%q never comes in %s %s: something else always happens before", on, where, p.list(silent[k])),
				Advice:  "make it shorter, or remove it",
			},
			show: p.showState,
		})
	}
}

func unhandledButton(p *Pass) {
	answered := make([]bool, len(p.Design.Remote.Buttons))
	for i := range p.Design.States {
		id := machine.StateID(i)
		if _, ok := p.explored.First(id); !ok {
			continue
		}
		clear(answered)
		for e, t := range p.Program.Events {
			if b, ok := p.buttonOf(t); ok && !answered[b] {
				answered[b] = p.Program.Move(id, machine.EventID(e)) != nil
			}
		}
		var silent []string
		for b, ok := range answered {
			// A missing answer to stop is reported by no-stop, except in dormant states.
			stop := p.Design.Remote.Buttons[b].Name == p.Design.Remote.Stop && p.Design.States[i].Kind != model.Dormant
			if !ok && !stop {
				silent = append(silent, fmt.Sprintf("%q", p.Design.Remote.Buttons[b].Name))
			}
		}
		if silent == nil {
			continue
		}
		s := &p.Design.States[i]
		p.reportIn(Finding{
			Pos: s.Pos, State: s.Name,
			Message: fmt.Sprintf("state %q says nothing about %s", s.Name, model.AndList(silent, len(silent))),
			Advice:  "add transitions, with ignore = true where silence is meant",
		})
	}
}

// buttonOf returns the button that an event comes from.
func (p *Pass) buttonOf(t model.Trigger) (int, bool) {
	if t.Kind.Of() != model.SortButton {
		return 0, false
	}
	return p.Program.Button(t.Name)
}

// A use names something that a prop uses; of is the output of a message.
type use struct {
	sort     model.Sort
	of, name string
}

// used holds everything that a prop uses. Messages of a track count even if no cue
// plays it: unused-track reports that.
var used = NewPart(func(s *Study) (map[use]bool, error) {
	all := map[use]bool{{model.SortButton, "", s.Remote.Stop}: true} // no-stop judges stop
	output := func(name string) { all[use{model.SortOutput, "", name}] = true }
	message := func(output, name string) { all[use{model.SortMessage, output, name}] = true }
	for i := range s.Tracks {
		for _, play := range []model.Play{s.Tracks[i].Play, s.Tracks[i].Silencer()} {
			message(play.Output, play.Value)
		}
	}
	for i := range s.Routines {
		for _, c := range s.Routines[i].Cues {
			output(c.Output)
			message(c.Output, c.Send)
			all[use{model.SortTrack, "", c.Track}] = true
			if t := s.Track(c.Track); t != nil {
				output(t.Play.Output)
				output(t.Silencer().Output)
			}
		}
	}
	for i := range s.States {
		st := &s.States[i]
		all[use{model.SortRoutine, "", st.Plays}] = true
		for _, pose := range st.Pose {
			output(pose.Output)
		}
		for _, drift := range st.Drift {
			output(drift.Output)
		}
	}
	for i := range s.Transitions {
		for _, on := range s.Transitions[i].On {
			all[use{on.Kind.Of(), "", on.Name}] = true
		}
		for _, or := range s.Transitions[i].Do {
			output(or.Output)
			message(or.Output, or.Send)
		}
	}
	return all, nil
})

// unused reports something that the prop does not use.
func (p *Pass) unused(u use, pos model.Pos, message, advice string) {
	if all, _ := used.Of(p.Study); !all[u] {
		p.Report(Finding{Pos: pos, Message: message, Advice: advice})
	}
}

func unusedButton(p *Pass) {
	for i := range p.Design.Remote.Buttons {
		b := &p.Design.Remote.Buttons[i]
		p.unused(use{model.SortButton, "", b.Name}, b.Pos, fmt.Sprintf("no transition names the button %q", b.Name),
			"give it something to do, or remove it")
	}
}

func unusedRoutine(p *Pass) {
	for i := range p.Design.Routines {
		r := &p.Design.Routines[i]
		p.unused(use{model.SortRoutine, "", r.Name}, r.Pos, fmt.Sprintf("no state plays the routine %q", r.Name),
			fmt.Sprintf("let a state say plays = %q, or remove it", r.Name))
	}
}

func unusedOutput(p *Pass) {
	all, _ := used.Of(p.Study)
	var boards []*model.Output // the first trigger that nothing uses of a sound board
	tracks := map[string][]string{}
	for i := range p.Design.Outputs {
		o := &p.Design.Outputs[i]
		if name, track, ok := strings.Cut(o.Name, "."); ok {
			if !all[use{model.SortOutput, "", o.Name}] {
				if tracks[name] == nil {
					boards = append(boards, o)
				}
				tracks[name] = append(tracks[name], track)
			}
			continue
		}
		p.unused(use{model.SortOutput, "", o.Name}, o.Pos, fmt.Sprintf("no cue, pose, drift or order uses the output %q", o.Name),
			"use it in a routine or a state, or remove it")
	}
	for _, o := range boards {
		name, _, _ := strings.Cut(o.Name, ".")
		what, advice := "track", "play it, or take its pin out of pins where it is the last"
		if len(tracks[name]) > 1 {
			what, advice = "tracks", "play them, or take their pins out of pins where they are the last"
		}
		p.Report(Finding{
			Pos:     o.At("pin"),
			Message: fmt.Sprintf("nothing plays %s %s of the sound board %q", what, model.AndList(tracks[name], mostAlike), name),
			Advice:  advice,
		})
	}
}

func unusedTrack(p *Pass) {
	for i := range p.Design.Tracks {
		t := &p.Design.Tracks[i]
		p.unused(use{model.SortTrack, "", t.Name}, t.Pos, fmt.Sprintf("no cue plays the track %q", t.Name),
			fmt.Sprintf("give a routine a cue with track = %q, or remove the track", t.Name))
	}
}

func unusedMessage(p *Pass) {
	for i := range p.Design.Outputs {
		o := &p.Design.Outputs[i]
		for j := range o.Messages {
			m := &o.Messages[j]
			p.unused(use{model.SortMessage, o.Name, m.Name}, m.Pos, fmt.Sprintf("nothing sends the message %q of the output %q", m.Name, o.Name),
				"send it in a routine's cue, play or stop a track with it, or remove it")
		}
	}
}

func silentState(p *Pass) {
	for i := range p.Design.States {
		s := &p.Design.States[i]
		r := p.Design.Routine(s.Plays)
		if s.Kind == model.Dormant || r != nil && len(r.Cues) > 0 || len(s.Drift) > 0 || len(s.Pose) > 0 {
			continue
		}
		f := Finding{
			Pos: s.Pos, State: s.Name,
			Message: fmt.Sprintf("state %q plays, moves and poses nothing: nobody can see that the prop is in it", s.Name),
			Advice:  "give it a routine with plays, a drift or a pose",
		}
		if r != nil {
			f.Message = fmt.Sprintf("state %q plays %q, which has no cue, and moves and poses nothing: nobody can see that the prop is in it", s.Name, r.Name)
			f.Advice = "give the routine a cue, or the state a drift or a pose"
		}
		p.reportIn(f)
	}
}
