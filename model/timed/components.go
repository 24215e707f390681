package timed

import (
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// components gives those strongly connected components of a graph of n nodes, and of
// those of its edges that are to be used, that are wanted, in order of their least
// node, each in order.
//
// R. Tarjan, "Depth-first search and linear graph algorithms", SIAM Journal on
// Computing 1(2), 1972; without recursion.
func components(n int, next func(i int) []edge, use func(edge) bool, wanted func(component []int) bool) [][]int {
	var (
		number = make([]int32, n) // in order of discovery from 1, 0: not yet
		low    = make([]int32, n)
		on     = make([]bool, n)
		stack  []int
		count  int32
		out    [][]int
	)
	type call struct {
		node int
		to   []edge // still to be followed
	}
	var calls []call
	visit := func(i int) {
		count++
		number[i], low[i], on[i] = count, count, true
		stack = append(stack, i)
		calls = append(calls, call{i, next(i)})
	}
	for root := range n {
		if number[root] != 0 {
			continue
		}
		visit(root)
		for len(calls) > 0 {
			c := &calls[len(calls)-1]
			if len(c.to) > 0 {
				e := c.to[0]
				c.to = c.to[1:]
				switch to := int(e.to); {
				case !use(e):
				case number[to] == 0:
					visit(to)
				case on[to]:
					low[c.node] = min(low[c.node], number[to])
				}
				continue
			}
			i := c.node
			calls = calls[:len(calls)-1]
			if len(calls) > 0 {
				up := calls[len(calls)-1].node
				low[up] = min(low[up], low[i])
			}
			if low[i] != number[i] {
				continue
			}
			k := len(stack) - 1
			for stack[k] != i {
				k--
			}
			for _, j := range stack[k:] {
				on[j] = false
			}
			if wanted(stack[k:]) {
				out = append(out, slices.Sorted(slices.Values(stack[k:])))
			}
			stack = stack[:k]
		}
	}
	slices.SortFunc(out, func(a, b []int) int { return a[0] - b[0] })
	return out
}

// circles gives those components in which one can go around.
func circles(n int, next func(i int) []edge, use func(edge) bool) [][]int {
	return components(n, next, use, func(c []int) bool {
		return len(c) > 1 || slices.ContainsFunc(next(c[0]), func(e edge) bool { return int(e.to) == c[0] && use(e) })
	})
}

// statesOf gives the states of configurations in file order, each once.
func statesOf(g *graph, set []int) []machine.StateID {
	var states []machine.StateID
	for _, i := range set {
		states = append(states, g.configurations[i].state)
	}
	slices.Sort(states)
	return slices.Compact(states)
}

// stateSets are sets of states, each in file order.
type stateSets map[string]bool

// add reports whether a set is new.
func (ss stateSets) add(states []machine.StateID) bool {
	key := fmt.Sprint(states)
	had := ss[key]
	ss[key] = true
	return !had
}

// A Component is a set of configurations that can be reached from each other, in which
// the prop can stay or go around for ever.
type Component struct {
	State  machine.StateID   // in which its run ends, but for a lap
	States []machine.StateID // in file order; those entered and left in one step among them in a trap
	Circle int               // the number of the circle that it goes around, 0: it stays; of what Delays tell

	// Run is a shortest run to it, or to what is bound to lead into it. It ends with one
	// lap of the circle.
	Run func() Run
}

// component is one that a configuration in all leads to.
func (x *Space) component(first int, states []machine.StateID) Component {
	return Component{State: x.State(first), States: states, Run: func() Run { return x.To(first) }}
}

// Traps gives the components that nothing leads out of and that have no dormant
// state, one for each set of states.
func (x *Space) Traps() (traps []Component) {
	trapped, final := x.trapped()
	seen := stateSets{}
	for _, c := range final {
		states := x.statesBy(c)
		if !seen.add(states) {
			continue
		}
		// One that leads into the component may be in its states already.
		first := 0
		for !trapped[first] || !slices.Contains(states, x.State(first)) {
			first++
		}
		traps = append(traps, x.component(first, states))
	}
	return traps
}

// InstantLoops gives the components in which the prop can go around in no time, one
// for each set of states.
func (x *Space) InstantLoops() (loops []Component) {
	seen := stateSets{}
	instant := func(e edge) bool { return e.instant }
	for _, c := range circles(len(x.all.configurations), x.all.next, instant) {
		if states := statesOf(x.all, c); seen.add(states) {
			loops = append(loops, x.component(c[0], states))
		}
	}
	return loops
}

// trapped marks the configurations from which no dormant state can be reached, and
// gives those components of them that nothing leads out of.
func (x *Space) trapped() (trapped []bool, final [][]int) {
	trapped = make([]bool, len(x.all.configurations))
	of, number := make([]int32, len(trapped)), int32(0) // components
	final = components(len(trapped), x.all.next, func(edge) bool { return true }, func(c []int) bool {
		number++
		for _, i := range c {
			of[i] = number
		}
		// What a component leads to has come before it.
		leadsOn, escapes := false, false
		for _, i := range c {
			escapes = escapes || x.modes[x.State(i)].kind == model.Dormant
			for _, e := range x.all.next(i) {
				other := of[e.to] != number
				leadsOn = leadsOn || other
				escapes = escapes || e.dormant || other && !trapped[e.to]
			}
		}
		for _, i := range c {
			trapped[i] = !escapes
		}
		return !escapes && !leadsOn
	})
	return trapped, final
}

// statesBy are the states of configurations and those that their steps lead by,
// in file order, each once.
func (x *Space) statesBy(set []int) []machine.StateID {
	states := statesOf(x.all, set)
	for _, i := range set {
		for _, via := range x.all.vias(i) {
			states = append(states, via.through...)
		}
	}
	slices.Sort(states)
	return slices.Compact(states)
}
