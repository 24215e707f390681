package layered

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var length = rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(4, 120).Draw(t, "length")) })

// drawn draws a graph with loops, edges both ways, several between the same
// nodes, and nodes whose edges leave at given places.
func drawn(t *rapid.T) *Graph {
	g := &Graph{}
	for range rapid.IntRange(0, 30).Draw(t, "nodes") {
		g.Nodes = append(g.Nodes, Node{W: length.Draw(t, "w"), H: length.Draw(t, "h")})
	}
	n := len(g.Nodes)
	if n == 0 {
		return g
	}
	for range rapid.IntRange(0, 60).Draw(t, "edges") {
		e := Edge{From: rapid.IntRange(0, n-1).Draw(t, "from"), To: rapid.IntRange(0, n-1).Draw(t, "to")}
		if rapid.Bool().Draw(t, "labelled") {
			e.W, e.H = length.Draw(t, "label w"), length.Draw(t, "label h")
		}
		g.Edges = append(g.Edges, e)
	}
	for range rapid.IntRange(0, 3).Draw(t, "lists") {
		lines := rapid.IntRange(1, 8).Draw(t, "lines")
		g.Nodes = append(g.Nodes, Node{W: length.Draw(t, "w"), H: float64(lines)*12 + 20})
		for i := range lines {
			g.Edges = append(g.Edges, Edge{
				From: len(g.Nodes) - 1, To: rapid.IntRange(0, n-1).Draw(t, "to"), Fixed: true, Leave: (float64(i) - float64(lines-1)/2) * 12,
			})
		}
	}
	return g
}

type rectangle struct{ x0, y0, x1, y1 float64 }

func around(x, y, w, h float64) rectangle { return rectangle{x - w/2, y - h/2, x + w/2, y + h/2} }

// meets reports whether two rectangles have more than their borders, and what
// rounding adds, in common.
func (a rectangle) meets(b rectangle) bool {
	const slack = 1.01
	return min(a.x1, b.x1)-max(a.x0, b.x0) > slack && min(a.y1, b.y1)-max(a.y0, b.y0) > slack
}

type point struct{ x, y float64 }

// way gives points along an edge that is not a loop.
func (e *Edge) way() []point {
	var ps []point
	for i, r := range e.Runs {
		if i > 0 {
			a := e.Runs[i-1]
			m := (a.X1 + r.X0) / 2
			ps = append(ps, bezier(point{a.X1, a.Y}, point{m, a.Y}, point{m, r.Y}, point{r.X0, r.Y})...)
		} else {
			ps = append(ps, point{r.X0, r.Y})
		}
		ps = append(ps, point{r.X1, r.Y})
	}
	return ps
}

func bezier(a, b, c, d point) (ps []point) {
	const pieces = 16
	for i := range pieces + 1 {
		t := float64(i) / pieces
		u := 1 - t
		at := func(a, b, c, d float64) float64 { return u*u*u*a + 3*u*u*t*b + 3*u*t*t*c + t*t*t*d }
		ps = append(ps, point{at(a.x, b.x, c.x, d.x), at(a.y, b.y, c.y, d.y)})
	}
	return ps
}

// Nodes, labels and edges keep apart, and each edge leads from its node to
// its node, whatever the graph.
func TestNothingOverlaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := drawn(t)
		want := append([]Node(nil), g.Nodes...)
		if rapid.Bool().Draw(t, "fit") {
			g.LayOut(length.Draw(t, "page w"), 10*length.Draw(t, "page h"))
		} else {
			g.LayOut(endless, endless)
		}
		type thing struct {
			what string
			rectangle
		}
		var things []thing
		for i, n := range g.Nodes {
			require.GreaterOrEqual(t, n.W, want[i].W)
			require.GreaterOrEqual(t, n.H, want[i].H)
			things = append(things, thing{fmt.Sprintf("node %d", i), around(n.X, n.Y, n.W, n.H)})
		}
		for i := range g.Edges {
			if e := &g.Edges[i]; e.W > 0 {
				things = append(things, thing{fmt.Sprintf("label %d", i), around(e.LabelX, e.LabelY, e.W, e.H)})
			}
		}
		for i, a := range things {
			require.False(t, a.x0 < -0.01 || a.y0 < -1 || a.x1 > g.W+0.01 || a.y1 > g.H+1, "%s is outside", a.what)
			for _, b := range things[:i] {
				require.False(t, a.meets(b.rectangle), "%s is on %s", a.what, b.what)
			}
		}
		for i := range g.Edges {
			e := &g.Edges[i]
			from, to := g.Nodes[e.From], g.Nodes[e.To]
			if e.From == e.To {
				require.Empty(t, e.Runs)
				require.LessOrEqual(t, math.Abs(e.LoopX-from.X)+LoopW/2, from.W/2, "loop %d is at its node", i)
				continue
			}
			first, last := e.Runs[0], e.Runs[len(e.Runs)-1]
			require.InDelta(t, from.W/2, math.Abs(first.X0-from.X), 0.01, "edge %d begins at its node's side", i)
			require.LessOrEqual(t, math.Abs(first.Y-from.Y), from.H/2)
			require.InDelta(t, to.W/2, math.Abs(last.X1-to.X), 0.01, "edge %d ends at its node's side", i)
			require.LessOrEqual(t, math.Abs(last.Y-to.Y), to.H/2)
			if e.Fixed {
				require.InDelta(t, e.Leave, first.Y-from.Y, 0.01)
			}
			ps := e.way()
			for j := 1; j < len(ps); j++ {
				p, q := ps[j-1], ps[j]
				step := rectangle{min(p.x, q.x), min(p.y, q.y) - 0.6, max(p.x, q.x), max(p.y, q.y) + 0.6}
				for _, b := range things {
					require.False(t, step.meets(b.rectangle), "edge %d runs over %s", i, b.what)
				}
			}
		}
	})
}

