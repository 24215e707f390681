package layered

import "slices"

// ranks numbers each node's layer so that every edge leads to a higher number or is
// one that is drawn backwards.
//
// Backwards go the edges that lead nearer to the sources, the nodes that no edge
// leads to, or at the same distance to a node of a lower index. The others give the
// layers: the longest path to a node, as in Sugiyama. Nodes then move to where most
// of their edges get shorter. The result is near to that of Gansner's network
// simplex, with less code.
func ranks(g *Graph) []int {
	n := len(g.Nodes)
	steps := distances(g)
	before := func(a, b int) bool { return steps[a] < steps[b] || steps[a] == steps[b] && a < b }
	in, out := make([][]int, n), make([][]int, n)
	for i := range g.Edges {
		if a, b := g.Edges[i].From, g.Edges[i].To; before(a, b) {
			out[a], in[b] = append(out[a], b), append(in[b], a)
		} else if a != b {
			out[b], in[a] = append(out[b], a), append(in[a], b)
		}
	}
	sorted := make([]int, n)
	for i := range sorted {
		sorted[i] = i
	}
	slices.SortFunc(sorted, func(a, b int) int {
		if before(a, b) {
			return -1
		}
		return 1
	})
	rank := make([]int, n)
	for _, v := range sorted {
		for _, u := range in[v] {
			rank[v] = max(rank[v], rank[u]+1)
		}
	}
	for range n { // each round shortens an edge; few are long
		moved := false
		for _, v := range slices.Backward(sorted) {
			if len(out[v]) <= len(in[v]) {
				continue
			}
			right := rank[out[v][0]]
			for _, w := range out[v] {
				right = min(right, rank[w])
			}
			moved = moved || rank[v] < right-1
			rank[v] = right - 1
		}
		if !moved {
			break
		}
	}
	return rank
}

// fold reflects the ranks past the last one: the one after it becomes the one before
// it, and so on. It is false where an edge would then stay in its rank, or a fixed
// edge point left.
func (g *Graph) fold(rank []int, last int) (folded []int, ok bool) {
	for _, r := range rank {
		if r > last {
			r = 2*last - r
		}
		if r < 0 {
			return nil, false
		}
		folded = append(folded, r)
	}
	for i := range g.Edges {
		e := &g.Edges[i]
		from, to := folded[e.From], folded[e.To]
		if e.From != e.To && from == to || e.Fixed && from > to {
			return nil, false
		}
	}
	return folded, true
}

// distances counts the steps to each node from the sources or, where no source leads
// to it, from the node of the lowest index that does.
func distances(g *Graph) []int {
	n := len(g.Nodes)
	next := make([][]int, n)
	entered := make([]bool, n)
	for i := range g.Edges {
		if a, b := g.Edges[i].From, g.Edges[i].To; a != b {
			next[a] = append(next[a], b)
			entered[b] = true
		}
	}
	steps := make([]int, n)
	seen := make([]bool, n)
	var queue []int
	visit := func(v, at int) {
		if !seen[v] {
			seen[v], steps[v] = true, at
			queue = append(queue, v)
		}
	}
	follow := func() {
		for ; len(queue) > 0; queue = queue[1:] {
			for _, w := range next[queue[0]] {
				visit(w, steps[queue[0]]+1)
			}
		}
	}
	for v := range n {
		if !entered[v] {
			visit(v, 0)
		}
	}
	follow()
	for v := range n {
		visit(v, 0)
		follow()
	}
	return steps
}
