package timed

import (
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// Responses are what can come without further acts: a button that is down is
// let go. The event clock of its configurations counts from the event on, or from the
// last entry of a state with no release to come: nothing that was before that counts,
// so there it starts again.
type responses struct{ *graph }

// A way leads from one configuration to the next.
type way struct {
	to  int
	via step
}

// An occurrence is one way in which an event can happen.
type occurrence struct {
	configuration int             // in Space.all
	before        machine.StateID // the event comes to it, perhaps after another one of its step
	ended         bool            // its routine has, by then
	via           step
	entered       []machine.StateID // by the event, and by what follows it in its frame
	there         machine.StateID   // right after an outside event, before what follows it in its frame; or nowhere
	roots         []root            // what it leads to
}

// A root is a configuration that an event leads to.
type root struct {
	configuration  int
	heldLo, heldHi int64 // when in the press going on the event happens
}

// at is the step of an occurrence that leads to a root.
func (o *occurrence) at(r root) step {
	h := o.via
	h.when.heldLo, h.when.heldHi = max(h.when.heldLo, r.heldLo), min(h.when.heldHi, r.heldHi)
	return h
}

// ways are those on from a configuration.
func (a *responses) ways(i int) (ways []way) {
	if a.x.Full() {
		return nil
	}
	a.outcomes(i, func(o *outcome, _ bool) bool {
		if n := &a.configurations[i]; n.unsure { // how long the press has been going on is not known
			o.via.when.heldLo, o.via.when.heldHi = -Never, a.letGoBy(&n.location)-1
			if o.via.kind == releaseHappens {
				o.via.when.heldHi = Never
			}
		}
		ways = append(ways, way{a.add(o.location, &o.zone, i)[0], o.via})
		return true
	})
	return ways
}

// happen lists the ways in which an event can happen in a configuration.
func (a *responses) happen(i int, on model.Trigger) []occurrence {
	x, n := a.x, a.x.all.at(i)
	e, outside := x.program.Event(on)
	switch on.Kind {
	case model.Rise, model.Fall, model.Posted:
		if edge, _ := x.edge(e); !outside || !n.levels.takes(edge) {
			return nil
		}
		var os []occurrence
		if when, ok := n.within(x.all.soon(&n.location, false)); ok {
			os = a.each(func() []occurrence {
				c := n.location
				o := a.occur(i, step{kind: actHappens, event: e}, &c, when, []machine.EventID{e}, 0)
				return a.settle(o, c, when)
			})
		}
		return append(append(os, a.frame(i, e)...), a.released(i, e)...)
	case model.Press:
		when, ok := n.within(x.all.soon(&n.location, true))
		if !outside || !ok {
			return nil
		}
		return a.each(func() []occurrence {
			c, when := n.location, when
			es := x.letGo(&c)
			o := a.occur(i, step{kind: actHappens, event: e}, &c, when, append(es, e), len(es))
			if button := &x.buttons[e]; button.release >= 0 {
				c.button, c.fired = int32(e), 0
				when.restart(heldClock)
				o.root(a, c, when)
				return []occurrence{o}
			}
			return a.settle(o, c, when)
		})
	case model.Hold:
		if b, _ := x.program.Button(on.Name); !outside || int(n.button) != b {
			return nil
		}
		return a.frame(i, e)
	case model.Release:
		if b, _ := x.program.Button(on.Name); int(n.button) != b {
			return nil
		}
		return a.released(i, e)
	case model.Done:
		return a.done(i)
	}
	return a.after(i, on)
}

// frame is the event in the step of the next frame with holds: one of them, or an
// input's edge behind them.
func (a *responses) frame(i int, e machine.EventID) []occurrence {
	x, n := a.x, a.x.all.at(i)
	if n.button < 0 || int(n.fired) == len(x.buttons[n.button].frames) {
		return nil
	}
	button := &x.buttons[n.button]
	f := button.frames[n.fired]
	when, ok := n.within(x.all.soon(&n.location, true).heldAt(f.at))
	es, via, k := a.behind(step{kind: holdHappens, event: f.events[0]}, f.events, e)
	if !ok || k < 0 {
		return nil
	}
	return a.each(func() []occurrence {
		c := n.location
		o := a.occur(i, via, &c, when, es, k)
		c.fired, c.last = 0, int32(f.at)
		if button.release < 0 {
			c.button, c.last = -1, 0
		}
		o.root(a, c, when)
		return []occurrence{o}
	})
}

// each gives the occurrences for each way in which choices can come out.
func (a *responses) each(occur func() []occurrence) (os []occurrence) {
	a.x.chances.each(func() bool {
		os = append(os, occur()...)
		return true
	})
	return os
}

// behind gives the events of a step of a press with the one asked about, which is
// number k of them: -1 where it is neither one of them nor an input's edge.
func (a *responses) behind(via step, es []machine.EventID, e machine.EventID) (all []machine.EventID, with step, k int) {
	if _, edge := a.x.edge(e); edge {
		via.input = e
		return append(slices.Clone(es), e), via, len(es)
	}
	return es, via, slices.Index(es, e)
}

// root enters a configuration that an occurrence leads to, within the zone in which it
// happens.
func (o *occurrence) root(a *responses, c location, when zone) {
	c.levels = 0 // inputs change no more
	when.restart(eventClock)
	z := a.x.after(&c, &when, o.via.enters)
	o.roots = append(o.roots, root{a.add(c, &z, -1)[0], -Never, Never})
}

// occur does what outside events of one step do, of which number k is the one
// asked about.
func (a *responses) occur(i int, via step, c *location, when zone, es []machine.EventID, k int) occurrence {
	via.when = when.guard()
	o := occurrence{configuration: i, via: via}
	for j, e := range es {
		at, ended := c.state, c.ended
		enters := a.x.event(c, e)
		if j == k {
			o.before, o.ended, o.there = at, ended, c.state
		}
		if !enters {
			continue
		}
		if o.via.enters {
			o.via.through = append(o.via.through, at)
		}
		o.via.enters = true
		if j >= k {
			o.entered = append(o.entered, c.state)
		}
	}
	o.via.state, o.via.picks = c.state, a.x.chances.taken()
	return o
}

// released is the event in the step of the release of the button that is down, by
// itself: that release, or an input's edge behind it. It comes at any of the times
// that are a whole number of frames after the button's last hold.
func (a *responses) released(i int, e machine.EventID) []occurrence {
	x, n := a.x, a.x.all.at(i)
	if n.button < 0 || x.buttons[n.button].release < 0 {
		return nil
	}
	soon := x.all.soon(&n.location, true)
	button := &x.buttons[n.button]
	if n.knows(heldClock) {
		soon.heldLo = max(soon.heldLo, x.firstRelease(&n))
	}
	when, ok := n.within(soon)
	if !ok {
		return nil
	}
	whens := []zone{when}
	if n.knows(heldClock) && when.hi(heldClock) < Never {
		whens = nil
		for at := x.firstRelease(&n); at <= when.hi(heldClock); at = button.frameFrom(at-button.lasting+1) + button.lasting {
			if w, ok := n.within(soon.heldAt(at)); ok {
				whens = append(whens, w)
			}
		}
	}
	var os []occurrence
	for _, when := range whens {
		os = append(os, a.each(func() []occurrence {
			c := n.location
			es, via, k := a.behind(step{kind: releaseHappens, event: button.release}, x.letGo(&c), e)
			return a.settle(a.occur(i, via, &c, when, es, k), c, when)
		})...)
	}
	return os
}

// done is the end of the routine, also of one that no transition waits for.
func (a *responses) done(i int) []occurrence {
	x, n := a.x, a.x.all.at(i)
	length := x.program.Length[n.state]
	if length < 0 || n.ended || n.deferred != nowhere {
		return nil
	}
	if n.arrival != byEvent {
		length = max(length, 1)
	}
	when, ok := n.within(x.all.limits(&n.location).sinceAt(length))
	if !ok {
		return nil
	}
	return a.each(func() []occurrence {
		c, o := n.location, occurrence{configuration: i, before: n.state, there: nowhere, via: step{kind: doneHappens, when: when.guard()}}
		if x.modes[n.state].length >= 0 {
			if x.ends(&c, &o.via); o.via.enters {
				o.entered = []machine.StateID{c.state}
			}
		}
		o.via.state = c.state
		return a.settle(o, c, when)
	})
}

// after is a timer's going off.
func (a *responses) after(i int, on model.Trigger) []occurrence {
	x, n := a.x, a.x.all.at(i)
	r := &x.modes[n.state]
	var os []occurrence
	x.goOff(&n, x.all.limits(&n.location), func(c location, via step) bool {
		t := &r.timers[via.timer]
		when, ok := n.within(via.when)
		if !ok || t.Lo != machine.Millis(on.After.Lo) || t.Hi != machine.Millis(on.After.Hi) {
			return true
		}
		via.when = when.guard()
		o := occurrence{configuration: i, before: n.state, there: nowhere, via: via}
		if via.enters {
			o.entered = []machine.StateID{c.state}
		}
		os = append(os, a.settle(o, c, when)...)
		return true
	})
	return os
}

// settle gives an occurrence what it leads to, where the event began no press:
// a button that is down is let go after the last frame that has come by then.
func (a *responses) settle(o occurrence, c location, when zone) []occurrence {
	if c.button < 0 || a.x.buttons[c.button].release < 0 {
		c.button, c.fired = -1, 0
		o.root(a, c, when)
		return []occurrence{o}
	}
	button := &a.x.buttons[c.button]
	first, last := int64(0), Never // frames, the last that may have come
	if c.fired > 0 {
		first = button.frames[c.fired-1].at
	}
	if int(c.fired) < len(button.frames) {
		last = button.frameBefore(button.frames[c.fired].at)
	}
	if button.period == 0 {
		last = 0
	}
	c.fired = 0
	lo, hi := when.lo(heldClock), when.hi(heldClock)
	if hi == Never { // beyond this nothing is known but that it is down
		last = min(last, first+button.lasting)
	}
	at := first
	for ; lo > -Never && at <= min(last, hi); at = button.frameFrom(at + 1) {
		held := guard{sinceLo: -Never, sinceHi: Never, heldLo: at, heldHi: at + button.lasting - 1}
		if then, ok := when.within(held); ok {
			c.last = int32(at)
			o.root(a, c, then)
			r := &o.roots[len(o.roots)-1]
			r.heldLo, r.heldHi = held.heldLo, held.heldHi
		}
	}
	if hi == Never {
		if lo > -Never {
			when, _ = when.within(guard{sinceLo: -Never, sinceHi: Never, heldLo: at, heldHi: Never})
		}
		when.forget(heldClock)
		when.between(heldClock, 0, button.lasting-1)
		when.close()
		c.last, c.unsure = 0, true
		o.root(a, c, when)
	}
	return []occurrence{o}
}
