package timed

import (
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// An aftermath is what can come of events if nobody does anything more: a
// button that is down is let go. It counts the time from the event on.
type aftermath struct {
	x       *Space
	sequels []sequel
	ways    [][]way // of sequels, nil before they were looked for
	index   map[sequel]int
	full    bool // there were more to look for than the options allow
}

// A sequel is a configuration after an event. Where a state has just been entered
// and no release is to come, nothing that was before counts: there the clocks
// start again, so that a sequel is one however it comes about.
type sequel struct {
	location
	clocks
	releaseLo, releaseHi int64 // when the press going on is released, by heldClock
}

// anew reports whether a sequel starts again.
func (s *sequel) anew() bool { return s.clocks == clocks{} && s.button < 0 }

// A way leads from one sequel to the next.
type way struct {
	to     int
	lo, hi int64 // when: the time since the event, or since the last sequel that began anew
	via    step
}

// An occurrence is one way in which an event can happen.
type occurrence struct {
	configuration int             // in Space.all
	before        machine.StateID // the event comes to it, perhaps after another one of its step
	via           step
	entered       []machine.StateID // by the event, and by what follows it in its frame
	there         []machine.StateID // right after an outside event, before what follows it in its frame
	roots         []root            // what it leads to
}

// A root is a sequel that an event leads to.
type root struct {
	sequel         int
	heldLo, heldHi int64 // when in the press going on the event happens
}

// at is the step of an occurrence that leads to a root.
func (o *occurrence) at(r root) step {
	h := o.via
	h.when.heldLo, h.when.heldHi = max(h.when.heldLo, r.heldLo), min(h.when.heldHi, r.heldHi)
	return h
}

func newAftermath(x *Space) *aftermath {
	return &aftermath{x: x, index: map[sequel]int{}}
}

func (a *aftermath) add(s sequel) int {
	s.levels = 0 // inputs change no more
	if i, ok := a.index[s]; ok {
		return i
	}
	i := len(a.sequels)
	a.index[s] = i
	a.sequels = append(a.sequels, s)
	a.ways = append(a.ways, nil)
	return i
}

// next are the ways on from a sequel; none where there are too many sequels.
func (a *aftermath) next(i int) []way {
	if a.ways[i] == nil {
		if len(a.sequels) >= a.x.options.After {
			a.full = true
			return nil
		}
		a.ways[i] = a.expand(a.sequels[i])
	}
	return a.ways[i]
}

func (a *aftermath) expand(s sequel) []way {
	x, n := a.x, configuration{location: s.location}
	n.since, _ = s.reading(sinceClock)
	r := &x.modes[n.state]
	ways := []way{}
	lead := func(c location, when clocks, via step) {
		via.state = c.state
		lo, hi := when.reading(eventClock)
		next := sequel{location: c, clocks: when, releaseLo: s.releaseLo, releaseHi: s.releaseHi}
		ways = append(ways, way{a.add(next.settled(via.enters)), lo, hi, via})
	}
	due, last := n.due(r), n.lasts(r)
	inside := s.clocks
	if n.arrival == byDeferral {
		inside.run(1) // in a later step
	} else {
		inside.run(0)
	}
	raw := constraint{-Never, last, -Never, Never}
	if s.button >= 0 { // outside events come first
		raw.heldHi = s.releaseHi - 1
		inside.between(heldClock, -Never, raw.heldHi)
	}
	if when := inside; due < Never {
		when.between(sinceClock, due, min(due, last))
		if when.close() {
			c, via := n.location, step{kind: doneHappens, when: raw.sinceAt(due)}
			via.enters = x.ends(&c)
			lead(c, when, via)
		}
	}
	x.goOff(&n, raw, func(c location, via step) bool {
		when := inside
		when.between(sinceClock, via.when.sinceLo, via.when.sinceHi)
		if when.close() {
			lead(c, when, via)
		}
		return true
	})
	if s.button >= 0 {
		via := step{kind: releaseHappens, event: x.buttons[s.button].release, when: raw}
		via.when.heldLo, via.when.heldHi = s.releaseLo, s.releaseHi
		when := s.clocks
		when.run(1) // in a later step
		when.between(sinceClock, -Never, last)
		when.between(heldClock, s.releaseLo, s.releaseHi)
		if s.releaseLo < s.releaseHi { // which frame was the last is not known
			via.when.heldLo, via.when.heldHi = -Never, Never
		}
		if when.close() {
			c := n.location
			via.enters, via.through = x.events(&c, x.letGo(&c))
			lead(c, when, via)
		}
	}
	return ways
}

// settled is the sequel after a state was entered, or not.
func (s sequel) settled(enters bool) sequel {
	if enters {
		s.restart(sinceClock)
	}
	if s.button < 0 {
		s.releaseLo, s.releaseHi = 0, 0
		s.set(heldClock, eventClock)
		if enters {
			s.clocks = clocks{}
		}
	}
	return s
}

// happen lists the ways in which an event can happen in a configuration.
func (a *aftermath) happen(i int, on model.Trigger) []occurrence {
	x, n := a.x, a.x.all.configurations[i]
	e, outside := x.program.Event(on)
	switch on.Kind {
	case model.Rise, model.Fall:
		if edge, _ := x.edge(e); !outside || !n.levels.takes(edge) {
			return nil
		}
		var os []occurrence
		if when, ok := n.within(x.all.soon(&n, false)); ok {
			c := n.location
			o := a.occur(i, step{kind: actHappens, event: e}, &c, when, []machine.EventID{e}, 0)
			os = a.settle(o, c, when)
		}
		return append(append(os, a.frame(i, e)...), a.released(i, e)...)
	case model.Press:
		when, ok := n.within(x.all.soon(&n, true))
		if !outside || !ok {
			return nil
		}
		c := n.location
		es := x.letGo(&c)
		o := a.occur(i, step{kind: actHappens, event: e}, &c, when, append(es, e), len(es))
		if button := &x.buttons[e]; button.release >= 0 {
			c.button = int32(e)
			s := sequel{location: c, clocks: clocksAt(when), releaseLo: button.lasting, releaseHi: button.lasting}
			s.restart(heldClock)
			o.root(a, s)
			return []occurrence{o}
		}
		return a.settle(o, c, when)
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
func (a *aftermath) frame(i int, e machine.EventID) []occurrence {
	x, n := a.x, a.x.all.configurations[i]
	if n.button < 0 || int(n.fired) == len(x.buttons[n.button].frames) {
		return nil
	}
	button := &x.buttons[n.button]
	f := button.frames[n.fired]
	when, ok := n.within(x.all.soon(&n, true).heldAt(f.at))
	es, via, k := a.behind(step{kind: holdHappens, event: f.events[0]}, f.events, e)
	if !ok || k < 0 {
		return nil
	}
	c := n.location
	o := a.occur(i, via, &c, when, es, k)
	c.fired = 0
	if button.release < 0 {
		c.button = -1
	}
	s := sequel{location: c, clocks: clocksAt(when), releaseLo: f.at + button.lasting, releaseHi: f.at + button.lasting}
	o.root(a, s)
	return []occurrence{o}
}

// behind gives the events of a step of a press with the one asked about, which is
// number k of them: -1 where it is neither one of them nor an input's edge.
func (a *aftermath) behind(via step, es []machine.EventID, e machine.EventID) (all []machine.EventID, with step, k int) {
	if _, edge := a.x.edge(e); edge {
		via.input = e
		return append(slices.Clone(es), e), via, len(es)
	}
	return es, via, slices.Index(es, e)
}

// root enters a sequel that an occurrence leads to.
func (o *occurrence) root(a *aftermath, s sequel) {
	o.roots = append(o.roots, root{a.add(s.settled(o.via.enters)), -Never, Never})
}

// occur does what outside events of one step do, of which number k is the one
// asked about.
func (a *aftermath) occur(i int, via step, c *location, when bounds, es []machine.EventID, k int) occurrence {
	via.when = when.constraint
	o := occurrence{configuration: i, before: c.state, via: via}
	for j, e := range es {
		at := c.state
		enters := a.x.event(c, e)
		if j == k {
			o.before = at
			o.there = []machine.StateID{c.state}
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
	o.via.state = c.state
	return o
}

// released is the event in the step of the release of the button that is down, by
// itself: that release, or an input's edge behind it. It comes at any of the times
// that are a whole number of frames after the button's last hold.
func (a *aftermath) released(i int, e machine.EventID) []occurrence {
	x, n := a.x, a.x.all.configurations[i]
	if n.button < 0 || x.buttons[n.button].release < 0 {
		return nil
	}
	soon := x.all.soon(&n, true)
	button := &x.buttons[n.button]
	if n.held > -Never {
		soon.heldLo = max(soon.heldLo, x.firstRelease(&n))
	}
	when, ok := n.within(soon)
	if !ok {
		return nil
	}
	whens := []bounds{when}
	if n.held > -Never && when.heldHi < Never {
		whens = nil
		for at := x.firstRelease(&n); at <= when.heldHi; at = button.frameFrom(at-button.lasting+1) + button.lasting {
			if w, ok := n.within(soon.heldAt(at)); ok {
				whens = append(whens, w)
			}
		}
	}
	var os []occurrence
	for _, when := range whens {
		c := n.location
		es, via, k := a.behind(step{kind: releaseHappens, event: button.release}, x.letGo(&c), e)
		os = append(os, a.settle(a.occur(i, via, &c, when, es, k), c, when)...)
	}
	return os
}

// done is the end of the routine, also of one that nobody waits for.
func (a *aftermath) done(i int) []occurrence {
	x, n := a.x, a.x.all.configurations[i]
	length := x.program.Length[n.state]
	if length < 0 || n.ended || n.deferred != nowhere {
		return nil
	}
	if n.arrival == byDone || n.arrival == byAfter {
		length = max(length, 1)
	}
	when, ok := n.within(x.all.limits(&n).sinceAt(length))
	if !ok {
		return nil
	}
	c, o := n.location, occurrence{configuration: i, before: n.state, via: step{kind: doneHappens, when: when.constraint}}
	if x.modes[n.state].length >= 0 && x.ends(&c) {
		o.via.enters, o.entered = true, []machine.StateID{c.state}
	}
	o.via.state = c.state
	return a.settle(o, c, when)
}

// after is a timer's going off.
func (a *aftermath) after(i int, on model.Trigger) []occurrence {
	x, n := a.x, a.x.all.configurations[i]
	r := &x.modes[n.state]
	var os []occurrence
	x.goOff(&n, x.all.limits(&n), func(c location, via step) bool {
		t := &r.timers[via.timer]
		when, ok := n.within(via.when)
		if !ok || t.Lo != machine.Millis(on.After.Lo) || t.Hi != machine.Millis(on.After.Hi) {
			return true
		}
		via.when = when.constraint
		o := occurrence{configuration: i, before: n.state, via: via}
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
func (a *aftermath) settle(o occurrence, c location, when bounds) []occurrence {
	s := sequel{location: c, clocks: clocksAt(when)}
	if c.button < 0 || a.x.buttons[c.button].release < 0 {
		s.button, s.fired = -1, 0
		o.root(a, s)
		return []occurrence{o}
	}
	button := &a.x.buttons[c.button]
	s.fired = 0
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
	if when.heldHi == Never { // beyond this nothing is known but that it is down
		last = min(last, first+button.lasting)
	}
	at := first
	for ; when.heldLo > -Never && at <= min(last, when.heldHi); at = button.frameFrom(at + 1) {
		t := s
		t.between(heldClock, at, at+button.lasting-1)
		if t.close() {
			t.releaseLo, t.releaseHi = at+button.lasting, at+button.lasting
			o.root(a, t)
			r := &o.roots[len(o.roots)-1]
			r.heldLo, r.heldHi = at, at+button.lasting-1
		}
	}
	if when.heldHi == Never {
		if when.heldLo > -Never {
			s.between(heldClock, at, Never)
			s.close()
		}
		s.restart(heldClock)
		s.releaseLo, s.releaseHi = 1, button.lasting
		o.root(a, s)
	}
	return []occurrence{o}
}
