package timed

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/topo"
	"pgregory.net/rapid"
)

func TestComponentsAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 20).Draw(t, "nodes")
		node := rapid.IntRange(0, n-1)
		to := make([][]edge, n)
		g := simple.NewDirectedGraph()
		for i := range n {
			g.AddNode(simple.Node(i))
		}
		for range rapid.IntRange(0, 40).Draw(t, "edges") {
			a, b := node.Draw(t, "from"), node.Draw(t, "to")
			to[a] = append(to[a], edge{to: int32(b)})
			if a != b {
				g.SetEdge(simple.Edge{F: simple.Node(a), T: simple.Node(b)})
			}
		}
		var want [][]int
		for _, scc := range topo.TarjanSCC(g) {
			var c []int
			for _, n := range scc {
				c = append(c, int(n.ID()))
			}
			slices.Sort(c)
			want = append(want, c)
		}
		slices.SortFunc(want, func(a, b []int) int { return a[0] - b[0] })
		got := components(n, func(i int) []edge { return to[i] }, func(edge) bool { return true }, func([]int) bool { return true })
		require.Equal(t, want, got)
	})
}
