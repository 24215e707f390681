package check

import (
	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
	"propwright/model/timed"
)

// A prop is at rest in a dormant state in which it can stay: whatever leads out
// of the state by itself comes later than the state's outputs need to settle. A
// timer that wakes the prop after that is what its maker wants; a state that is
// left in the step in which it was entered is not rest. Everything here that
// speaks of rest asks restTimes.

// restTimes gives for each state how long after it was entered the prop is at rest
// in it, see timed.RestTimes.
func (s *Study) restTimes() []int64 {
	if s.rest == nil {
		s.rest = restTimes(s.Program)
	}
	return s.rest
}

func restTimes(p *machine.Program) []int64 { return timed.RestTimes(p, settling(p.Design)) }

// settling tells how long the outputs of a state move, sound or change their light
// after the state was entered, in milliseconds. What never comes to rest is told by
// restless-rest.
func settling(d *model.Design) func(machine.StateID) int64 {
	rest := motion.NewRest(d)
	return func(s machine.StateID) int64 { return roundUp(rest.In(&d.States[s]).Still).Milliseconds() }
}

// A restWatch tells when a prop that is being played comes to rest. It is told
// of everything that the machine handles.
type restWatch struct {
	p     *machine.Program
	rest  []int64 // restTimes
	due   int64   // when the prop comes to rest if nothing happens before; timed.Never: it does not
	since int64   // since when rest counts
	first int64   // when the prop rested first since then; timed.Never: it has not
}

func newRestWatch(p *machine.Program, rest []int64) *restWatch {
	return &restWatch{p: p, rest: rest, due: rest[p.Start], first: timed.Never}
}

// begin begins to count: what was before time now is forgotten.
func (w *restWatch) begin(now int64) { w.since, w.first = now, timed.Never }

// observe takes a change. A release that leads out of rest takes back that the
// prop has rested.
func (w *restWatch) observe(c machine.Change) {
	if c.Outcome != machine.Entered {
		return
	}
	at := int64(c.At)
	rested := w.due < at
	w.rested(at - 1)
	w.due = timed.Never
	if rest := w.rest[c.To]; rest < timed.Never {
		w.due = at + rest
	}
	if release := c.Cause == machine.CauseEvent && w.p.Events[c.Event].Kind == model.Release; release && rested && w.due > at {
		w.first = timed.Never
	}
}

// rested reports whether the prop has been at rest by a time, that of the last
// change or later.
func (w *restWatch) rested(by int64) bool {
	if w.due <= by {
		w.first = min(w.first, max(w.due, w.since))
	}
	return w.first < timed.Never
}

// when is when the prop rested first, or will if nothing happens any more.
func (w *restWatch) when() int64 {
	if w.first < timed.Never {
		return w.first
	}
	return max(w.due, w.since)
}
