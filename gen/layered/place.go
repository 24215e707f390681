package layered

import (
	"cmp"
	"math"
	"slices"
)

// place finds the coordinates: each layer is a column, and the heights of its
// vertices minimise the sum of weight × (height difference)² over all segments. It
// minimises over one layer after the other while the others stay. This converges to
// the global minimum, since the sum is convex and no constraint ties two layers
// together (P. Tseng, "Convergence of a
// Block Coordinate Descent Method for Nondifferentiable Minimization", Journal of
// Optimization Theory and Applications 109(3), 2001). Gansner takes the
// absolute differences, for which this method may stop too early.
func (l *layout) place() {
	for _, layer := range l.layers {
		y := 0.0
		for i, v := range layer {
			if i > 0 {
				y += l.apart(layer[i-1], v)
			}
			l.vertices[v].y = y
		}
		for _, v := range layer {
			l.vertices[v].y -= y / 2
		}
	}
	l.ports(false)
	const rounds, settle = 4, 30
	for i := range rounds {
		for range settle {
			if l.settle() < 0.1 {
				break
			}
		}
		if i < rounds-1 {
			l.ports(true)
		}
	}
	l.round()
	l.level()
	l.write(l.columns())
}

// round takes whole units, so that what should be level is exactly so.
func (l *layout) round() {
	for i := range l.vertices {
		l.vertices[i].y = math.Round(l.vertices[i].y)
	}
	for i := range l.segments {
		s := &l.segments[i]
		s.reach = math.Round(s.reach)
		if !s.fixed {
			s.leave = math.Round(s.leave)
		}
	}
}

// level takes small bends out of long edges: where an edge passes a layer, it does
// so at the height that it has on the left or else on the right, if there is room.
func (l *layout) level() {
	for _, layer := range l.layers {
		for i := range layer {
			l.levelAt(layer, i, false)
		}
	}
	for _, layer := range slices.Backward(l.layers) {
		for i := range layer {
			l.levelAt(layer, i, true)
		}
	}
}

func (l *layout) levelAt(layer []int, i int, right bool) {
	v := &l.vertices[layer[i]]
	if v.node {
		return
	}
	in, out := &l.segments[v.in[0]], &l.segments[v.out[0]]
	y := l.vertices[in.from].y + in.leave
	if right {
		if y == v.y {
			return // it is level on the left
		}
		y = l.vertices[out.to].y + out.reach
	}
	above := i == 0 || l.vertices[layer[i-1]].y+l.apart(layer[i-1], layer[i]) <= y
	below := i == len(layer)-1 || y+l.apart(layer[i], layer[i+1]) <= l.vertices[layer[i+1]].y
	if above && below {
		v.y = y
	}
}

// apart returns how far a vertex and the next must be apart at least.
func (l *layout) apart(a, b int) float64 {
	u, v := &l.vertices[a], &l.vertices[b]
	gap := 0.0
	switch {
	case u.node && v.node:
		gap = nodeGap
	case u.node || v.node, u.label || v.label:
		gap = labelGap
	}
	return u.down + gap + v.up
}

// settle minimises over each layer, from left to right and back, and returns how
// far a vertex moved at most.
func (l *layout) settle() (moved float64) {
	n := len(l.layers)
	for i := range 2 * n {
		layer := l.layers[min(i, 2*n-1-i)]
		want, weight, apart := make([]float64, len(layer)), make([]float64, len(layer)), make([]float64, len(layer))
		for j, v := range layer {
			x := &l.vertices[v]
			if j > 0 {
				apart[j] = l.apart(layer[j-1], v)
			}
			for _, s := range x.in {
				e := &l.segments[s]
				want[j] += e.weight * (l.vertices[e.from].y + e.leave - e.reach)
				weight[j] += e.weight
			}
			for _, s := range x.out {
				e := &l.segments[s]
				want[j] += e.weight * (l.vertices[e.to].y + e.reach - e.leave)
				weight[j] += e.weight
			}
			if weight[j] == 0 {
				want[j], weight[j] = x.y, 0.01 // so that it yields to all others
				continue
			}
			want[j] /= weight[j]
		}
		for j, y := range spread(want, weight, apart) {
			x := &l.vertices[layer[j]]
			moved = max(moved, math.Abs(y-x.y))
			x.y = y
		}
	}
	return moved
}

// spread returns the places nearest to the wanted ones, by weighted squares, so that
// each is at least apart[i] past the one before: isotonic regression by pooling
// adjacent violators (R. Barlow, D. Bartholomew, J. Bremner, H. Brunk,
// "Statistical Inference under Order Restrictions", 1972).
func spread(want, weight, apart []float64) []float64 {
	type pool struct {
		mean, weight float64
		n            int
	}
	var pools []pool
	offset := 0.0
	for i := range want {
		offset += apart[i]
		p := pool{want[i] - offset, weight[i], 1}
		for len(pools) > 0 && pools[len(pools)-1].mean > p.mean {
			q := pools[len(pools)-1]
			pools = pools[:len(pools)-1]
			w := p.weight + q.weight
			p = pool{(p.mean*p.weight + q.mean*q.weight) / w, w, p.n + q.n}
		}
		pools = append(pools, p)
	}
	var places []float64
	offset = 0
	for _, p := range pools {
		for range p.n {
			offset += apart[len(places)]
			places = append(places, p.mean+offset)
		}
	}
	return places
}

