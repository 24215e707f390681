package timed

import "slices"

// mostLooked is how many edges are looked at for shorter rounds, but for the
// first round of each circle: a divergent way ends at the nearest of those found.
const mostLooked = 1 << 22

// A divergent knows the shortest ways from configurations that need not come to rest:
// to one in which nothing happens any more, or to the end of a first round of a
// circle.
type divergent struct {
	*convergence

	// By number in graph.
	total  []int // steps of the way, -1: none is known
	before []int // of these the steps before the round, if there is one
	round  []int // steps of the shortest round from here, 0: there is none, or none was looked for
	circle []int // the number of the circle, -1: it is in none
	ends   []int // where the way ends, or goes around; -1: not yet known
}

// divergent finds the ways from roots and all that follows them.
func (s *convergence) divergent(roots []int) *divergent {
	var order []int // all that can be reached without rest
	in := map[int]bool{}
	visit := func(i int) {
		if !in[i] && !s.atRest(i) {
			in[i] = true
			order = append(order, i)
		}
	}
	for _, root := range roots {
		visit(root)
	}
	for k := 0; k < len(order); k++ {
		for _, e := range s.ways(order[k]) {
			visit(int(e.to))
		}
	}
	n := len(s.graph.configurations)
	a := &divergent{convergence: s, total: slices.Repeat([]int{-1}, n), before: make([]int, n), round: make([]int, n), circle: slices.Repeat([]int{-1}, n), ends: slices.Repeat([]int{-1}, n)}
	a.rounds(in)

	from := make([][]int, n) // configurations that lead here
	var ends [][]int         // by the steps of their ways: those at which ways can end
	for _, i := range order {
		for _, e := range s.ways(i) {
			if to := int(e.to); in[to] {
				from[to] = append(from[to], i)
			}
		}
		if r := a.round[i]; r > 0 || len(s.ways(i)) == 0 {
			for len(ends) <= r {
				ends = append(ends, nil)
			}
			ends[r] = append(ends[r], i)
		}
	}
	// Breadth first, backwards, each end beginning at the length of its own way.
	var layer []int
	for steps := 0; steps < len(ends) || len(layer) > 0; steps++ {
		var next []int
		reach := func(i, before int) {
			switch {
			case a.total[i] < 0:
				a.total[i], a.before[i] = steps, before
				next = append(next, i)
			case a.total[i] == steps:
				a.before[i] = min(a.before[i], before)
			}
		}
		for _, to := range layer {
			for _, i := range from[to] {
				reach(i, a.before[to]+1)
			}
		}
		if steps < len(ends) {
			for _, i := range ends[steps] {
				reach(i, 0)
			}
		}
		layer = next
	}
	return a
}

// rounds finds the circles and the shortest rounds.
func (a *divergent) rounds(in map[int]bool) {
	looked := 0
	next := func(i int) []edge {
		if !in[i] {
			return nil
		}
		return a.ways(i)
	}
	use := func(e edge) bool { return in[int(e.to)] }
	for k, c := range components(len(a.total), next, use) {
		if !circular(c, next, use) {
			continue
		}
		for _, i := range c {
			a.circle[i] = k
		}
		ring := a.isRing(c)
		for n, i := range c {
			switch {
			case ring:
				a.round[i] = len(c)
			case n == 0 || looked < mostLooked:
				way, edges := a.around(i)
				a.round[i] = len(way)
				looked += edges
			}
		}
	}
}

// around is the shortest way around its circle from a configuration, and how
// many edges were looked at for it.
func (a *divergent) around(i int) (way []int, looked int) {
	return a.loop(i, func(to int) bool { return a.circle[to] == a.circle[i] })
}

// isRing reports whether each configuration of a component leads to but one of
// it.
func (a *divergent) isRing(c []int) bool {
	for _, i := range c {
		next := int32(-1)
		for _, e := range a.ways(i) {
			if a.circle[e.to] != a.circle[i] {
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

// on is where the shortest way goes on, -1 at its end or at its round.
func (a *divergent) on(i int) int {
	if a.before[i] == 0 {
		return -1
	}
	for _, e := range a.ways(i) {
		if a.total[e.to] == a.total[i]-1 && a.before[e.to] == a.before[i]-1 {
			return int(e.to)
		}
	}
	return -1
}

// end is where the shortest way from a root ends, or goes around.
func (a *divergent) end(root int) int {
	last := root
	for to := last; to >= 0 && a.ends[last] < 0; to = a.on(last) {
		last = to
	}
	end := last
	if a.ends[last] >= 0 {
		end = a.ends[last]
	}
	for i := root; i >= 0 && a.ends[i] < 0; i = a.on(i) {
		a.ends[i] = end
	}
	return end
}

// way is the shortest way from a root; lap is how many of its steps go around.
func (a *divergent) way(root int) (way []step, lap int) {
	i := root
	for to := a.on(i); to >= 0; to = a.on(i) {
		way = append(way, a.via(i, to))
		i = to
	}
	if a.round[i] > 0 {
		round, _ := a.around(i)
		for _, to := range round {
			way = append(way, a.via(i, to))
			lap++
			i = to
		}
	}
	return way, lap
}
