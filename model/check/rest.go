package check

import (
	"slices"
	"time"
)

// Times are how long a prop can take to come to rest, in the worst case over
// all configurations that can come about, timers drawn as late as they can be.
type Times struct {
	// Stop is from the stop button, tapped once, to rest. It is known where Stops: there is no configuration from which stop may not lead to
	// rest.
	Stop  time.Duration
	Stops bool

	// Alone is from any moment on, if nobody does anything any more, to rest. A
	// release that the prop waits for is still something that
	// somebody does. It is known where Rests: the prop comes to rest by itself
	// from every configuration.
	Alone time.Duration
	Rests bool
}

// Rest finds how long the prop can take to come to rest. The error is as that
// of Check.
func (s *Study) Rest() (Times, error) { return rest.Of(s) }

var rest = NewPart(func(s *Study) (Times, error) {
	x, err := explored.Of(s)
	if err != nil {
		return Times{}, err
	}
	t := x.rest()
	if len(restless(s.Design)) > 0 { // then nothing can be promised
		t.Stops, t.Rests = false, false
	}
	return t, x.tooLarge(nil)
})

func (x *exploration) rest() (t Times) {
	d := x.program.Design
	if stop, ok := x.program.Button(d.Remote.Stop); ok {
		t.Stops = true
		for _, w := range x.stopper(stop).stops() {
			t.Stop = max(t.Stop, ms(w.took))
			t.Stops = t.Stops && !w.roams
		}
	}
	t.Alone, t.Rests = x.lonely().longest()
	return t
}

func ms(n int64) time.Duration { return time.Duration(n) * time.Millisecond }

// latest is how late rest comes from a configuration that surely rests: the
// greatest reading of its clock, if that counted on. The clock is held while a
// press is going on, which in a quiet graph is that of the stop button and as
// old as everything that came of it, and else since. way is the number of the
// edge to it, counted in the configuration's own; -1 where rest is in the
// configuration's state.
func (s *stopper) latest(i int) (at int64, way int) {
	n := &s.quiet.configurations[i]
	if s.x.rests(n.state) && s.woken(i) == -far {
		if at = s.x.modes[n.state].rest; n.button >= 0 {
			at += n.diffHi
		}
		return at, -1
	}
	return s.fate(i).at, s.fate(i).way
}

// woken is latest of a configuration in a state of rest from which a release
// leads to a later rest; -far where none does.
func (s *stopper) woken(i int) int64 {
	if s.atRest(i) {
		return -far
	}
	return s.fate(i).at
}

// late works latest out, which is known of all that the configuration leads to;
// of one in a state of rest it works out woken.
func (s *stopper) late(i int) (at int64, way int) {
	at, way = -far, -1
	vias := s.quiet.vias(i)
	for k, e := range s.ways(i) {
		if t := s.lateBy(i, &vias[k], int(e.to)); t > at {
			at, way = t, k
		}
	}
	return at, way
}

// lateBy is late, the prop going on to another configuration by a step.
func (s *stopper) lateBy(i int, via *step, to int) int64 {
	from, next := &s.quiet.configurations[i], &s.quiet.configurations[to]
	pressed, stillPressed := from.button >= 0, next.button >= 0
	on, _ := s.latest(to)
	switch {
	case s.x.rests(from.state) && stillPressed:
		return s.woken(to)
	case s.x.rests(from.state) && (!via.enters || s.x.modes[next.state].rest == 0):
		return -far // it rests on
	case pressed && stillPressed:
		return on // the same clock
	case pressed:
		return via.when.heldHi + on - next.since
	case via.enters:
		return via.when.sinceHi + on
	}
	return on // the same clock
}

// slowness is how long rest takes from a root at most.
func (s *stopper) slowness(root int) int64 {
	at, _ := s.latest(root)
	if n := &s.quiet.configurations[root]; n.button < 0 {
		at -= n.since
	}
	return max(0, at)
}

// A stopping is the worst that can come of stop in one state.
type stopping struct {
	slowest pressed // to rest, of those that lead there
	took    int64
	roams   bool // it need not lead to rest
	deaf    bool // it does nothing

	// failing is the first that roams or is deaf; of the two in one
	// configuration the first.
	failing pressed
	heard   bool // failing is not deaf
}

// pressed is stop, pressed in a configuration, and one that it leads to in
// quiet.
type pressed struct {
	configuration, root int
	via                 step
}

// stops gives the worst of each state.
func (s *stopper) stops() []stopping {
	if s.worst != nil {
		return s.worst
	}
	s.worst = make([]stopping, len(s.x.modes))
	for i := range s.x.all.configurations {
		o, ok := s.press(i)
		if !ok {
			continue
		}
		w := &s.worst[s.x.all.configurations[i].state]
		failed := w.roams || w.deaf
		for _, root := range s.roots(o) {
			p := pressed{i, root, o.via}
			if !s.surelyRests(root) {
				if w.roams = true; !failed {
					w.failing, w.heard, failed = p, true, true
				}
			} else if took := s.slowness(root); took > w.took {
				w.slowest, w.took = p, took
			}
		}
		if s.isDeaf(i) {
			if w.deaf = true; !failed {
				w.failing = pressed{i, -1, o.via}
			}
		}
	}
	return s.worst
}

