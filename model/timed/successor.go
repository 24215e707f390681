package timed

import (
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// An outcome is a configuration that a step leads to.
type outcome struct {
	location
	zone
	via step
}

// outcomes gives what can come of configuration i, until yield returns false,
// and whether it can take no time.
func (g *graph) outcomes(i int, yield func(o *outcome, instant bool) bool) {
	n := g.at(i)
	going := true
	lead := func(o *outcome, instant bool) {
		if !o.via.enters && o.location == n.location && n.covers(&o.zone) {
			return // nothing has changed
		}
		o.via.state = o.state
		going = going && yield(o, instant)
	}
	if !g.closed {
		g.outside(&n, lead)
	}
	if going {
		g.pressGoingOn(&n, lead)
	}
	if going {
		g.inside(&n, lead)
	}
}

// outside gives what a hand at the remote or an input can do.
func (g *graph) outside(n *configuration, lead func(o *outcome, instant bool)) {
	x := g.x
	when, ok := n.within(g.soon(&n.location, false))
	// A press ends the one going on, at the latest when that is due to end.
	press, pressed := n.within(g.soon(&n.location, true))
	act := func(e machine.EventID, when zone) {
		g.room = x.act(n, e, when, false, g.room[:0])
		for k := range g.room {
			lead(&g.room[k], false)
		}
	}
	acts := x.modes[n.state].acts
	next := 0 // of acts, presses first, in order of their events
	for _, a := range acts {
		switch x.program.Events[a.event].Kind {
		case model.Press:
			if pressed {
				act(a.event, press)
			}
		case model.Rise, model.Fall, model.Posted:
			if ok {
				act(a.event, when)
			}
		}
	}
	for _, e := range x.inputs { // that say nothing, but change their level
		if m := x.program.Move(n.state, e.event); ok && e.to != 0 && (m == nil || m.Stays()) {
			act(e.event, when)
		}
	}
	// A press that says nothing may become a hold, and releases another.
	releases := n.button >= 0 && x.buttons[n.button].release >= 0
	for b := range x.buttons {
		if next < len(acts) && int(acts[next].event) == b {
			next++
			continue
		}
		if pressed && (x.buttons[b].tracked() || releases) {
			act(machine.EventID(b), press)
		}
	}
}

// act adds to outcomes what a press, or a change of an input, can lead to
// within the zone. A press may become a hold that nobody need notice, unless it is
// to be a tap.
func (x *Space) act(n *configuration, e machine.EventID, when zone, tapped bool, outcomes []outcome) []outcome {
	x.chances.each(func() bool {
		c, press := n.location, int(e) < len(x.buttons)
		var events []machine.EventID
		if press {
			events = x.letGo(&c)
		} else if edge, _ := x.edge(e); !c.levels.takes(edge) {
			return false
		}
		events = append(events, e)
		via := step{kind: actHappens, event: e, when: when.guard()}
		x.events(&c, events, &via)
		tap := outcome{c, x.after(&c, &when, via.enters), via}
		if !press || !x.buttons[e].tracked() {
			outcomes = append(outcomes, tap)
			return true
		}
		kept := tap
		kept.button, kept.fired = int32(e), 0
		kept.zone = when
		if via.enters {
			kept.restart(sinceClock)
		}
		kept.restart(heldClock)
		kept.run()
		mustRelease := x.buttons[e].release >= 0
		if mustRelease || !tapped {
			outcomes = append(outcomes, kept)
		}
		if !mustRelease {
			outcomes = append(outcomes, tap)
		}
		return true
	})
	return outcomes
}

// pressGoingOn gives the results of the press going on.
func (g *graph) pressGoingOn(n *configuration, lead func(o *outcome, instant bool)) {
	x := g.x
	if n.button < 0 {
		return
	}
	button := &x.buttons[n.button]
	if int(n.fired) < len(button.frames) && !g.closed {
		f := button.frames[n.fired]
		if when, ok := n.within(g.soon(&n.location, true).heldAt(f.at)); ok {
			x.chances.each(func() bool {
				c, via := n.location, step{kind: holdHappens, event: f.events[0], when: when.guard()}
				x.events(&c, f.events, &via)
				c.fired++
				x.meanwhile(c, via, func(c location, via step) {
					z := x.after(&c, &when, via.enters)
					lead(&outcome{c, z, via}, false)
					if button.release < 0 && c.button >= 0 { // it may be let go before the next hold
						c.button, c.fired = -1, 0
						z = x.after(&c, &when, via.enters)
						lead(&outcome{c, z, via}, false)
					}
				})
				return true
			})
		}
	}
	if button.release < 0 {
		return
	}
	soon := g.soon(&n.location, true)
	if n.knows(heldClock) {
		soon = soon.heldAt(x.firstRelease(n))
	}
	if when, ok := n.within(soon); ok {
		release := func(c location, via step) {
			z := x.after(&c, &when, via.enters)
			lead(&outcome{c, z, via}, false)
		}
		x.chances.each(func() bool {
			c, via := n.location, step{kind: releaseHappens, event: button.release, when: when.guard()}
			x.events(&c, x.letGo(&c), &via)
			if g.closed {
				release(c, via)
			} else {
				x.meanwhile(c, via, release)
			}
			return true
		})
	}
}

// meanwhile gives what a step leads to that takes a frame or a release: as it is,
// and where an input changes in the same step.
func (x *Space) meanwhile(c location, via step, lead func(location, step)) {
	lead(c, via)
	for _, e := range x.inputs {
		x.chances.each(func() bool {
			c, via := c, via
			m := x.program.Move(c.state, e.event)
			if !c.levels.takes(e) || e.to == 0 && (m == nil || m.Stays()) {
				return false
			}
			via.input = e.event
			via.through = slices.Clone(via.through)
			x.events(&c, []machine.EventID{via.input}, &via)
			lead(c, via)
			return true
		})
	}
}

// firstRelease is the least time after the first frame at which the release
// can still come: after the last hold that fired there is a whole number of
// frames.
func (x *Space) firstRelease(n *configuration) int64 {
	button := &x.buttons[n.button]
	last := int64(n.last)
	if n.fired > 0 {
		last = button.frames[n.fired-1].at
	}
	return button.frameFrom(max(last, n.lo(heldClock)+1-button.lasting)) + button.lasting
}

// inside gives what happens by itself.
func (g *graph) inside(n *configuration, lead func(o *outcome, instant bool)) {
	x := g.x
	r := &x.modes[n.state]
	limits := g.limits(&n.location)
	due := n.due(r)
	if due < Never {
		if when, ok := n.within(limits.sinceAt(due)); ok {
			x.chances.each(func() bool {
				c, via := n.location, step{kind: doneHappens, when: when.guard()}
				x.ends(&c, &via)
				z := x.after(&c, &when, via.enters)
				// A routine's end that changes nothing takes no time where it does
				// not keep a timer waiting.
				instant := r.length == 0 || !via.enters && due <= n.soonest()
				lead(&outcome{c, z, via}, instant)
				return true
			})
		}
	}
	x.goOff(n, limits, func(c location, via step) bool {
		if when, ok := n.within(via.when); ok {
			via.when = when.guard()
			z := x.after(&c, &when, via.enters)
			lead(&outcome{c, z, via}, r.timers[via.timer].Lo == 0)
		}
		return true
	})
}

// event does what an outside event does, and reports whether a state was
// entered.
func (x *Space) event(c *location, e machine.EventID) (enters bool) {
	m := x.program.Move(c.state, e)
	x.stepOn(c)
	switch {
	case m == nil || m.Stays():
		return false
	case m.Defer:
		x.remember(c, m)
		return false
	}
	x.enter(c, m.Target, byEvent)
	return true
}

// events does what outside events of a step do, and notes in the step what is
// entered.
func (x *Space) events(c *location, es []machine.EventID, via *step) {
	for _, e := range es {
		at := c.state
		if !x.event(c, e) {
			continue
		}
		if via.enters {
			via.through = append(via.through, at)
		}
		via.enters = true
	}
	via.picks = x.chances.taken()
}

// letGo ends the press going on, if there is one, and gives the events that
// come of it.
func (x *Space) letGo(c *location) []machine.EventID {
	if c.button < 0 {
		return nil
	}
	release := x.buttons[c.button].release
	c.button, c.fired, c.last, c.unsure = -1, 0, 0, false
	if release < 0 {
		return nil
	}
	return []machine.EventID{release}
}

// remember defers a move, where the routine's end is still to come.
func (x *Space) remember(c *location, m *machine.Move) {
	if x.modes[c.state].length >= 0 && !c.ended {
		c.deferred = m.Target
	}
}

// ends ends the routine, and notes in the step what is entered.
func (x *Space) ends(c *location, via *step) {
	deferred := c.deferred
	x.stepOn(c)
	c.ended, c.deferred = true, nowhere
	switch done := x.modes[c.state].done; {
	case deferred != nowhere:
		x.enter(c, deferred, byDone)
	case done != nil:
		x.enter(c, done.Target, byDone)
	default:
		return
	}
	via.enters, via.picks = true, x.chances.taken()
}

// enter enters a state (rules 1, 5 and 6).
func (x *Space) enter(c *location, target machine.StateID, how arrival) {
	back := c.back
	if x.modes[c.state].kind != model.Performing {
		back = c.state
	}
	if target == machine.BackTarget {
		target = back
	} else {
		target = x.settle(c, target)
	}
	x.chances.entered++
	if !x.modes[target].backLive {
		back = nowhere
	}
	c.state, c.back, c.deferred, c.ended, c.spent, c.lag = target, back, nowhere, false, 0, lag{}
	c.arrival = x.arrive(target, how)
}

// arrive forgets how a state was entered where nothing is due at once.
func (x *Space) arrive(s machine.StateID, how arrival) arrival {
	if x.modes[s].instant {
		return how
	}
	return byEvent
}

// after gives the zone after something that happened in a zone without beginning a
// press. A press of which no more is known than that it can be released at any time
// is forgotten if no transition waits for that.
func (x *Space) after(c *location, when *zone, enters bool) zone {
	if c.button >= 0 && int(c.fired) == len(x.buttons[c.button].frames) && x.buttons[c.button].release < 0 {
		c.button, c.fired = -1, 0
	}
	pressed, asked := c.button >= 0 && when.knows(heldClock), when.knows(eventClock)
	if enters && !pressed && !asked {
		return entry
	}
	z := *when
	if !pressed {
		z.forget(heldClock)
	}
	if enters {
		z.restart(sinceClock)
		if asked && c.button < 0 {
			z.restart(eventClock) // what was before does not matter
		}
	}
	z.run()
	if pressed && int(c.fired) == len(x.buttons[c.button].frames) {
		last := int64(c.last)
		if c.fired > 0 {
			last = x.buttons[c.button].frames[c.fired-1].at
		}
		if z.lo(heldClock) >= last+x.buttons[c.button].lasting {
			z.forget(heldClock)
		}
	}
	return z
}
