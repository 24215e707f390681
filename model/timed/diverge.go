package timed

import "slices"

// next are the ways on from a configuration that are looked at.
func (d *Delays) next(i int) []edge {
	switch {
	case !d.isRest(i):
		return d.graph.next(i)
	case !d.isPressed(i):
		return nil
	}
	return slices.DeleteFunc(slices.Clone(d.graph.next(i)), func(e edge) bool { return !d.follows(i, e.kind, int(e.to)) })
}

// atRest reports whether the prop is at rest for good in a configuration.
func (d *Delays) atRest(i int) bool { return d.isRest(i) && len(d.next(i)) == 0 }

// A reach is all that can be come to from some configurations before the prop is at
// rest.
type reach struct {
	*Delays
	order []int  // breadth first
	in    []bool // by configuration
}

func (d *Delays) reach(roots []int) *reach {
	r := &reach{Delays: d}
	visit := func(i int) {
		if n := len(d.configurations); len(r.in) < n {
			r.in = append(r.in, make([]bool, n-len(r.in))...)
		}
		if !r.in[i] && !d.atRest(i) {
			r.in[i] = true
			r.order = append(r.order, i)
		}
	}
	for _, root := range roots {
		visit(root)
	}
	for k := 0; k < len(r.order); k++ {
		for _, e := range d.next(r.order[k]) {
			visit(int(e.to))
		}
	}
	return r
}

// circles gives the sets of configurations that the prop can go around in for ever;
// those it can go around in no time only if instant.
func (r *reach) circles(instant bool) [][]int {
	next := func(i int) []edge {
		if !r.in[i] {
			return nil
		}
		return r.next(i)
	}
	use := func(e edge) bool { return r.in[e.to] && (e.instant || !instant) }
	return circles(len(r.in), next, use)
}

// lap are the steps of the shortest way from a configuration back to it through some
// others, none where there is none.
func (r *reach) lap(from int, through func(int) bool) (steps []step) {
	way, _ := r.loop(from, through)
	for _, to := range way {
		steps = append(steps, r.via(from, to))
		from = to
	}
	return steps
}

// via is what leads from a configuration to the next; nothing where no memory is left.
func (d *Delays) via(from, to int) (via step) {
	for _, w := range d.ways(from) {
		if w.to == to {
			return w.via
		}
	}
	return via
}

// loop is the shortest way from a configuration back to it through some others,
// nil where there is none, and how many edges were looked at for it.
func (d *Delays) loop(from int, through func(int) bool) (way []int, looked int) {
	order, parent := []int{from}, map[int]int{}
	for k := 0; k < len(order); k++ {
		i := order[k]
		for _, e := range d.next(i) {
			looked++
			to := int(e.to)
			if to == from {
				for way = []int{from}; i != from; i = parent[i] {
					way = append(way, i)
				}
				slices.Reverse(way)
				return way, looked
			}
			if _, seen := parent[to]; !seen && through(to) {
				parent[to] = i
				order = append(order, to)
			}
		}
	}
	return nil, looked
}

// Divergences are the components in which a prop that is left alone, see Alone, never
// comes to rest: one for each state in which it stays, in the order of how few steps
// lead there, then one for each circle. Those from which no dormant state can be
// reached at all are left out, and circles that take no time.
func (d *Delays) Divergences() (all []Component) {
	x := d.x
	var roots []int
	from := map[int]int{} // by root: the first configuration in all
	for i := range x.all.configurations {
		for _, o := range d.happen(i) {
			root := o.roots[0].configuration
			if _, seen := from[root]; !seen {
				from[root] = i
				roots = append(roots, root)
			}
		}
	}
	r := d.reach(roots)
	trapped, _ := x.trapped()
	stays := make([]bool, len(x.modes)) // found
	for _, root := range roots {
		s := d.configurations[root].state
		if r.in[root] && !stays[s] && len(d.next(root)) == 0 && !trapped[from[root]] {
			stays[s] = true
			c := x.component(from[root], nil)
			all = append(all, c)
		}
	}
	inNoTime := map[int]bool{}
	for _, c := range r.circles(true) {
		for _, i := range c {
			inNoTime[i] = true
		}
	}
	seen := stateSets{}
	for k, c := range r.circles(false) {
		// Every circle enters a state, and there it is one of the roots.
		first := -1
		for _, i := range c {
			if at, ok := from[i]; ok && (first < 0 || at < from[first]) {
				first = i
			}
		}
		if trapped[from[first]] || slices.ContainsFunc(c, func(i int) bool { return inNoTime[i] }) {
			continue
		}
		if states := statesOf(d.graph, c); seen.add(states) {
			all = append(all, Component{State: d.configurations[first].state, States: states, Circle: 1 + k, Run: func() Run {
				lap := r.lap(first, func(to int) bool { _, in := slices.BinarySearch(c, to); return in })
				return Run{x: x, at: from[first], steps: lap, lap: len(lap)}
			}})
		}
	}
	return all
}

