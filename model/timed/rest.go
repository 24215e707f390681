package timed

import (
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// RestTimes gives for each state how long after it was entered the prop is at
// rest in it, in milliseconds; Never where it need not come to rest there.
func RestTimes(p *machine.Program, settle func(machine.StateID) int64) []int64 {
	rest := make([]int64, len(p.Design.States))
	for i := range rest {
		s := machine.StateID(i)
		rest[i] = Never
		if p.Kind(s) != model.Dormant {
			continue
		}
		left := Never // at the earliest, by itself
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
func (x *Space) rests(s machine.StateID) bool { return x.modes[s].rest < Never }

// latest is how late rest comes from a configuration that surely rests: the
// greatest reading of its clock, if that counted on. The clock is held while a
// press is going on, which in a closed graph is that of the stop button and as
// old as everything that came of it, and else since. way is the number of the
// edge to it, counted in the configuration's own; -1 where rest is in the
// configuration's state.
func (s *convergence) latest(i int) (at int64, way int) {
	n := s.graph.at(i)
	if s.x.rests(n.state) && s.woken(i) == -Never {
		if at = s.x.modes[n.state].rest; n.button >= 0 {
			at += n.zone[heldClock][sinceClock]
		}
		return at, -1
	}
	return s.result(i).at, s.result(i).way
}

// woken is latest of a configuration in a state of rest from which a release
// leads to a later rest; -Never where none does.
func (s *convergence) woken(i int) int64 {
	if s.atRest(i) {
		return -Never
	}
	return s.result(i).at
}

// late works latest out, which is known of all that the configuration leads to;
// of one in a state of rest it works out woken.
func (s *convergence) late(i int) (at int64, way int) {
	at, way = -Never, -1
	vias := s.graph.vias(i)
	for k, e := range s.ways(i) {
		if t := s.lateBy(i, &vias[k], int(e.to)); t > at {
			at, way = t, k
		}
	}
	return at, way
}

// lateBy is late, the prop going on to another configuration by a step.
func (s *convergence) lateBy(i int, via *step, to int) int64 {
	from, next := &s.graph.configurations[i], s.graph.at(to)
	pressed, stillPressed := from.button >= 0, next.button >= 0
	on, _ := s.latest(to)
	switch {
	case s.x.rests(from.state) && stillPressed:
		return s.woken(to)
	case s.x.rests(from.state) && (!via.enters || s.x.modes[next.state].rest == 0):
		return -Never // it rests on
	case pressed && stillPressed:
		return on // the same clock
	case pressed:
		return via.when.heldHi + on - next.lo(sinceClock)
	case via.enters:
		return via.when.sinceHi + on
	}
	return on // the same clock
}

// slowness is how long rest takes from a root at most.
func (s *convergence) slowness(root int) int64 {
	at, _ := s.latest(root)
	if n := s.graph.at(root); n.button < 0 {
		at -= n.lo(sinceClock)
	}
	return max(0, at)
}

// A Stop is the worst that can come of tapping the stop button in one state and
// then doing nothing.
type Stop struct {
	Took     int64 // to rest at most, where it leads to rest, in milliseconds
	Diverges bool  // in some configuration it need not lead to rest
	Unheeded bool  // in some configuration neither the press nor its release does anything

	s       *convergence
	slowest tap
	failing tap // the first that diverges or is unheeded
}

// A tap is the stop button, tapped in a configuration, and one that it leads to in
// graph, -1: it is unheeded.
type tap struct {
	configuration, root int
	via                 step
}

// Slowest is a run on which rest takes as long as Took.
func (s *Stop) Slowest() Run {
	return Run{x: s.s.x, at: s.slowest.configuration, steps: s.s.slowest(s.slowest.via, s.slowest.root)}
}

// Stops gives what comes of the stop button in each state; none where the remote
// has no stop button.
func (x *Space) Stops() []Stop {
	s := x.afterStop()
	if s == nil {
		return nil
	}
	if s.worst != nil {
		return s.worst
	}
	s.worst = make([]Stop, len(x.modes))
	for i := range x.all.configurations {
		o, ok := s.press(i)
		if !ok {
			continue
		}
		w := &s.worst[x.all.configurations[i].state]
		w.s = s
		failed := w.Diverges || w.Unheeded
		for _, root := range s.roots(o) {
			t := tap{i, root, o.via}
			if !s.surelyRests(root) {
				if w.Diverges = true; !failed {
					w.failing, failed = t, true
				}
			} else if took := s.slowness(root); took > w.Took {
				w.slowest, w.Took = t, took
			}
		}
		if s.unheeded(i) {
			if w.Unheeded = true; !failed {
				w.failing = tap{i, -1, o.via}
			}
		}
	}
	return s.worst
}

// A StopFailure is a shortest run on which the stop button, tapped in a state, is
// unheeded or need not lead to rest.
type StopFailure struct {
	State    machine.StateID
	Unheeded bool
	Ended    bool       // it is unheeded, but before the end of the state's routine it is not
	End      Divergence // what it leads to; where it is unheeded, a run that ends with the press
}

// StopFailures gives one for each state in which the stop button fails, in the
// order of how few steps lead to them.
func (x *Space) StopFailures() []StopFailure {
	var failing []tap
	var roots []int
	for _, w := range x.Stops() {
		if !w.Diverges && !w.Unheeded {
			continue
		}
		failing = append(failing, w.failing)
		if w.failing.root >= 0 {
			roots = append(roots, w.failing.root)
		}
	}
	if failing == nil {
		return nil
	}
	slices.SortFunc(failing, func(a, b tap) int { return a.configuration - b.configuration })
	lost := x.afterStop().divergent(roots)
	all := make([]StopFailure, len(failing))
	for k, t := range failing {
		n := &x.all.configurations[t.configuration]
		f := &all[k]
		f.State = n.state
		if t.root < 0 {
			f.Unheeded, f.Ended = true, n.ended && lost.answers(n.state, true)
			f.End = Divergence{State: n.state, run: func() Run { return Run{x: x, at: t.configuration, steps: []step{t.via}} }}
			continue
		}
		end := lost.end(t.root)
		f.End.State = lost.graph.configurations[end].state
		if lost.round[end] > 0 {
			f.End.Circle = 1 + lost.circle[end]
		}
		f.End.run = func() Run {
			way, lap := lost.way(t.root)
			return Run{x: x, at: t.configuration, steps: append([]step{t.via}, way...), lap: lap}
		}
	}
	return all
}

// A Divergence is a shortest run on which the prop never comes to rest: in the end
// it stays in a state, or goes around a circle of states.
type Divergence struct {
	State  machine.StateID   // where it stays, or from which it goes around
	Circle int               // the number of the circle, 0: it stays
	States []machine.StateID // of the circle, in file order; nil in a StopFailure: see Run.Lap

	run func() Run
}

// Run is the run; with a circle it ends with one lap of it.
func (d *Divergence) Run() Run { return d.run() }

// slowest is the way of latest from a root, each step as late as that
// has it, and press, the step before it.
func (s *convergence) slowest(press step, root int) []step {
	n := s.graph.at(root)
	if since := n.lo(sinceClock); n.button < 0 && !press.enters {
		press.when.sinceLo, press.when.sinceHi = since, since
	}
	hs := []step{press}
	for i := root; ; {
		_, k := s.latest(i)
		if k < 0 {
			return hs
		}
		to := int(s.ways(i)[k].to)
		h := s.graph.vias(i)[k]
		from, next := &s.graph.configurations[i], s.graph.at(to)
		switch {
		case from.button >= 0 && next.button >= 0 && !s.ends(to):
		case from.button >= 0:
			h.when.heldLo = h.when.heldHi
			if !h.enters {
				h.when.sinceLo = next.lo(sinceClock)
				h.when.sinceHi = h.when.sinceLo
			}
		case h.enters:
			h.when.sinceLo = h.when.sinceHi
		}
		hs = append(hs, h)
		i = to
	}
}

// ends reports whether the way of latest ends in a configuration.
func (s *convergence) ends(i int) bool {
	_, way := s.latest(i)
	return way < 0
}

// An unattended prop is left alone in any configuration in which no press is going
// on.
type unattended struct {
	*convergence
	roots []int // [number in all] in graph, -1: a press is going on

	// from is, for each configuration in graph that is not at rest, the one before
	// it on a shortest way from power-up, or -1-i where it is configuration i of
	// all.
	from  []int
	order []int // by the length of that way
}

// unattended is the convergence of a prop that is left alone.
func (x *Space) unattended() *unattended {
	if x.alone == nil {
		x.alone = newUnattended(x)
	}
	return x.alone
}

func newUnattended(x *Space) *unattended {
	l := &unattended{convergence: newConvergence(x, -1)}
	l.roots = make([]int, len(x.all.configurations))
	depth := make([]int, len(x.all.configurations)) // steps
	for i := range x.all.configurations {
		n := x.all.at(i)
		if parent := x.all.configurations[i].parent; parent >= 0 {
			depth[i] = depth[parent] + 1
		}
		l.roots[i] = -1
		if n.button < 0 {
			l.roots[i] = l.graph.add(n.location, &n.zone, -1)[0]
		}
	}
	// Breadth first from all of them, each beginning at its own depth.
	var layer []int
	visit := func(i, from int) {
		for len(l.from) < len(l.graph.configurations) {
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
const unseen = int(Never)

// Alone is how long the prop takes to come to rest at most, in milliseconds, from
// any moment on, if nobody does anything any more; false where it need not come to
// rest. The time begins when no press is going on.
func (x *Space) Alone() (longest int64, rests bool) {
	l := x.unattended()
	for _, root := range l.roots {
		if root < 0 {
			continue
		}
		if !l.surelyRests(root) {
			return 0, false
		}
		longest = max(longest, l.slowness(root))
	}
	return longest, true
}

// way is a shortest run to a configuration in graph.
func (l *unattended) way(i int) Run {
	var hs []step
	for l.from[i] >= 0 {
		before := l.from[i]
		hs = append(hs, l.via(before, i))
		i = before
	}
	slices.Reverse(hs)
	return Run{x: l.x, at: -1 - l.from[i], steps: hs}
}

// via is what leads from a configuration to the next.
func (s *convergence) via(from, to int) step {
	k := slices.IndexFunc(s.ways(from), func(e edge) bool { return int(e.to) == to })
	return s.graph.vias(from)[k]
}

// circles gives the sets of configurations that the prop can go around in for
// ever, left alone; those it can go around in no time only if instant.
func (l *unattended) circles(instant bool) [][]int {
	awake := func(i int) []edge {
		if l.atRest(i) {
			return nil
		}
		return l.graph.next(i)
	}
	use := func(e edge) bool { return e.instant || !instant }
	return slices.DeleteFunc(components(len(l.graph.configurations), awake, use), func(c []int) bool {
		return !circular(c, awake, use)
	})
}

// Divergences are those of a prop that is left alone: one for each state in which it
// stays, in the order of how few steps lead there, then one for each circle.
// Those from which no dormant state can be reached at all are left out, and circles
// that take no time.
func (x *Space) Divergences() []Divergence {
	l := x.unattended()
	trapped := x.trapped()
	isTrapped := func(i int) bool {
		n := l.graph.at(i)
		for k := range x.all.of(place{location: n.location}) {
			if whole := x.all.at(k); trapped[k] && whole.covers(&n.zone) {
				return true
			}
		}
		return false
	}
	var all []Divergence
	stays := make([]bool, len(x.modes)) // found
	for _, i := range l.order {
		s := l.graph.configurations[i].state
		if stays[s] || len(l.ways(i)) > 0 || isTrapped(i) {
			continue
		}
		stays[s] = true
		all = append(all, Divergence{State: s, run: func() Run { return l.run(i, nil) }})
	}
	inNoTime := map[int]bool{}
	for _, c := range l.circles(true) {
		for _, i := range c {
			inNoTime[i] = true
		}
	}
	place := make([]int, len(l.graph.configurations))
	for k, i := range l.order {
		place[i] = k
	}
	seen := stateSets{}
	for k, c := range l.circles(false) {
		first := slices.MinFunc(c, func(a, b int) int { return place[a] - place[b] })
		if isTrapped(first) || slices.ContainsFunc(c, func(i int) bool { return inNoTime[i] }) {
			continue
		}
		if states := statesOf(l.graph, c); seen.add(states) {
			all = append(all, Divergence{
				State: l.graph.configurations[first].state, Circle: 1 + k, States: states,
				run: func() Run { return l.run(first, c) },
			})
		}
	}
	return all
}

// run is a shortest run to a configuration in graph, and once around a circle
// from there, if there is one.
func (l *unattended) run(i int, circle []int) Run {
	r := l.way(i)
	round, _ := l.loop(i, func(to int) bool {
		_, in := slices.BinarySearch(circle, to)
		return in
	})
	for _, to := range round {
		r.steps = append(r.steps, l.via(i, to))
		i = to
	}
	r.lap = len(round)
	return r
}
