package conform

import (
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
