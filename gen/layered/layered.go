// Package layered finds places for the nodes of a directed graph in layers,
// from left to right, and ways for its edges.
//
// It knows how a drawing is made readable: edges lead to the right where they
// can, cross seldom and bend little. Nodes, labels and the edges that pass
// them never overlap: in the column of a layer everything has a stretch of its
// own, through which an edge runs level; an edge bends only between two
// columns, in a curve that does not leave the gap. So nothing has to be mended
// afterwards. It refuses to know what nodes mean and how they are drawn.
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

// A Graph is laid out by LayOut. Lengths are in one unit, points say; x leads
// to the right and y down.
type Graph struct {
	Nodes []Node
	Edges []Edge

	W, H float64 // set by LayOut: everything is within 0..W, 0..H
}

// A Node is a box.
type Node struct {
	W, H float64 // LayOut makes a node larger that has no room for its edges
	X, Y float64 // set by LayOut: its middle
}

// An Edge leads from a node to another, or to the same.
type Edge struct {
	From, To int     // indices in Nodes
	W, H     float64 // of its label, 0: none

	// Fixed says that the edge leaves From at Leave below its middle. No
	// edge may lead to such a node. Other edges have their ends anywhere on
	// the left or right side, spread over it.
	Fixed bool
	Leave float64

	// Set by LayOut. The edge runs level along each run and in an S-shaped
	// curve to the next. The first run begins at the side of From's box, the
	// last ends at the side of To's. The label's lower edge is on the line.
	Runs           []Run
	LabelX, LabelY float64 // the middle of the label

	// A loop has no runs: it leaves From's lower side at LoopX ± LoopW/2 and
	// hangs LoopH deep, its label below it.
	LoopX float64
}

// A Run is a level part of an edge, from X0 to X1.
type Run struct{ X0, X1, Y float64 }

// The measures of a loop.
const (
	LoopW = 16.0
	LoopH = 12.0
)

const (
	nodeGap  = 14.0 // between two nodes of a layer
	lineGap  = 8.0  // between two edges that pass, and between an edge and a node
	labelGap = 4.0  // between a label and what is beside it
	portGap  = 6.0  // the least between two edges' ends
	portEdge = 6.0  // between an edge's end and a node's corner
	lead     = 8.0  // how far an edge runs level at its ends
)

// LayOut sets the places of nodes and edges.
func (g *Graph) LayOut() { g.layOut(ranks(g)) }

func (g *Graph) layOut(rank []int) {
	l := &layout{graph: g}
	l.loops()
	l.layer(rank)
	l.order()
	l.place()
}

// Fit sets the places so that the drawing need be shrunk as little as possible
// to fit w × h. Where it is too wide, its last layers are folded back to the
// left, as many as the height has room for; then some edges lead to the left.
func (g *Graph) Fit(w, h float64) {
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

// A layout is the graph with each edge cut into segments that lead from a
// layer to the next.
type layout struct {
	graph    *Graph
	vertices []vertex // those of the nodes first, under the nodes' indices
	layers   [][]int  // the vertices of each layer from top to bottom
	segments []segment
	chains   [][]int   // of each edge: its segments from left to right
	hangs    []float64 // of each node: how deep its loops hang below it
}

// A vertex is a node or a place where an edge crosses a layer.
type vertex struct {
	node     bool
	label    bool
	layer    int
	pos      int     // index in its layer
	w        float64 // of what is to fit into the layer's column
	up, down float64 // how far it reaches above and below y
	y        float64
	in, out  []int // segments that lead to it from the left and away to the right
}

// A segment leads from a vertex to one of the next layer.
type segment struct {
	from, to     int     // vertices
	leave, reach float64 // where it ends at them, below their y
	fixed        bool    // leave is given
	weight       float64 // how much it should be level
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

// layer makes the vertices and segments. Between two ranks stands a layer for
// labels, where an edge has one there (Gansner, section 5.3).
func (l *layout) layer(rank []int) {
	g := l.graph
	last := 0
	for _, r := range rank {
		last = max(last, r)
	}
	// labelled is the layer between ranks in which an edge's label stands, in
	// the middle.
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
