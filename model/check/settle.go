package check

import (
	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
)

// A prop is at rest in a dormant state in which it can stay: whatever leads out
// of the state by itself comes later than the state's outputs need to settle. A
// timer that wakes the prop after that is what its maker wants; a state that is
// left in the step in which it was entered is not rest. Everything here that
// speaks of rest asks restTimes.

// settling tells how long the outputs of a state move, sound or change their light
// after the state was entered, in milliseconds. What never comes to rest is told by
// restless-rest.
func settling(d *model.Design) func(machine.StateID) int64 {
	rest := motion.NewRest(d)
	return func(s machine.StateID) int64 { return roundUp(rest.In(&d.States[s]).Still).Milliseconds() }
}

// restTimes gives for each state how long after it was entered the prop is at
// rest in it, in milliseconds; far where it need not come to rest there.
func restTimes(p *machine.Program, settle func(machine.StateID) int64) []int64 {
	rest := make([]int64, len(p.Design.States))
	for i := range rest {
		s := machine.StateID(i)
		rest[i] = far
		if p.Kind(s) != model.Dormant {
			continue
		}
		left := far // at the earliest, by itself
		for _, t := range p.Timers(s) {
			left = min(left, int64(t.Lo))
		}
		if done := p.Done(s); done != nil && !done.Ignore && p.Length[s] >= 0 {
			left = min(left, p.Length[s])
		}
		if need := settle(s); need < left {
			rest[i] = need
		}
	}
	return rest
}

// rests reports whether a state is one in which the prop comes to rest.
func (x *exploration) rests(s machine.StateID) bool { return x.modes[s].rest < far }

// A restWatch tells when a prop that is being played comes to rest. It is told
// of everything that the machine handles.
type restWatch struct {
	p     *machine.Program
	rest  []int64 // restTimes
	due   int64   // when the prop comes to rest if nothing happens before; far: it does not
	since int64   // since when rest counts
	first int64   // when the prop rested first since then; far: it has not
}

func newRestWatch(p *machine.Program, rest []int64) *restWatch {
	return &restWatch{p: p, rest: rest, due: rest[p.Start], first: far}
}

// begin begins to count: what was before time now is forgotten.
func (w *restWatch) begin(now int64) { w.since, w.first = now, far }

// observe takes a change. A release that leads out of rest takes back that the
// prop has rested.
func (w *restWatch) observe(c machine.Change) {
	if c.Outcome != machine.Entered {
		return
	}
	at := int64(c.At)
	rested := w.due < at
	w.rested(at - 1)
	w.due = bound(at + w.rest[c.To])
	if release := c.Cause == machine.CauseEvent && w.p.Events[c.Event].Kind == model.Release; release && rested && w.due > at {
		w.first = far
	}
}

// rested reports whether the prop has been at rest by a time, that of the last
// change or later.
func (w *restWatch) rested(by int64) bool {
	if w.due <= by {
		w.first = min(w.first, max(w.due, w.since))
	}
	return w.first < far
}

// when is when the prop rested first, or will if nothing happens any more.
func (w *restWatch) when() int64 {
	if w.first < far {
		return w.first
	}
	return max(w.due, w.since)
}