// slowest is the way of latest from a root, each step as late as that
// has it, and press, the step before it.
func (s *stopper) slowest(press step, root int) []step {
	n := &s.quiet.configurations[root]
	if n.button < 0 && !press.enters {
		press.when.sinceLo, press.when.sinceHi = n.since, n.since
	}
	hs := []step{press}
	for i := root; ; {
		_, k := s.latest(i)
		if k < 0 {
			return hs
		}
		to := int(s.ways(i)[k].to)
		h := s.quiet.vias(i)[k]
		from, next := &s.quiet.configurations[i], &s.quiet.configurations[to]
		switch {
		case from.button >= 0 && next.button >= 0 && !s.ends(to):
		case from.button >= 0:
			h.when.heldLo = h.when.heldHi
			if !h.enters {
				h.when.sinceLo, h.when.sinceHi = next.since, next.since
			}
		case h.enters:
			h.when.sinceLo = h.when.sinceHi
		}
		hs = append(hs, h)
		i = to
	}
}

// ends reports whether the way of latest ends in a configuration.
func (s *stopper) ends(i int) bool {
	_, way := s.latest(i)
	return way < 0
}

// A lonely finds out what comes of leaving the prop alone, in every configuration
// in which no press is going on.
type lonely struct {
	*stopper
	roots []int // [number in all] in quiet, -1: a press is going on

	// from is, for each configuration in quiet that is not at rest, the one before
	// it on a shortest way from power-up, or -1-i where it is configuration i of
	// all.
	from  []int
	order []int // by the length of that way
}

// lonely is the one that all rules share.
func (x *exploration) lonely() *lonely {
	if x.leaving == nil {
		x.leaving = newLonely(x)
	}
	return x.leaving
}

func newLonely(x *exploration) *lonely {
	l := &lonely{stopper: newStopper(x, -1)}
	l.roots = make([]int, len(x.all.configurations))
	depth := make([]int, len(x.all.configurations)) // steps
	for i := range x.all.configurations {
		n := &x.all.configurations[i]
		if n.parent >= 0 {
			depth[i] = depth[n.parent] + 1
		}
		l.roots[i] = -1
		if n.button < 0 {
			l.roots[i] = l.quiet.add(n.location, n.zone, -1)[0]
		}
	}
	// Breadth first from all of them, each beginning at its own depth.
	var layer []int
	visit := func(i, from int) {
		for len(l.from) < len(l.quiet.configurations) {
			l.from = append(l.from, unseen)
		}
		if l.from[i] == unseen && !l.atRest(i) {
			l.from[i] = from
			layer = append(layer, i)
		}
	}
	for d, next := 0, 0; next < len(depth) || len(layer) > 0; d++ {
		for ; next < len(depth) && depth[next] == d; next++ {
			if l.roots[next] >= 0 {
				visit(l.roots[next], -1-next)
			}
		}
		now := layer
		layer = nil
		l.order = append(l.order, now...)
		for _, i := range now {
			for _, e := range l.ways(i) {
				visit(int(e.to), i)
			}
		}
	}
	return l
}

// unseen is not a number of a configuration, nor -1 less one.
const unseen = int(far)

// longest is the worst case of all configurations; false where the prop need not
// come to rest.
func (l *lonely) longest() (time.Duration, bool) {
	var worst int64
	for _, root := range l.roots {
		if root < 0 {
			continue
		}
		if !l.surelyRests(root) {
			return 0, false
		}
		worst = max(worst, l.slowness(root))
	}
	return ms(worst), true
}

// way is a shortest way from power-up to a configuration in quiet.
func (l *lonely) way(i int) []step {
	var hs []step
	for l.from[i] >= 0 {
		before := l.from[i]
		hs = append(hs, l.via(before, i))
		i = before
	}
	slices.Reverse(hs)
	return append(l.x.path(-1-l.from[i]), hs...)
}

// via is what leads from a configuration to the next.
func (s *stopper) via(from, to int) step {
	k := slices.IndexFunc(s.ways(from), func(e edge) bool { return int(e.to) == to })
	return s.quiet.vias(from)[k]
}

// circles gives the sets of configurations that the prop can go around in for
// ever, left alone; those it can go around in no time only if instant.
func (l *lonely) circles(instant bool) [][]int {
	awake := func(i int) []edge {
		if l.atRest(i) {
			return nil
		}
		return l.quiet.next(i)
	}
	use := func(e edge) bool { return e.instant || !instant }
	return slices.DeleteFunc(components(len(l.quiet.configurations), awake, use), func(c []int) bool {
		return !circular(c, awake, use)
	})
}
