package conform

import "slices"

// A Machine is a finite state machine with outputs: deterministic, with the states
// and inputs from 0 on. It begins in state 0.
type Machine struct {
	// Next is the next state by state and input; -1 where the state does not take the
	// input. Two states that do not take the same inputs must differ in the output of
	// some input that both take.
	Next   [][]int
	Output [][]int // [state][input]
}

// Suite returns sequences of inputs, each to be given from the start, that tell the
// machine from every other one that is not equivalent to it and has at most extra
// states more than the minimised machine: the HSI method
// (G. Luo, A. Petrenko, G. v. Bochmann, "Selecting test sequences for
// partially-specified nondeterministic finite state machines", IWPTS 1994, from
// memory), a shorter successor of the W method with the same guarantee (T. Chow,
// "Testing Software Design Modeled by Finite-State Machines", IEEE Transactions on
// Software Engineering SE-4(3), 1978). Each state is reached by a
// shortest path; every sequence of 1 + extra inputs follows, and then the inputs that
// tell the state reached from all others.
func (m *Machine) Suite(extra int) [][]int {
	m = m.minimal()
	told := m.identifiers()
	var all [][]int
	var follow func(state int, way []int, more int)
	follow = func(state int, way []int, more int) {
		for _, s := range told[state] {
			all = append(all, slices.Concat(way, s))
		}
		if len(told[state]) == 0 {
			all = append(all, slices.Clone(way))
		}
		if more == 0 {
			return
		}
		for input, next := range m.Next[state] {
			if next >= 0 {
				follow(next, append(way[:len(way):len(way)], input), more-1)
			}
		}
	}
	for state, way := range m.ways() {
		follow(state, way, 1+extra)
	}
	return longest(all)
}

// longest leaves out sequences that are prefixes of others.
func longest(all [][]int) (out [][]int) {
	slices.SortFunc(all, slices.Compare)
	for i, s := range all {
		if i+1 == len(all) || len(all[i+1]) < len(s) || !slices.Equal(s, all[i+1][:len(s)]) {
			out = append(out, s)
		}
	}
	return out
}

// ways returns a shortest sequence to each state.
func (m *Machine) ways() [][]int {
	all := make([][]int, len(m.Next))
	seen := make([]bool, len(m.Next))
	seen[0] = true
	for queue := []int{0}; len(queue) > 0; queue = queue[1:] {
		at := queue[0]
		for input, next := range m.Next[at] {
			if next >= 0 && !seen[next] {
				seen[next] = true
				all[next] = append(slices.Clone(all[at]), input)
				queue = append(queue, next)
			}
		}
	}
	return all
}

// classes partitions the states for 0, 1, 2, … inputs: states of one class cannot be
// told apart by that many (E. Moore, "Gedanken-Experiments on Sequential
// Machines", Automata Studies, 1956). States of one class of the last
// partition are equivalent.
func (m *Machine) classes() [][]int {
	all := [][]int{make([]int, len(m.Next))}
	for n := 1; ; {
		before := all[len(all)-1]
		now := make([]int, len(m.Next))
		number := map[string]int{}
		for s := range m.Next {
			key := append([]byte(nil), byte(before[s]>>16), byte(before[s]>>8), byte(before[s]))
			for i, next := range m.Next[s] {
				class, output := -1, 0
				if next >= 0 {
					class, output = before[next], m.Output[s][i]
				}
				for shift := 24; shift >= 0; shift -= 8 {
					key = append(key, byte(class>>shift), byte(output>>shift))
				}
			}
			class, ok := number[string(key)]
			if !ok {
				class = len(number)
				number[string(key)] = class
			}
			now[s] = class
		}
		if len(number) == n {
			return all
		}
		all, n = append(all, now), len(number)
	}
}

// minimal has one state for each class of reachable states, in the order in which they
// are reached.
func (m *Machine) minimal() *Machine {
	all := m.classes()
	class := all[len(all)-1]
	number := map[int]int{class[0]: 0}
	var small Machine
	for queue := []int{0}; len(queue) > 0; queue = queue[1:] {
		var next []int
		for _, to := range m.Next[queue[0]] {
			if to >= 0 {
				n, ok := number[class[to]]
				if !ok {
					n = len(number)
					number[class[to]] = n
					queue = append(queue, to)
				}
				to = n
			}
			next = append(next, to)
		}
		small.Next = append(small.Next, next)
		small.Output = append(small.Output, m.Output[queue[0]])
	}
	return &small
}

// identifiers returns, for each state of a minimal machine, sequences that tell it from
// all others. For any two states, both have a sequence that tells them apart.
func (m *Machine) identifiers() [][][]int {
	classes := m.classes()
	all := make([][][]int, len(m.Next))
	for a := range all {
		for b := range all {
			if a == b {
				continue
			}
			s := m.apart(classes, min(a, b), max(a, b))
			if !slices.ContainsFunc(all[a], func(x []int) bool { return slices.Equal(x, s) }) {
				all[a] = append(all[a], s)
			}
		}
		all[a] = longest(all[a])
	}
	return all
}

// apart returns a shortest sequence that tells two states apart.
func (m *Machine) apart(classes [][]int, a, b int) (sequence []int) {
	for {
		n := slices.IndexFunc(classes, func(class []int) bool { return class[a] != class[b] })
		for input := range m.Next[a] {
			x, y := m.Next[a][input], m.Next[b][input]
			if x < 0 || y < 0 {
				continue
			}
			if m.Output[a][input] != m.Output[b][input] {
				return append(sequence, input)
			}
			if classes[n-1][x] != classes[n-1][y] {
				sequence, a, b = append(sequence, input), x, y
				break
			}
		}
	}
}
