package check

import (
	"slices"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
	"propwright/model/timed"
)

// A prop is at rest in a dormant state in which it can stay: whatever leads out
// of the state by itself comes later than the outputs need to settle. Waking the prop
// later is the maker's intention; a state left in the step in which it was entered is
// not rest.
//
// The outputs have settled when those of the state have, and when no sound goes on that
// nothing silences. The exploration does not know when such a sound began, so the
// latest time is assumed: with such sounds the times are an upper bound, without them
// they are exact.

// restTimes returns for each state how long after its entry the prop is at rest, in
// milliseconds; timed.Never if it need not come to rest there.
func (s *Study) restTimes() []int64 {
	if s.rest == nil {
		s.rest = restTimes(s.Program)
	}
	return s.rest
}

func restTimes(p *machine.Program) []int64 { return restTimesOf(p, settling(p)) }

// restTimesOf is restTimes with the given time that a state's outputs need to settle.
func restTimesOf(p *machine.Program, settle func(machine.StateID) int64) []int64 {
	rest := slices.Repeat([]int64{timed.Never}, len(p.Design.States))
	for i := range rest {
		s := machine.StateID(i)
		if p.Kind(s) != model.Dormant {
			continue
		}
		left := timed.Never // earliest time at which it is left by itself
		for _, t := range p.Timers(s) {
			if !t.Do {
				left = min(left, int64(t.Lo))
			}
		}
		if done := p.Done(s); done != nil && !done.Stays() && p.Length[s] >= 0 {
			left = min(left, p.Length[s])
		}
		if need := settle(s); need < left {
			rest[i] = need
		}
	}
	return rest
}

// settling returns a function that says how long the outputs of a state move, sound or
// change their light after its entry, in milliseconds. restless-rest reports outputs
// that never come to rest.
func settling(p *machine.Program) func(machine.StateID) int64 {
	rest, lingers := motion.NewRest(p.Design), lingering(p)
	return func(s machine.StateID) int64 {
		return max(model.RoundUp(rest.In(&p.Design.States[s]).Still).Milliseconds(), lingers[s].on)
	}
}

// A linger is a sound that can go on in a state, for at most so many milliseconds after
// its entry; track is nil if there is none.
type linger struct {
	on    int64
	track *model.Track
}

// lingering returns for each state the sound that can go on in it longest, of those that
// began in an earlier state and that nothing silences.
func lingering(p *machine.Program) []linger {
	d := p.Design
	back := len(d.States) // stands for all states that back can lead to
	lingers := make([]linger, back+1)
	var todo []int // states whose time has grown since they were looked at
	grow := func(s int, l linger) {
		if l.on > lingers[s].on {
			lingers[s] = l
			todo = append(todo, s)
		}
	}
	leave := func(s machine.StateID, sounds []sound) {
		by := func(m *machine.Move, least, most int64) {
			if m == nil || m.Stays() {
				return
			}
			if m.Defer {
				least, most = p.Length[s], p.Length[s]
			}
			if least < 0 {
				return // it waits for an end that never comes
			}
			l := linger{lingers[s].on - least, lingers[s].track}
			for _, sound := range sounds {
				if _, n, ok := sound.longest(least, most); ok && n > l.on {
					l = linger{n, sound.track}
				}
			}
			if m.Target == machine.BackTarget {
				grow(back, l)
			}
			for _, to := range p.Targets(m) {
				grow(int(to), l)
			}
		}
		for e := range p.Events {
			by(p.Move(s, machine.EventID(e)), 0, timed.Never)
		}
		by(p.Done(s), p.Length[s], p.Length[s])
		for _, t := range p.Timers(s) {
			by(&t.Move, int64(t.Lo), int64(t.Hi))
		}
	}
	for i := range d.States {
		if sounds := unsilenced(d, &d.States[i]); sounds != nil {
			leave(machine.StateID(i), sounds)
		}
	}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if s < back {
			leave(machine.StateID(s), nil)
			continue
		}
		for i := range d.States {
			if d.States[i].Kind != model.Performing {
				grow(i, lingers[back])
			}
		}
	}
	return lingers[:back]
}

// A restWatch observes a machine being played and tells when the prop comes to rest.
type restWatch struct {
	p     *machine.Program
	rest  []int64 // restTimes
	due   int64   // when the prop comes to rest if nothing else happens, or timed.Never
	since int64   // rest counts from here on
	first int64   // first rest since then, or timed.Never
}

func newRestWatch(p *machine.Program, rest []int64) *restWatch {
	return &restWatch{p: p, rest: rest, due: rest[p.Start], first: timed.Never}
}

// begin forgets what was before now.
func (w *restWatch) begin(now int64) { w.since, w.first = now, timed.Never }

// observe takes a change. A release that leads out of rest, to a state where rest is
// still to come, undoes the rest, even if a timer of that state has just set the prop
// in motion.
func (w *restWatch) observe(c machine.Change) {
	if c.Outcome != machine.Entered {
		return
	}
	at := int64(c.At)
	resting := w.due < timed.Never
	w.rested(at - 1)
	w.due = timed.Never
	if rest := w.rest[c.To]; rest < timed.Never {
		w.due = at + rest
	}
	if release := c.Cause == machine.CauseEvent && w.p.Events[c.Event].Kind == model.Release; release && resting && w.due > at {
		w.first = timed.Never
	}
}

// rested reports whether the prop has been at rest by a time, which is not before the
// last change.
func (w *restWatch) rested(by int64) bool {
	if w.due <= by {
		w.first = min(w.first, max(w.due, w.since))
	}
	return w.first < timed.Never
}

// when returns when the prop first rested, or will rest if nothing more happens.
func (w *restWatch) when() int64 {
	if w.first < timed.Never {
		return w.first
	}
	return max(w.due, w.since)
}
