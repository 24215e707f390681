package timed

import (
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// A Goal is a set of states to be entered; the nil Goal is rest.
type Goal func(machine.StateID) bool

// Delays are the times from an event to a goal, for every way in which the event can
// happen, if nobody does anything more: a button that is down is let go after the
// last frame that has come.
type Delays struct {
	*question
	occurrences []occurrence
}

// Delays looks for every way in which an event can happen.
func (x *Space) Delays(on model.Trigger, to Goal) *Delays {
	d := &Delays{question: &question{responses: x.responses, to: to, most: map[int]delay{}}}
	d.full = false
	for i := range x.all.configurations {
		d.occurrences = append(d.occurrences, d.happen(i, on)...)
	}
	return d
}

// A Response is a way in which an event can happen, with what comes of it. The event
// of its run is that event.
type Response struct {
	State  machine.StateID // to which the event comes, perhaps after another one of its step
	AtOnce bool            // the event itself leads to the goal
	Time   int64           // from the event to the goal, in milliseconds; Never where it need not come
	Run    Run             // until the goal is entered, or too late is; the zero Run where that is too long to be shown
}

// response is one whose run goes on from an event by steps, unless these are not
// whole, at the least and the most milliseconds after it.
func (d *Delays) response(o *occurrence, time int64, event step, steps []step, whole bool, least, most int64) *Response {
	r := &Response{State: o.before, Time: time}
	if whole {
		r.Run = Run{x: d.x, at: o.configuration, steps: append([]step{event}, steps...), event: 1, least: least, most: most}
	}
	return r
}

// Within is the first response, that with the fewest steps until the event, in which
// the goal can be entered in some time; nil where there is none. It is not known where
// more has to be looked at than the options allow.
func (d *Delays) Within(limit int64) (r *Response, known bool) {
	if d.findLeast(); d.full {
		return nil, false
	}
	for i := range d.occurrences {
		o := &d.occurrences[i]
		if d.comes(o.entered) {
			r := d.response(o, 0, o.via, nil, true, 0, limit)
			r.AtOnce = true
			return r, true
		}
		for _, root := range o.roots {
			if t, _ := d.soonest(root.configuration); t <= limit {
				hs := d.quickest(root.configuration)
				return d.response(o, t, o.at(root), hs, hs != nil, 0, t), true
			}
		}
	}
	return nil, true
}

// Beyond is the first response in which the goal is not there at the event and need
// not be entered in some time; nil where there is none. It is not known where more
// has to be looked at than the options allow.
func (d *Delays) Beyond(limit int64) (r *Response, known bool) {
	for i := range d.occurrences {
		o := &d.occurrences[i]
		if d.isThere(o) {
			continue
		}
		for _, root := range o.roots {
			t := d.fromRoot(root.configuration)
			if d.full {
				return nil, false
			}
			if t <= limit {
				continue
			}
			hs, still := d.slowest(root.configuration, limit)
			least := t
			switch {
			case t < Never:
			case still: // nothing happens any more, and the time goes by
				least = 0
			default:
				least = limit + 1
			}
			return d.response(o, t, o.at(root), hs, hs != nil || still, least, Never), true
		}
	}
	return nil, true
}

// Least is the response in which the goal is entered soonest after the event, nil
// where it never is, or at once.
func (d *Delays) Least() (least *Response) {
	d.findLeast()
	for i := range d.occurrences {
		o := &d.occurrences[i]
		for _, root := range o.roots {
			t, _ := d.soonest(root.configuration)
			if t == Never || least != nil && t >= least.Time {
				continue
			}
			if hs := d.quickest(root.configuration); hs != nil {
				least = d.response(o, t, o.at(root), hs, true, 0, t)
			}
		}
	}
	return least
}

// Most is the response in which the goal is not there at the event and is entered
// latest, of those in which it must be; nil where there is none.
func (d *Delays) Most() (most *Response) {
	for i := range d.occurrences {
		o := &d.occurrences[i]
		if d.isThere(o) {
			continue
		}
		for _, root := range o.roots {
			t := d.fromRoot(root.configuration)
			if t == Never || most != nil && t <= most.Time {
				continue
			}
			if hs, _ := d.slowest(root.configuration, t); hs != nil {
				most = d.response(o, t, o.at(root), hs, true, t, Never)
			}
		}
	}
	return most
}

// A question asks when a goal is entered.
type question struct {
	*responses
	to    Goal
	least []int64       // of configurations: until it is entered, at the earliest; Never: it is not
	most  map[int]delay // of configurations: until it is entered, at the latest; Never: it need not be
}

// asked reports whether a state is one of the goal, and how long after it was entered
// what is asked for is there, in milliseconds: with rest, until the prop is at rest.
func (q *question) asked(s machine.StateID) (after int64, ok bool) {
	if q.to == nil {
		return q.x.modes[s].rest, q.x.rests(s)
	}
	return 0, q.to(s)
}

// comes reports whether one of the states is asked for.
func (q *question) comes(states []machine.StateID) bool {
	return slices.ContainsFunc(states, func(s machine.StateID) bool { _, ok := q.asked(s); return ok })
}

// isThere reports whether the goal is there when an event has happened.
func (q *question) isThere(o *occurrence) bool {
	if q.to == nil { // a state that is left at once is not rest
		after, ok := q.asked(o.via.state)
		return ok && after == 0
	}
	return q.comes(o.entered) || q.comes(o.there) || q.comes([]machine.StateID{o.via.state})
}

// A delay is how long a configuration can take.
type delay struct {
	time int64
	way  int // the number of the way that takes as long, -1: none is left
}

// time is what a way adds to the time until a state asked for is entered; in
// the end, where it enters one.
func (q *question) time(w *way, most bool) (t int64, end bool) {
	after := int64(0)
	if w.via.enters {
		after, end = q.asked(w.via.state)
		end = end && q.lasts(w.to, sinceClock, after)
	}
	if !end {
		after = 0
	}
	switch {
	case !end && !q.renews(w):
		return 0, false // the clock counts on
	case most:
		return w.via.when.eventHi + after, end
	}
	return w.via.when.eventLo + after, end
}

// lasts reports whether a configuration lasts longer than a time after it was come to,
// as far as the release is concerned that is to come; clock read 0 then.
func (q *question) lasts(i, clock int, time int64) bool {
	n := q.at(i)
	return time == 0 || n.button < 0 || q.letGoBy(&n.location)-n.zone[heldClock][clock] > time
}

// fromRoot is the time of latest from a configuration that an event leads to, where
// what is asked for may be on its way.
func (q *question) fromRoot(i int) int64 {
	n := q.at(i)
	if after, ok := q.asked(n.state); ok && after > 0 && q.lasts(i, eventClock, after) {
		return max(0, after-n.lo(sinceClock))
	}
	return q.latest(i).time
}

// findLeast finds the least times of all configurations that the occurrences lead to.
func (d *Delays) findLeast() {
	q := d.question
	before := map[int][]int{}
	reached := map[int]bool{}
	var todo []int
	for _, o := range d.occurrences {
		for _, root := range o.roots {
			todo = append(todo, root.configuration)
		}
	}
	for len(todo) > 0 {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if reached[i] {
			continue
		}
		reached[i] = true
		for _, w := range q.next(i) {
			before[w.to] = append(before[w.to], i)
			todo = append(todo, w.to)
		}
	}
	q.least = slices.Repeat([]int64{Never}, len(q.configurations))
	for i := range q.configurations {
		if reached[i] {
			todo = append(todo, i)
		}
	}
	// A time that has become less may make those before it less too.
	for len(todo) > 0 {
		i := todo[0]
		todo = todo[1:]
		t, _ := q.soonest(i)
		if t >= q.least[i] {
			continue
		}
		q.least[i] = t
		todo = append(todo, before[i]...)
	}
}

// soonest is the way from a configuration that comes first to a state asked for.
func (q *question) soonest(i int) (time int64, best *way) {
	time = Never
	ways := q.next(i)
	for k := range ways {
		t, end := q.time(&ways[k], false)
		if !end {
			t = bound(t + q.least[ways[k].to])
		}
		if t < time {
			time, best = t, &ways[k]
		}
	}
	return time, best
}

// latest is how long it takes from a configuration to a state asked for in the worst
// case. A circle that goes around it has no end: Never.
func (q *question) latest(i int) delay {
	if l, ok := q.most[i]; ok {
		return l // Never where i is on the way that is being looked at
	}
	q.most[i] = delay{Never, -1}
	worst := delay{Never, -1} // nothing happens any more
	for k := range q.next(i) {
		w := &q.next(i)[k]
		t, end := q.time(w, true)
		if !end {
			t = bound(t + q.latest(w.to).time)
		}
		if k == 0 || t > worst.time {
			worst = delay{t, k}
		}
	}
	q.most[i] = worst
	return worst
}

// mostSteps bounds a witness.
const mostSteps = 2000

// quickest is the way of soonest to its end.
func (q *question) quickest(root int) []step {
	var hs []step
	for i := root; len(hs) < mostSteps; {
		_, w := q.soonest(i)
		hs = append(hs, w.via)
		if _, end := q.time(w, false); end {
			return hs
		}
		i = w.to
	}
	return nil
}

// slowest is the way of latest to its end or, where that has none, until more
// than a time has passed; still where nothing happens any more before that.
func (q *question) slowest(root int, longer int64) (hs []step, still bool) {
	endless := q.latest(root).time == Never
	passed := int64(0)
	for i := root; len(hs) < mostSteps; {
		k := q.latest(i).way
		if k < 0 {
			return hs, true
		}
		w := &q.next(i)[k]
		hs = append(hs, w.via)
		t, end := q.time(w, true)
		if end || endless && passed+w.via.when.eventHi > longer {
			return hs, false
		}
		passed += t
		i = w.to
	}
	return nil, false
}