func TestTheSameGraphIsLaidOutTheSame(t *testing.T) {
	a, b := random(60, 90, 1), random(60, 90, 1)
	a.LayOut(endless, endless)
	b.LayOut(endless, endless)
	assert.Equal(t, a, b)
}

// A chain is a straight line.
func TestAChainIsLevel(t *testing.T) {
	g := &Graph{Nodes: make([]Node, 5)}
	for i := range 4 {
		g.Nodes[i].H = float64(10 + 7*i)
		g.Edges = append(g.Edges, Edge{From: i, To: i + 1})
	}
	g.LayOut(endless, endless)
	for _, e := range g.Edges {
		assert.Equal(t, g.Edges[0].Runs[0].Y, e.Runs[0].Y)
		assert.Equal(t, e.Runs[0].Y, e.Runs[1].Y)
		assert.Less(t, e.Runs[0].X0, e.Runs[1].X1)
	}
}

// A chain that is too wide for its page is folded, so that it goes out and back.
func TestFitFolds(t *testing.T) {
	chain := func() *Graph {
		g := &Graph{}
		for i := range 8 {
			g.Nodes = append(g.Nodes, Node{W: 80, H: 40})
			if i > 0 {
				g.Edges = append(g.Edges, Edge{From: i - 1, To: i, W: 50, H: 11})
			}
		}
		return g
	}
	wide, folded := chain(), chain()
	wide.LayOut(endless, endless)
	folded.LayOut(wide.W*0.65, 1000)
	assert.LessOrEqual(t, folded.W, wide.W*0.65)
	assert.Greater(t, folded.H, wide.H)
	assert.Less(t, folded.Nodes[7].X, folded.Nodes[4].X)
	same := chain()
	same.LayOut(wide.W, wide.H)
	assert.Equal(t, wide, same, "what fits is not folded")
}

// endless is the side of a page on which everything fits.
var endless = math.Inf(1)

// random is a graph whose edges mostly lead to near nodes, as in a design.
func random(nodes, edges int, seed uint64) *Graph {
	r := rand.New(rand.NewPCG(seed, seed))
	g := &Graph{}
	for range nodes {
		g.Nodes = append(g.Nodes, Node{W: 80, H: 40})
	}
	for range edges {
		a := r.IntN(nodes)
		b := r.IntN(nodes)
		if r.IntN(10) > 0 {
			b = max(0, min(nodes-1, a+r.IntN(9)-3))
		}
		g.Edges = append(g.Edges, Edge{From: a, To: b, W: 50, H: 11})
	}
	return g
}

// Debian's dot, of which this package is not a copy, finds places for the same
// graphs: here edges cross hardly more often.
func TestCrossingsAgainstDot(t *testing.T) {
	if testing.Short() {
		t.Skip("dot is slow")
	}
	dot, err := exec.LookPath("dot")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("dot is not installed; run testdata/setup")
		}
		t.Skip("dot is not installed")
	}
	ours, theirs := 0, 0
	for _, size := range [][2]int{{5, 8}, {8, 14}, {12, 20}, {20, 30}, {40, 55}, {60, 80}} {
		a, b := 0, 0
		for seed := range uint64(5) {
			g := random(size[0], size[1], seed)
			b += crossed(dotWays(t, dot, g))
			g.LayOut(endless, endless)
			var ways [][]point
			for i := range g.Edges {
				if g.Edges[i].Runs != nil {
					ways = append(ways, g.Edges[i].way())
				}
			}
			a += crossed(ways)
		}
		t.Logf("%d nodes, %d edges: %d crossings, dot %d", size[0], size[1], a, b)
		ours, theirs = ours+a, theirs+b
	}
	assert.LessOrEqual(t, float64(ours), 1.25*float64(theirs))
}