// ports places the segments' ends on the sides of nodes, in the order of their other
// ends: evenly spread or, once vertices are placed, as level as there is room.
func (l *layout) ports(placed bool) {
	for i := range l.graph.Nodes {
		v := &l.vertices[i]
		room := l.graph.Nodes[i].H/2 - portEdge
		l.side(v.in, v.y, room, placed, func(e *segment) (int, float64) { return e.from, e.leave }, func(e *segment) *float64 { return &e.reach })
		if len(v.out) > 0 && !l.segments[v.out[0]].fixed {
			l.side(v.out, v.y, room, placed, func(e *segment) (int, float64) { return e.to, e.reach }, func(e *segment) *float64 { return &e.leave })
		}
	}
}

func (l *layout) side(ends []int, y, room float64, placed bool, other func(*segment) (int, float64), port func(*segment) *float64) {
	pos := func(s int) int {
		v, _ := other(&l.segments[s])
		return l.vertices[v].pos
	}
	slices.SortStableFunc(ends, func(s, t int) int { return cmp.Compare(pos(s), pos(t)) })
	n := float64(len(ends))
	want, weight, apart := make([]float64, len(ends)), make([]float64, len(ends)), make([]float64, len(ends))
	for i, s := range ends {
		want[i], weight[i], apart[i] = ((float64(i)+1)/(n+1)*2-1)*room, 1, portGap
		if v, at := other(&l.segments[s]); placed {
			want[i] = l.vertices[v].y + at - y
		}
	}
	for i, at := range spread(want, weight, apart) {
		// Leave room for the ports before and after.
		lo, hi := -room+float64(i)*portGap, room-float64(len(ends)-1-i)*portGap
		*port(&l.segments[ends[i]]) = min(max(at, lo), hi)
	}
}

// columns returns the middle and the width of each layer's column.
func (l *layout) columns() (middle, width []float64) {
	x := 0.0
	for k, layer := range l.layers {
		w, steep := 0.0, 0.0
		for _, v := range layer {
			x := &l.vertices[v]
			if x.node {
				w = max(w, x.w+2*lead)
			} else {
				w = max(w, x.w)
			}
			for _, s := range x.out {
				e := &l.segments[s]
				steep = max(steep, math.Abs(x.y+e.leave-l.vertices[e.to].y-e.reach))
			}
		}
		middle, width = append(middle, x+w/2), append(width, w)
		x += w
		if k < len(l.layers)-1 {
			x += min(max(steep/5, 16), 50) // room for curves
		}
	}
	l.graph.W = x
	return middle, width
}

// write copies the result into the graph.
func (l *layout) write(middle, width []float64) {
	g := l.graph
	top, bottom := math.Inf(1), math.Inf(-1)
	for i := range l.vertices {
		v := &l.vertices[i]
		top, bottom = min(top, v.y-v.up), max(bottom, v.y+v.down)
	}
	if len(l.vertices) == 0 {
		top, bottom = 0, 0
	}
	g.H = bottom - top
	for i := range g.Nodes {
		v := &l.vertices[i]
		g.Nodes[i].X, g.Nodes[i].Y = middle[v.layer], v.y-top
	}
	for i := range g.Edges {
		e := &g.Edges[i]
		if e.From == e.To {
			n := &g.Nodes[e.From]
			e.LoopX += n.X
			e.LabelX, e.LabelY = e.LoopX, n.Y+n.H/2+LoopH+e.H/2
			continue
		}
		e.Runs = nil
		for j, s := range l.chains[i] {
			x := &l.segments[s]
			a, b := &l.vertices[x.from], &l.vertices[x.to]
			if j == 0 {
				e.Runs = append(e.Runs, Run{middle[a.layer] + a.w/2, middle[a.layer] + width[a.layer]/2, a.y + x.leave - top})
			}
			r := Run{middle[b.layer] - width[b.layer]/2, middle[b.layer] + width[b.layer]/2, b.y + x.reach - top}
			if b.label {
				e.LabelX, e.LabelY = middle[b.layer], b.y-top-e.H/2
			}
			if b.node {
				r.X1 = middle[b.layer] - b.w/2
			}
			e.Runs = append(e.Runs, r)
		}
		if l.vertices[e.From].layer > l.vertices[e.To].layer {
			slices.Reverse(e.Runs)
			for j, r := range e.Runs {
				e.Runs[j] = Run{r.X1, r.X0, r.Y}
			}
		}
	}
}
