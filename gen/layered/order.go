package layered

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

const (
	sweeps = 24 // Gansner, section 3
	swaps  = 10 // rounds of exchanging neighbours in each sweep

	mostWork = 10000 // first orders × vertices
)

// order sorts the vertices of each layer so that few edges cross. Each sweep sorts
// by the medians of the neighbours and then exchanges vertices (Gansner, section
// 3); the best order seen is kept. A sweep may end in a local minimum, so there are
// several starts: from the nodes' own order and from shuffled ones, with weighted
// medians and with means.
func (l *layout) order() {
	var best [][]int
	least := math.MaxInt
	keep := func() {
		if n := l.crossings(); n < least {
			best, least = l.copyOrder(), n
		}
	}
	dice := rand.New(rand.NewPCG(1, 1)) // so that the same graph gives the same order
	l.firstOrder()
	for start := range min(max(mostWork/(len(l.vertices)+1), 4), 24) {
		if start > 1 {
			for k, layer := range l.layers {
				dice.Shuffle(len(layer), func(i, j int) { layer[i], layer[j] = layer[j], layer[i] })
				l.number(k)
			}
		}
		keep()
		middle := weightedMedian
		if start%2 == 1 {
			middle = mean
		}
		for i := range sweeps {
			if least == 0 {
				break
			}
			l.sweep(i%2 == 0, middle)
			l.exchange(i%4 < 2)
			keep()
		}
	}
	l.layers = best
	for k := range l.layers {
		l.number(k)
	}
}

// firstOrder orders the vertices as a search through the graph meets them.
func (l *layout) firstOrder() {
	seen := make([]bool, len(l.vertices))
	var visit func(v int)
	visit = func(v int) {
		if seen[v] {
			return
		}
		seen[v] = true
		x := &l.vertices[v]
		x.pos = len(l.layers[x.layer])
		l.layers[x.layer] = append(l.layers[x.layer], v)
		for _, s := range x.out {
			visit(l.segments[s].to)
		}
		for _, s := range x.in {
			visit(l.segments[s].from)
		}
	}
	for v := range l.vertices {
		visit(v)
	}
}

func (l *layout) copyOrder() [][]int {
	c := make([][]int, len(l.layers))
	for k := range c {
		c[k] = slices.Clone(l.layers[k])
	}
	return c
}

func (l *layout) number(k int) {
	for i, v := range l.layers[k] {
		l.vertices[v].pos = i
	}
}

// left and right give a segment's ends as positions in their layers. A fixed end
// adds a fraction of a position.
func (l *layout) left(s int) float64 {
	x := &l.segments[s]
	v := &l.vertices[x.from]
	if x.fixed {
		return float64(v.pos) + x.leave/(v.up+v.down)/2
	}
	return float64(v.pos)
}

func (l *layout) right(s int) float64 { return float64(l.vertices[l.segments[s].to].pos) }

// sweep sorts each layer by the medians of its vertices' neighbours in the layer
// before, from left to right or back.
func (l *layout) sweep(rightwards bool, middle func([]float64) float64) {
	for k := range l.layers {
		if !rightwards {
			k = len(l.layers) - 1 - k
		}
		l.sort(k, rightwards, middle)
	}
}

func (l *layout) sort(k int, rightwards bool, middle func([]float64) float64) {
	layer := l.layers[k]
	key := map[int]float64{}
	var free []int // the others keep their places
	for _, v := range layer {
		var at []float64
		if rightwards {
			for _, s := range l.vertices[v].in {
				at = append(at, l.left(s))
			}
		} else {
			for _, s := range l.vertices[v].out {
				at = append(at, l.right(s))
			}
		}
		if at != nil {
			slices.Sort(at)
			key[v] = middle(at)
			free = append(free, v)
		}
	}
	slices.SortStableFunc(free, func(a, b int) int { return cmp.Compare(key[a], key[b]) })
	for i, v := range layer {
		if _, ok := key[v]; ok {
			layer[i], free = free[0], free[1:]
		}
	}
	l.number(k)
}

// weightedMedian is the median; of an even number of positions it lies between the
// middle two, nearer to the side where the positions are denser.
func weightedMedian(at []float64) float64 {
	m := len(at) / 2
	switch {
	case len(at)%2 == 1:
		return at[m]
	case len(at) == 2:
		return (at[0] + at[1]) / 2
	}
	left, right := at[m-1]-at[0], at[len(at)-1]-at[m]
	if left+right == 0 {
		return at[m]
	}
	return (at[m-1]*right + at[m]*left) / (left + right)
}

func mean(at []float64) float64 {
	sum := 0.0
	for _, x := range at {
		sum += x
	}
	return sum / float64(len(at))
}

// exchange swaps neighbours in a layer where that leaves fewer crossings or, to
// leave a local minimum, as many.
func (l *layout) exchange(evenIfEqual bool) {
	for range swaps {
		better := false
		for k, layer := range l.layers {
			for i := range len(layer) - 1 {
				now, then := l.between(layer[i], layer[i+1])
				if then < now || evenIfEqual && then == now && now > 0 {
					better = better || then < now
					layer[i], layer[i+1] = layer[i+1], layer[i]
				}
			}
			l.number(k)
		}
		if !better {
			return
		}
	}
}

// between counts the crossings of two vertices' segments, with the first vertex
// above the second and the other way round.
func (l *layout) between(a, b int) (now, then int) {
	count := func(above, below float64) {
		switch {
		case above > below:
			now++
		case above < below:
			then++
		}
	}
	for _, s := range l.vertices[a].in {
		for _, t := range l.vertices[b].in {
			count(l.left(s), l.left(t))
		}
	}
	for _, s := range l.vertices[a].out {
		for _, t := range l.vertices[b].out {
			count(l.right(s), l.right(t))
		}
	}
	return now, then
}

// crossings counts all crossings. Those in a gap are the inversions between its
// left order and its right one, counted by a Fenwick tree as in W. Barth, P. Mutzel, M. Jünger, "Simple and Efficient Bilayer
// Cross Counting", Journal of Graph Algorithms and Applications 8(2), 2004.
func (l *layout) crossings() int {
	total := 0
	for k := range len(l.layers) - 1 {
		var gap []int
		for _, v := range l.layers[k] {
			gap = append(gap, l.vertices[v].out...)
		}
		slices.SortStableFunc(gap, func(s, t int) int {
			return cmp.Or(cmp.Compare(l.left(s), l.left(t)), cmp.Compare(l.right(s), l.right(t)))
		})
		tree := make([]int, len(l.layers[k+1])+1)
		for n, s := range gap {
			pos := int(l.right(s)) + 1
			notBelow := 0
			for i := pos; i > 0; i -= i & -i {
				notBelow += tree[i]
			}
			total += n - notBelow
			for i := pos; i < len(tree); i += i & -i {
				tree[i]++
			}
		}
	}
	return total
}