// dotWays gives points along the edges as dot draws them, without loops.
func dotWays(t *testing.T, dot string, g *Graph) (ways [][]point) {
	var b strings.Builder
	b.WriteString("digraph { rankdir=LR; node [shape=box, width=1.1, height=0.55, fixedsize=true];\n")
	for i := range g.Nodes {
		fmt.Fprintf(&b, "n%d;\n", i)
	}
	for _, e := range g.Edges {
		fmt.Fprintf(&b, "n%d -> n%d [label=\"press b1\", fontsize=9, arrowhead=none];\n", e.From, e.To)
	}
	b.WriteString("}\n")
	cmd := exec.Command(dot, "-Tjson")
	cmd.Stdin = strings.NewReader(b.String())
	out, err := cmd.Output()
	require.NoError(t, err)
	var graph struct {
		Edges []struct {
			Tail, Head int
			Pos        string
		}
	}
	require.NoError(t, json.Unmarshal(out, &graph))
	require.Len(t, graph.Edges, len(g.Edges))
	for _, e := range graph.Edges {
		if e.Tail == e.Head {
			continue
		}
		var ends []point
		for _, word := range strings.Fields(e.Pos) {
			var p point
			_, err := fmt.Sscanf(word, "%g,%g", &p.x, &p.y)
			require.NoError(t, err, e.Pos)
			ends = append(ends, p)
		}
		var way []point
		for i := 0; i+3 < len(ends); i += 3 {
			way = append(way, bezier(ends[i], ends[i+1], ends[i+2], ends[i+3])...)
		}
		ways = append(ways, way)
	}
	return ways
}

// crossed counts how often ways cross one another.
func crossed(ways [][]point) (n int) {
	side := func(a, b, c point) float64 { return (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x) }
	for i, v := range ways {
		for _, w := range ways[:i] {
			for j := 1; j < len(v); j++ {
				for k := 1; k < len(w); k++ {
					a, b, c, d := v[j-1], v[j], w[k-1], w[k]
					if side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0 {
						n++
					}
				}
			}
		}
	}
	return n
}

// crossings counts as one does who looks at each pair of segments.
func TestCrossings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := drawn(t)
		l := &layout{graph: g}
		l.loops()
		l.layer(ranks(g))
		l.firstOrder()
		want := 0
		for i := range l.segments {
			for j := range i {
				a, b := &l.segments[i], &l.segments[j]
				if l.vertices[a.from].layer != l.vertices[b.from].layer {
					continue
				}
				if (l.left(i)-l.left(j))*(l.right(i)-l.right(j)) < 0 {
					want++
				}
			}
		}
		require.Equal(t, want, l.crossings())
	})
}

// No place that keeps the distances is nearer than spread's: along the way to
// any such places the sum of squares rises from the start.
func TestSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		some := func(what string, lo, hi int) []float64 {
			x := make([]float64, n)
			for i := range x {
				x[i] = float64(rapid.IntRange(lo, hi).Draw(t, what))
			}
			return x
		}
		want, weight, apart := some("want", -50, 50), some("weight", 1, 9), some("apart", 0, 20)
		got := spread(want, weight, apart)
		other, step := some("other", -50, 50), some("step", 0, 9)
		for i := 1; i < n; i++ {
			require.GreaterOrEqual(t, got[i]-got[i-1], apart[i]-1e-9)
			other[i] = max(other[i], other[i-1]+apart[i]) + step[i]
		}
		slope := 0.0
		for i := range n {
			slope += 2 * weight[i] * (got[i] - want[i]) * (other[i] - got[i])
		}
		require.GreaterOrEqual(t, slope, -1e-6)
	})
}

func BenchmarkLayOut(b *testing.B) {
	for _, n := range []int{10, 100, 300} {
		b.Run(fmt.Sprint(n, " nodes"), func(b *testing.B) {
			for b.Loop() {
				random(n, n*3/2, 1).LayOut(endless, endless)
			}
		})
	}
}
