package check

import (
	"slices"

	"propwright/model/machine"
)

// A question asks an aftermath when one of a set of states is entered.
type question struct {
	*aftermath
	asked func(machine.StateID) (after int64, ok bool) // see required.asked
	least []int64                                      // of sequels: until one is entered, at the earliest; far: never
	most  map[int]delay                                // of sequels: until one is entered, at the latest; far: it need not be
}

// A delay is how long a sequel can take.
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
		end = end && q.lasts(w.to, after)
	}
	if !end {
		after = 0
	}
	switch {
	case !end && !q.sequels[w.to].anew():
		return 0, false // the clock counts on
	case most:
		return w.hi + after, end
	}
	return w.lo + after, end
}

// lasts reports whether the state of a sequel that was just entered lasts longer
// than a time, as far as the release is concerned that is to come.
func (q *question) lasts(i int, time int64) bool {
	s := &q.sequels[i]
	_, held := s.reading(heldClock)
	return time == 0 || s.button < 0 || s.releaseLo-held > time
}

// fromRoot is the time of latest from a sequel that an event leads to, where
// what is asked for may be on its way.
func (q *question) fromRoot(i int) int64 {
	s := &q.sequels[i]
	if after, ok := q.asked(s.state); ok && after > 0 && q.lasts(i, after) {
		since, _ := s.reading(sinceClock)
		return max(0, after-since)
	}
	return q.latest(i).time
}

// earliest finds the least times of all sequels that the roots lead to.
func (q *question) earliest(roots []int) {
	before := map[int][]int{}
	reached := map[int]bool{}
	todo := slices.Clone(roots)
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
	q.least = slices.Repeat([]int64{far}, len(q.sequels))
	for i := range q.sequels {
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

// soonest is the way from a sequel that comes first to a state asked for.
func (q *question) soonest(i int) (time int64, best *way) {
	time = far
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

// latest is how long it takes from a sequel to a state asked for in the worst
// case. A circle that goes around it has no end: far.
func (q *question) latest(i int) delay {
	if l, ok := q.most[i]; ok {
		return l // far where i is on the way that is being looked at
	}
	q.most[i] = delay{far, -1}
	worst := delay{far, -1} // nothing happens any more
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

// mostHappenings bounds a witness.
const mostHappenings = 2000

// quickest is the way of soonest to its end.
func (q *question) quickest(root int) []step {
	var hs []step
	for i := root; len(hs) < mostHappenings; {
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
	endless := q.latest(root).time == far
	passed := int64(0)
	for i := root; len(hs) < mostHappenings; {
		k := q.latest(i).way
		if k < 0 {
			return hs, true
		}
		w := &q.next(i)[k]
		hs = append(hs, w.via)
		t, end := q.time(w, true)
		if end || endless && passed+w.hi > longer {
			return hs, false
		}
		passed += t
		i = w.to
	}
	return nil, false
}
