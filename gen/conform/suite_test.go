package conform

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawn is a machine of which all states can be reached, after the first few by an
// input of an earlier one.
func drawn(t *rapid.T, most int) *Machine {
	n := rapid.IntRange(1, most).Draw(t, "states")
	inputs := rapid.IntRange(1, 3).Draw(t, "inputs")
	m := &Machine{}
	for range n {
		var next, output []int
		for range inputs {
			next = append(next, rapid.IntRange(0, n-1).Draw(t, "next"))
			output = append(output, rapid.IntRange(0, 1).Draw(t, "output"))
		}
		m.Next, m.Output = append(m.Next, next), append(m.Output, output)
	}
	return m
}

// passes reports whether a machine answers a suite as another one does.
func (m *Machine) passes(suite [][]int, as *Machine) bool {
	for _, sequence := range suite {
		a, b := 0, 0
		for _, i := range sequence {
			if m.Output[a][i] != as.Output[b][i] {
				return false
			}
			a, b = m.Next[a][i], as.Next[b][i]
		}
	}
	return true
}

// equivalent walks through both machines at once.
func (m *Machine) equivalent(other *Machine) bool {
	seen := map[[2]int]bool{{}: true}
	for queue := [][2]int{{}}; len(queue) > 0; queue = queue[1:] {
		a, b := queue[0][0], queue[0][1]
		for i := range m.Next[a] {
			if m.Output[a][i] != other.Output[b][i] {
				return false
			}
			if next := [2]int{m.Next[a][i], other.Next[b][i]}; !seen[next] {
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
	return true
}

// What passes a suite and has no more states than it allows for does the same.
func TestSuitesTellFromAllOthers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawn(t, 4)
		extra := rapid.IntRange(0, 1).Draw(t, "extra")
		suite := m.Suite(extra)
		require.True(t, m.passes(suite, m))
		room := len(m.minimal().Next) + extra
		for range 200 { // mutants, of states that are copies of m's
			other := &Machine{}
			copies := rapid.SliceOfN(rapid.IntRange(0, len(m.Next)-1), room, room).Draw(t, "copies")
			copies[0] = 0
			for _, of := range copies {
				next := slices.Clone(m.Next[of])
				for i, to := range next {
					if next[i] = slices.Index(copies, to); next[i] < 0 || rapid.IntRange(0, 5).Draw(t, "transfer fault") == 0 {
						next[i] = rapid.IntRange(0, room-1).Draw(t, "to")
					}
				}
				other.Next, other.Output = append(other.Next, next), append(other.Output, slices.Clone(m.Output[of]))
			}
			if rapid.Bool().Draw(t, "output fault") {
				s := rapid.IntRange(0, room-1).Draw(t, "in")
				i := rapid.IntRange(0, len(other.Output[s])-1).Draw(t, "on")
				other.Output[s][i] = 1 - other.Output[s][i]
			}
			require.Equal(t, m.equivalent(other), other.passes(suite, m))
		}
	})
}

// A machine's suite is no longer for states that do the same.
func TestSuitesOfMinimalMachines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawn(t, 5)
		small := m.minimal()
		require.True(t, m.equivalent(small))
		require.LessOrEqual(t, len(small.Next), len(m.Next))
		require.Equal(t, small.Suite(0), m.Suite(0))
		require.Equal(t, len(small.Next), len(small.minimal().Next))
	})
}

