// Package layered lays out a directed graph in layers from left to right: it
// places the nodes and routes the edges.
//
// It knows what makes a drawing readable: edges point right where they can,
// cross seldom and bend little. Nodes, labels and passing edges never overlap.
// In a layer's column each has its own stretch, which an edge crosses level; an
// edge bends only in the gap between two columns. It refuses to know what the
// nodes mean and how they are drawn.
//
// The method is that of K. Sugiyama, S. Tagawa, M. Toda, "Methods for Visual
// Understanding of Hierarchical System Structures", IEEE Transactions on
// Systems, Man, and Cybernetics 11(2), 1981, with the steps of E. Gansner,
// E. Koutsofios, S. North, K.-P. Vo, "A Technique for Drawing Directed Graphs",
// IEEE Transactions on Software Engineering 19(3), 1993, in short Gansner: layers
// (rank.go), the order in each (order.go), coordinates (place.go).
//
// The same graph gives the same places. The time is about a millisecond for
// ten nodes and a tenth of a second for a hundred (BenchmarkLayOut).
package layered

import "slices"

// A Graph is laid out by LayOut. All lengths are in the same unit, such as
// points; x grows to the right and y downwards.
type Graph struct {
	Nodes []Node
	Edges []Edge

	W, H float64 // set by LayOut: the drawing fills 0..W, 0..H
}

// A Node is a box.
type Node struct {
	W, H float64 // LayOut enlarges a node that lacks room for its edges
	X, Y float64 // the centre, set by LayOut
}

// An Edge leads from a node to another one or, as a loop, to itself.
type Edge struct {
	From, To int     // indices in Nodes
	W, H     float64 // of its label; 0: no label

	// Fixed edges leave From's right side at Leave below its centre; no edge may
	// lead to such a node. The ends of other edges are spread over the left and
	// right sides.
	Fixed bool
	Leave float64

	// Set by LayOut. The edge follows each run and joins it to the next by an
	// S-shaped curve. The first run begins at From's side, the last ends at To's.
	// The label stands on the line.
	Runs           []Run
	LabelX, LabelY float64 // the label's centre

	// A loop has no runs: it hangs LoopH below From's lower side, at
	// LoopX ± LoopW/2, with its label below it.
	LoopX float64
}

// A Run is a horizontal part of an edge.
type Run struct{ X0, X1, Y float64 }

// The size of a loop.
const (
	LoopW = 16.0
	LoopH = 12.0
)

const (
	nodeGap  = 14.0 // between two nodes of a layer
	lineGap  = 8.0  // between two passing edges, and between an edge and a node
	labelGap = 4.0  // between a label and what is beside it
	portGap  = 6.0  // at least, between two edges' ends
	portEdge = 6.0  // between an edge's end and a node's corner
	lead     = 8.0  // how far an edge runs level at its ends
)

func (g *Graph) layOut(rank []int) {
	l := &layout{graph: g}
	l.loops()
	l.layer(rank)
	l.order()
	l.place()
}

// LayOut places the nodes and routes the edges for a page of w × h: the drawing need
// be shrunk as little as possible to fit. The last layers of a drawing that is too
// wide are folded back to the left, as far as there is height for them; some edges
// then point left. math.Inf(1) stands for a page without end.
func (g *Graph) LayOut(w, h float64) {
	rank := ranks(g)
	g.layOut(rank)
	shrunk := func(g *Graph) float64 { return min(w/g.W, h/g.H, 1) }
	best := *g
	layers := 0
	for _, r := range rank {
		layers = max(layers, r)
	}
	for last := layers - 1; last > 0 && best.W > w && best.W/w > best.H/h; last-- {
		folded, ok := g.fold(rank, last)
		if !ok {
			continue
		}
		other := Graph{Nodes: slices.Clone(g.Nodes), Edges: slices.Clone(g.Edges)}
		other.layOut(folded)
		if shrunk(&other) > shrunk(&best) {
			best = other
		}
	}
	*g = best
}

// A layout is the graph with each edge cut into segments between neighbouring
// layers.
type layout struct {
	graph    *Graph
	vertices []vertex // first the nodes, by index
	layers   [][]int  // the vertices of each layer from top to bottom
	segments []segment
	chains   [][]int   // by edge: its segments from left to right
	hangs    []float64 // by node: how far its loops hang below it
}

