package timed

import (
	"math"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// Delays are the times from an event to a goal, for every way in which the event can
// happen without further acts: a button that is down is let go after the
// last frame that has come.
//
// The goal is that one of some states is entered, or that the prop comes to rest. Rest
// is not reached before the button is let go where its release leads out of rest
// again, or to a state in which outputs have to settle; until then the prop may go
// from one state of rest to another.
type Delays struct {
	*responses
	happen func(i int) []occurrence   // the ways in which the event can happen in configuration i of all
	goal   func(machine.StateID) bool // nil: rest
	most   []delay                    // by configuration, see latest
	least  map[int]delay              // by configuration, see findLeast
	looked int                        // configurations
	limit  int                        // of them
}

// Delays asks for the times from an event until one of some states is entered or, if
// goal is nil, to rest. It looks at no more than limit configurations: see Full.
func (x *Space) Delays(on model.Trigger, goal func(machine.StateID) bool, limit int) *Delays {
	d := &Delays{responses: x.responses, goal: goal, limit: limit}
	d.happen = func(i int) []occurrence { return d.responses.happen(i, on) }
	return d
}

// Alone asks for the times from any moment on at which no press is going on, to rest.
func (x *Space) Alone() *Delays {
	d := &Delays{responses: x.responses, limit: math.MaxInt}
	d.happen = func(i int) []occurrence {
		n := x.all.at(i)
		if n.button >= 0 {
			return nil
		}
		// The earliest moment is the worst.
		first, _ := n.within(guard{sinceLo: -Never, sinceHi: n.lo(sinceClock), heldLo: -Never, heldHi: Never})
		o := occurrence{configuration: i, before: n.state}
		o.root(d.responses, n.location, first)
		return []occurrence{o}
	}
	return d
}

// Full reports whether there was more to look at than the limit: then the responses
// end early.
func (d *Delays) Full() bool { return d.looked > d.limit }

// A Response is a way in which an event can happen, with its results.
type Response struct {
	Configuration int             // in which the event happens
	State         machine.StateID // to which the event comes, perhaps after another one of its step
	Ended         bool            // the routine of that state has ended by then
	AtOnce        bool            // the goal is there at the event
	Time          int64           // from the event to the goal, in milliseconds; Never where it need not come

	Event Run // that ends with the event

	d    *Delays
	root int
	soon bool // Time is the least that it can take, not the most
}

// each gives a response for each way in which the event can happen, in order of
// how few steps lead to it, until yield returns false; tell tells AtOnce and Time.
func (d *Delays) each(tell func(o *occurrence, root int) (atOnce bool, time int64), yield func(Response) bool) {
	for i := range d.x.all.configurations {
		for _, o := range d.happen(i) {
			for _, r := range o.roots {
				atOnce, time := tell(&o, r.configuration)
				event := Run{x: d.x, at: i, steps: []step{o.at(r)}, event: 1, most: Never}
				if d.Full() || !yield(Response{i, o.before, o.ended, atOnce, time, event, d, r.configuration, d.least != nil}) {
					return
				}
			}
		}
	}
}

// Latest gives a response for each way in which the event can happen, in order of how
// few steps lead to it, with the most time that it can take to the goal.
func (d *Delays) Latest(yield func(Response) bool) {
	d.each(func(o *occurrence, root int) (atOnce bool, time int64) {
		if d.goal != nil && (d.enters(o) || d.goal(o.via.state) || o.there != nowhere && d.goal(o.there)) {
			return true, 0
		}
		time = d.latest(root).time
		if time == -Never {
			n := d.at(root)
			time = max(0, d.x.modes[n.state].rest-n.lo(sinceClock))
			return time == 0, time
		}
		return false, time
	}, yield)
}

// Soonest is Latest with the least time to the entry of a state; AtOnce, the event
// itself leads to it.
func (d *Delays) Soonest(yield func(Response) bool) {
	if d.findLeast(); d.Full() {
		return
	}
	d.each(func(o *occurrence, root int) (atOnce bool, time int64) {
		if d.enters(o) {
			return true, 0
		}
		return false, d.least[root].time
	}, yield)
}

// enters reports whether an occurrence itself leads to a state asked for.
func (d *Delays) enters(o *occurrence) bool { return slices.ContainsFunc(o.entered, d.goal) }

// Run is a run until the goal is there or, where it need not come, until it has not for
// longer than some milliseconds; the zero Run where it is too long to be shown. Its
// event is the response's.
func (r *Response) Run(longer int64) Run {
	run := r.Event
	run.steps = slices.Clip(run.steps)
	switch {
	case r.soon && r.AtOnce:
		run.most = longer
	case r.soon:
		run.most = r.Time
		steps := r.d.quickest(r.root)
		if steps == nil {
			return Run{}
		}
		run.steps = append(run.steps, steps...)
	default:
		steps, passed, ok := r.d.slowest(r.root, longer)
		if !ok {
			return Run{}
		}
		run.steps, run.least = append(run.steps, steps...), passed
	}
	return run
}

// rests reports whether a state is one in which the prop comes to rest.
func (x *Space) rests(s machine.StateID) bool { return x.modes[s].rest < Never }

// isRest reports whether rest is asked for and a configuration's state is one of rest.
func (d *Delays) isRest(i int) bool { return d.goal == nil && d.x.rests(d.configurations[i].state) }

// isPressed reports whether the release of a button is to come in a configuration.
func (d *Delays) isPressed(i int) bool { return d.configurations[i].button >= 0 }

// follows reports whether the prop is looked at on a way on. From rest that is the
// release of the button that is down and, before it, what leads to rest.
func (d *Delays) follows(i int, kind stepKind, to int) bool {
	return !d.isRest(i) || d.isPressed(i) && (kind == releaseHappens || d.isRest(to))
}

// ways are the ways on from a configuration that are looked at.
func (d *Delays) ways(i int) []way {
	if d.isRest(i) && !d.isPressed(i) {
		return nil
	}
	return slices.DeleteFunc(d.responses.ways(i), func(w way) bool { return !d.follows(i, w.via.kind, w.to) })
}

// A delay is how long a configuration can take to the goal.
type delay struct {
	time int64 // Never: the goal need not come; -Never: it is there, the prop being at rest for good
	way  int32 // the number of the way that takes as long; ended where none does, unknown before it was looked for
}

const (
	ended   = -1
	unknown = -2
)

// isEnd reports whether the goal comes with a way, and how long after it.
func (d *Delays) isEnd(w *way) (after int64, end bool) {
	switch {
	case !w.via.enters:
		return 0, false
	case d.goal != nil:
		return 0, d.goal(w.via.state)
	}
	return d.x.modes[w.via.state].rest, d.isRest(w.to) && (!d.isPressed(w.to) || d.known(w.to).time == -Never)
}

// passes is how long a way takes at the least and at the most: where the event clock
// counts on, nothing.
func (d *Delays) passes(w *way) (least, most int64) {
	if w.via.enters && !d.isPressed(w.to) {
		return w.via.when.eventLo, w.via.when.eventHi
	}
	return 0, 0
}

// late is how long the goal takes from a configuration at most if the prop goes a way,
// of which the delay after it is known.
func (d *Delays) late(i int, w *way) int64 {
	after, end := d.isEnd(w)
	switch {
	case end && d.isRest(i) && (after == 0 || d.isPressed(w.to)):
		return -Never // it rests on
	case end:
		return w.via.when.eventHi + after
	}
	_, most := d.passes(w)
	return bound(most + d.known(w.to).time)
}

// known is the delay of a configuration as far as it is known.
func (d *Delays) known(i int) *delay {
	for len(d.most) < len(d.configurations) {
		d.most = append(d.most, delay{way: unknown})
	}
	return &d.most[i]
}

// latest is how long the goal takes from a configuration in the worst case. A circle
// that goes around it has no end: Never, even where chance may leave it.
func (d *Delays) latest(root int) delay {
	// Depth first, without recursion: there can be a million on the way.
	type call struct {
		i     int
		ways  []way
		next  int // of ways
		worst delay
	}
	var calls []call
	visit := func(i int) {
		c := call{i: i, worst: delay{-Never, ended}}
		if d.looked++; !d.Full() {
			c.ways = d.ways(i)
		}
		if len(c.ways) == 0 && !d.isRest(i) {
			c.worst.time = Never // nothing happens any more
		}
		*d.known(i) = delay{Never, ended} // for a way that goes around
		calls = append(calls, c)
	}
	if d.known(root).way == unknown {
		visit(root)
	}
	for len(calls) > 0 {
		c := &calls[len(calls)-1]
		if c.next == len(c.ways) || c.worst.time == Never {
			*d.known(c.i) = c.worst
			calls = calls[:len(calls)-1]
			continue
		}
		w := &c.ways[c.next]
		if _, end := d.isEnd(w); !end && d.known(w.to).way == unknown {
			visit(w.to)
			continue
		}
		if t := d.late(c.i, w); t > c.worst.time {
			c.worst = delay{t, int32(c.next)}
		}
		c.next++
	}
	return *d.known(root)
}

// mostSteps bounds a witness that could go on.
const mostSteps = 2000

// slowest is the way of latest to the goal or, where that need not come, until more
// than a time has passed and a rest that a release takes back is over, or nothing happens
// any more; passed is how long it takes at the least. False where there are too many
// steps, or no memory is left.
func (d *Delays) slowest(root int, longer int64) (steps []step, passed int64, ok bool) {
	endless := d.latest(root).time == Never
	for i := root; !endless || len(steps) < mostSteps; {
		k := d.latest(i).way
		if k == ended {
			if endless {
				passed = 0 // the time goes by
			}
			return steps, passed, true
		}
		ways := d.ways(i)
		if ways == nil {
			break // there is no memory left
		}
		w := &ways[k]
		steps = append(steps, w.via)
		_, most := d.passes(w)
		_, end := d.isEnd(w)
		switch {
		case end:
			return steps, passed + w.via.when.eventHi, true
		case endless && passed+w.via.when.eventHi > longer && !d.isRest(w.to):
			return steps, longer + 1, true
		}
		passed += most
		i = w.to
	}
	return nil, 0, false
}

// findLeast finds how long the goal takes from every configuration that the event leads
// to at the least, and the way that is as short.
func (d *Delays) findLeast() {
	type arc struct {
		from int
		way  int32
		time int64 // that it takes
	}
	before := map[int][]arc{}
	d.least = map[int]delay{}
	var todo []int // configurations, first those to be looked at, then those whose time has become less
	for i := range d.x.all.configurations {
		for _, o := range d.happen(i) {
			for _, root := range o.roots {
				todo = append(todo, root.configuration)
			}
		}
	}
	var ends []int
	for len(todo) > 0 && !d.Full() {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if _, seen := d.least[i]; seen {
			continue
		}
		d.looked++
		least := delay{Never, ended}
		for k, w := range d.ways(i) {
			if _, end := d.isEnd(&w); !end {
				time, _ := d.passes(&w)
				before[w.to] = append(before[w.to], arc{i, int32(k), time})
				todo = append(todo, w.to)
			} else if time := w.via.when.eventLo; time < least.time {
				least = delay{time, int32(k)}
			}
		}
		if d.least[i] = least; least.time < Never {
			ends = append(ends, i)
		}
	}
	for todo = ends; len(todo) > 0; todo = todo[1:] {
		for _, a := range before[todo[0]] {
			if t := d.least[todo[0]].time + a.time; t < d.least[a.from].time {
				d.least[a.from] = delay{t, a.way}
				todo = append(todo, a.from)
			}
		}
	}
}

// quickest is the way of findLeast to the goal; nil where there are too many steps, or no memory is left.
func (d *Delays) quickest(root int) (steps []step) {
	for i := root; len(steps) < mostSteps; {
		ways := d.ways(i)
		if ways == nil {
			break // there is no memory left
		}
		w := &ways[d.least[i].way]
		steps = append(steps, w.via)
		if _, end := d.isEnd(w); end {
			return steps
		}
		i = w.to
	}
	return nil
}