// Lost gives for each of some responses, in which the prop need not come to rest, the
// component that it can be caught in by the fewest steps.
func (x *Space) Lost(rs []*Response) []Component {
	if len(rs) == 0 {
		return nil
	}
	d := rs[0].d
	var roots []int
	for _, r := range rs {
		roots = append(roots, r.root)
	}
	l := newLost(d.reach(roots))
	all := make([]Component, len(rs))
	for k, r := range rs {
		end := l.end[r.root]
		all[k] = Component{State: d.configurations[end].state, Run: func() Run {
			way, lap := l.way(r.root)
			return Run{x: x, at: r.Configuration, steps: slices.Concat(r.Event.steps, way), lap: lap}
		}}
		if l.round[end] > 0 {
			all[k].Circle = 1 + l.circle[end]
		}
	}
	return all
}

// mostLooked is how many edges are looked at for shorter rounds, but for the
// first round of each circle: a way ends at the nearest of those found.
const mostLooked = 1 << 22

// A lost knows the shortest ways from configurations that need not come to rest: to one
// in which nothing happens any more, or to the end of a first round of a circle.
type lost struct {
	*reach

	// By configuration.
	on     []int // where the way goes on; -1: it ends here, or goes around
	end    []int // where the way ends, or goes around; -1: none is known
	round  []int // steps of the shortest round from here, 0: there is none, or none was looked for
	circle []int // the number of the circle, -1: it is in none
}

func newLost(r *reach) *lost {
	n := len(r.in)
	l := &lost{reach: r, on: make([]int, n), end: slices.Repeat([]int{-1}, n), round: make([]int, n), circle: slices.Repeat([]int{-1}, n)}
	l.rounds()

	from := make([][]int, n) // configurations that lead here
	var ends [][]int         // by the steps of their ways: those at which ways can end
	for _, i := range r.order {
		for _, e := range r.next(i) {
			if r.in[e.to] {
				from[e.to] = append(from[e.to], i)
			}
		}
		if k := l.round[i]; k > 0 || len(r.next(i)) == 0 {
			for len(ends) <= k {
				ends = append(ends, nil)
			}
			ends[k] = append(ends[k], i)
		}
	}
	// Breadth first, backwards, each end beginning at the length of its own way.
	var layer []int
	for steps := 0; steps < len(ends) || len(layer) > 0; steps++ {
		var next []int
		visit := func(i, on, end int) {
			if l.end[i] < 0 {
				l.on[i], l.end[i] = on, end
				next = append(next, i)
			}
		}
		if steps < len(ends) {
			for _, i := range ends[steps] {
				visit(i, -1, i)
			}
		}
		for _, to := range layer {
			for _, i := range from[to] {
				visit(i, to, l.end[to])
			}
		}
		layer = next
	}
	return l
}

// rounds finds the circles and the shortest rounds.
func (l *lost) rounds() {
	looked := 0
	for k, c := range l.circles(false) {
		for _, i := range c {
			l.circle[i] = k
		}
		ring := l.isRing(c)
		for n, i := range c {
			switch {
			case ring:
				l.round[i] = len(c)
			case n == 0 || looked < mostLooked:
				way, edges := l.loop(i, l.sameCircle(i))
				l.round[i] = len(way)
				looked += edges
			}
		}
	}
}

func (l *lost) sameCircle(i int) func(int) bool {
	return func(to int) bool { return l.circle[to] == l.circle[i] }
}

// isRing reports whether each configuration of a component leads to but one of
// it.
func (l *lost) isRing(c []int) bool {
	for _, i := range c {
		next := int32(-1)
		for _, e := range l.next(i) {
			if l.circle[e.to] != l.circle[i] {
				continue
			}
			if next >= 0 && next != e.to {
				return false
			}
			next = e.to
		}
	}
	return true
}

// way is the shortest way from a root; lap is how many of its steps go around.
func (l *lost) way(root int) (way []step, lap int) {
	i := root
	for to := l.on[i]; to >= 0; to = l.on[i] {
		way = append(way, l.via(i, to))
		i = to
	}
	if l.round[i] > 0 {
		round := l.lap(i, l.sameCircle(i))
		way, lap = append(way, round...), len(round)
	}
	return way, lap
}