// The worked example of the W method in A. P. Mathur, "Foundations of Software Testing",
// 2008, the chapter on finite state models, from memory: five states, W = {a, aa, aaa,
// baaa}, a transition cover of eleven sequences. Each followed by each of W is what Chow
// gives for a machine of as many states; the suite here is no longer. Both tell the
// machine from all that differ in one transition's target or output.
//
// The example of Chow's own paper ("Testing Software Design Modeled by Finite-State
// Machines", IEEE Trans. Software Engineering SE-4(3), 1978) is a figure that is not to be
// had as text, and is not remembered exactly: it is not here.
func TestWorkedExample(t *testing.T) {
	const a, b = 0, 1
	m := &Machine{
		Next:   [][]int{{0, 3}, {0, 4}, {4, 0}, {2, 3}, {1, 4}},
		Output: [][]int{{0, 1}, {0, 1}, {0, 1}, {1, 1}, {1, 1}},
	}
	w := [][]int{{a}, {a, a}, {a, a, a}, {b, a, a, a}}
	from := func(state int, with [][]int) (answers [][]int) {
		for _, sequence := range with {
			var answer []int
			at := state
			for _, i := range sequence {
				answer, at = append(answer, m.Output[at][i]), m.Next[at][i]
			}
			answers = append(answers, answer)
		}
		return answers
	}
	for s := range 5 {
		for other := range s {
			require.NotEqual(t, from(s, w), from(other, w))
		}
	}
	require.Equal(t, from(0, w[:3]), from(1, w[:3]), "baaa is needed")
	require.Equal(t, []int{b, a, a, a}, m.apart(m.classes(), 0, 1))

	cover := [][]int{{}}
	for _, way := range m.ways() {
		cover = append(cover, append(slices.Clone(way), a), append(slices.Clone(way), b))
	}
	require.Len(t, cover, 11)
	var chow [][]int
	for _, p := range cover {
		for _, s := range w {
			chow = append(chow, slices.Concat(p, s))
		}
	}
	length := func(suite [][]int) (n int) {
		for _, s := range longest(suite) {
			n += len(s)
		}
		return n
	}
	suite := m.Suite(0)
	require.LessOrEqual(t, length(suite), length(chow))
	t.Logf("%d inputs, by the W method %d", length(suite), length(chow))
	killed := 0
	for s := range 5 {
		for i := range 2 {
			for to := range 5 {
				other := &Machine{slices.Clone(m.Next), slices.Clone(m.Output)}
				if to == m.Next[s][i] { // the output's turn
					other.Output[s] = slices.Clone(m.Output[s])
					other.Output[s][i] = 1 - m.Output[s][i]
				} else {
					other.Next[s] = slices.Clone(m.Next[s])
					other.Next[s][i] = to
				}
				if m.equivalent(other) {
					continue
				}
				killed++
				require.False(t, other.passes(suite, m), "%d, %d to %d", s, i, to)
				require.False(t, other.passes(chow, m), "%d, %d to %d", s, i, to)
			}
		}
	}
	require.Equal(t, 50, killed)
}

// sizes are the states of machines that are held against mutants and measured.
var sizes = []int{10, 50, 200}

// large is a machine of so many states, with eight inputs and three outputs.
func large(states int) *Machine {
	r := rand.New(rand.NewPCG(1, uint64(states)))
	m := &Machine{}
	for s := range states {
		next, output := make([]int, 8), make([]int, 8)
		for i := range next {
			next[i], output[i] = r.IntN(states), r.IntN(3)
		}
		next[0] = (s + 1) % states // each can be reached
		m.Next, m.Output = append(m.Next, next), append(m.Output, output)
	}
	return m
}

// A suite tells a large machine from each that has another target or another output in
// one place.
func TestSuitesOfLargeMachines(t *testing.T) {
	const mutants = 500
	for _, states := range sizes {
		m := large(states)
		suite := m.Suite(0)
		r := rand.New(rand.NewPCG(2, uint64(states)))
		for range mutants {
			s, i := r.IntN(states), r.IntN(8)
			other := &Machine{slices.Clone(m.Next), slices.Clone(m.Output)}
			if r.IntN(4) == 0 {
				other.Output[s] = slices.Clone(m.Output[s])
				other.Output[s][i] = (m.Output[s][i] + 1 + r.IntN(2)) % 3
			} else {
				other.Next[s] = slices.Clone(m.Next[s])
				other.Next[s][i] = (m.Next[s][i] + 1 + r.IntN(states-1)) % states
			}
			require.Equal(t, m.equivalent(other), other.passes(suite, m), "%d states, %d, %d", states, s, i)
			require.False(t, m.equivalent(other))
		}
	}
}

// BenchmarkSuite makes suites for large machines, and says how many sequences they have
// and how many inputs in all.
func BenchmarkSuite(b *testing.B) {
	for _, states := range sizes {
		b.Run(fmt.Sprint(states), func(b *testing.B) {
			m := large(states)
			for b.Loop() {
				suite := m.Suite(0)
				inputs := 0
				for _, s := range suite {
					inputs += len(s)
				}
				b.ReportMetric(float64(len(suite)), "sequences")
				b.ReportMetric(float64(inputs), "inputs")
			}
		})
	}
}