// A vertex is a node or a place where an edge crosses a layer.
type vertex struct {
	node     bool
	label    bool
	layer    int
	pos      int     // index in its layer
	w        float64 // its width in the layer's column
	up, down float64 // how far it reaches above and below y
	y        float64
	in, out  []int // segments on its left and on its right
}

// A segment joins a vertex to one of the next layer.
type segment struct {
	from, to     int     // vertices
	leave, reach float64 // its ends, below the vertices' y
	fixed        bool    // leave is given
	weight       float64 // how much being level matters
}

// loops makes room for the loops below nodes.
func (l *layout) loops() {
	g := l.graph
	l.hangs = make([]float64, len(g.Nodes))
	wide := make([]float64, len(g.Nodes))
	for i := range g.Edges {
		if e := &g.Edges[i]; e.From == e.To {
			w := max(e.W, 3*LoopW) + labelGap
			e.LoopX = wide[e.From] + w/2 // from the left of all loops
			wide[e.From] += w
			l.hangs[e.From] = max(l.hangs[e.From], LoopH+e.H)
		}
	}
	for i := range g.Nodes {
		n := &g.Nodes[i]
		n.W = max(n.W, wide[i])
	}
	for i := range g.Edges {
		if e := &g.Edges[i]; e.From == e.To {
			e.LoopX -= wide[e.From] / 2 // from the node's middle
		}
	}
}

// layer makes the vertices and segments. Where edges between two ranks have
// labels, these get a layer of their own (Gansner, section 5.3).
func (l *layout) layer(rank []int) {
	g := l.graph
	last := 0
	for _, r := range rank {
		last = max(last, r)
	}
	// labelled is the layer of an edge's label, half-way between its ends.
	labelled := func(e *Edge) int {
		a, b := rank[e.From], rank[e.To]
		return min(a, b)*2 + 1 + (max(a, b)-min(a, b)-1)/2*2
	}
	used := make([]bool, 2*last+2)
	for i := range g.Edges {
		if e := &g.Edges[i]; e.W > 0 && e.From != e.To {
			used[labelled(e)] = true
		}
	}
	index := make([]int, 2*last+2) // the number of the layer
	n := 0
	for i := range index {
		index[i] = n
		if i%2 == 0 || used[i] {
			n++
		}
	}
	l.layers = make([][]int, index[2*last]+1)
	for i := range g.Nodes {
		l.add(vertex{node: true, layer: index[2*rank[i]], w: g.Nodes[i].W})
	}
	l.chains = make([][]int, len(g.Edges))
	for i := range g.Edges {
		e := &g.Edges[i]
		from, to := e.From, e.To
		if from == to {
			continue
		}
		if rank[from] > rank[to] {
			from, to = to, from
		}
		at := from
		for k := l.vertices[from].layer + 1; k <= l.vertices[to].layer; k++ {
			next := to
			if k < l.vertices[to].layer {
				v := vertex{layer: k, up: lineGap / 2, down: lineGap / 2}
				if e.W > 0 && k == index[labelled(e)] {
					v.label, v.w, v.up = true, e.W, e.H
				}
				next = l.add(v)
			}
			l.chains[i] = append(l.chains[i], len(l.segments))
			l.join(segment{from: at, to: next, leave: e.Leave, fixed: e.Fixed && at == from})
			at = next
		}
	}
	// A node must have room for the ends of its edges.
	for i := range g.Nodes {
		v, n := &l.vertices[i], &g.Nodes[i]
		n.H = max(n.H, float64(max(len(v.in), len(v.out))-1)*portGap+2*portEdge)
		v.up, v.down = n.H/2, n.H/2+l.hangs[i]
	}
}

func (l *layout) add(v vertex) int {
	l.vertices = append(l.vertices, v)
	return len(l.vertices) - 1
}

func (l *layout) join(s segment) {
	a, b := &l.vertices[s.from], &l.vertices[s.to]
	switch { // as in Gansner, section 4.2
	case a.node && b.node:
		s.weight = 1
	case a.node || b.node:
		s.weight = 2
	default:
		s.weight = 8
	}
	if !s.fixed {
		s.leave = 0
	}
	a.out = append(a.out, len(l.segments))
	b.in = append(b.in, len(l.segments))
	l.segments = append(l.segments, s)
}
