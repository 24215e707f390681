package tour

import (
	"container/heap"
	"math"
	"slices"
)

// An arc of a graph leads from a vertex to another, or to the same.
type arc struct {
	from, to int
	cost     int64 // not negative
	need     bool  // the walk is to take it
}

// postman returns a closed walk from vertex 0, as indices of arcs, that takes each
// arc that is needed. Where these and vertex 0 hang together, none is shorter: it
// is H. Thimbleby's method, "The directed Chinese postman problem", Software:
// Practice and Experience 33(11), 2003. First arcs are repeated so that as many
// lead to each vertex as away from it, at the least cost; then there is a circuit
// that takes each as often as that. Where they do not hang together the problem
// is NP-hard (J. Lenstra, A. Rinnooy Kan, "On general routing problems", Networks
// 6(3), 1976), and the parts are joined by shortest ways. Each vertex of a needed
// arc must be reachable from each other.
func postman(vertices int, arcs []arc) []int {
	n := newNetwork(vertices, arcs)
	for i, a := range arcs {
		if a.need {
			n.times[i] = 1
		}
	}
	n.balance()
	n.join()
	return n.circuit()
}

// A network is a graph and how often a walk takes each arc.
type network struct {
	arcs    []arc
	out, in [][]int // [vertex]: indices of arcs
	times   []int
}

func newNetwork(vertices int, arcs []arc) *network {
	n := &network{arcs: arcs, out: make([][]int, vertices), in: make([][]int, vertices), times: make([]int, len(arcs))}
	for i, a := range arcs {
		n.out[a.from] = append(n.out[a.from], i)
		n.in[a.to] = append(n.in[a.to], i)
	}
	return n
}

// balance adds arcs so that as many lead to each vertex as away from it, at the
// least cost: a flow from the vertices with too many arcs to them to those with too
// few, by shortest augmenting ways in the residual network. Potentials keep the
// lengths there from being negative (J. Edmonds, R. Karp, "Theoretical
// Improvements in Algorithmic Efficiency for Network Flow Problems", Journal of the
// ACM 19(2), 1972).
func (n *network) balance() {
	excess := make([]int, len(n.out))
	for _, a := range n.arcs {
		if a.need {
			excess[a.to]++
			excess[a.from]--
		}
	}
	flow := make([]int, len(n.arcs))
	potential := make([]int64, len(n.out))
	for {
		var from []int
		for v, e := range excess {
			if e > 0 {
				from = append(from, v)
			}
		}
		way := n.shortest(from, func(v int) bool { return excess[v] < 0 }, potential, flow)
		if way == nil {
			break
		}
		amount := min(excess[way[0].from], -excess[way[len(way)-1].to])
		for _, h := range way {
			if h.back {
				amount = min(amount, flow[h.arc])
			}
		}
		for _, h := range way {
			if h.back {
				flow[h.arc] -= amount
			} else {
				flow[h.arc] += amount
			}
		}
		excess[way[0].from] -= amount
		excess[way[len(way)-1].to] += amount
	}
	for i, f := range flow {
		n.times[i] += f
	}
}

// A hop takes an arc, or takes one back that there is a flow along.
type hop struct {
	arc      int
	from, to int
	back     bool
}

// shortest returns a shortest way from any of some vertices to one that is wanted,
// and nil where there is none: Dijkstra's method in the residual network of flow,
// nil for none, with lengths reduced by potentials, nil for none, which it
// updates.
func (n *network) shortest(from []int, wanted func(int) bool, potential []int64, flow []int) []hop {
	if potential == nil {
		potential = make([]int64, len(n.out))
	}
	far := make([]int64, len(n.out))
	for v := range far {
		far[v] = math.MaxInt64
	}
	by := make([]hop, len(n.out)) // how each vertex is reached
	settled := make([]bool, len(n.out))
	var q queue
	for _, v := range from {
		far[v], by[v].arc = 0, -1
		heap.Push(&q, reached{v, 0})
	}
	reach := func(h hop, cost int64) {
		if d := far[h.from] + cost + potential[h.from] - potential[h.to]; d < far[h.to] {
			far[h.to], by[h.to] = d, h
			heap.Push(&q, reached{h.to, d})
		}
	}
	for len(q) > 0 {
		v := heap.Pop(&q).(reached).vertex
		if settled[v] {
			continue
		}
		settled[v] = true
		if wanted(v) {
			for u := range far {
				potential[u] += min(far[u], far[v])
			}
			var way []hop
			for ; by[v].arc >= 0; v = by[v].from {
				way = append(way, by[v])
			}
			slices.Reverse(way)
			return way
		}
		for _, i := range n.out[v] {
			reach(hop{i, v, n.arcs[i].to, false}, n.arcs[i].cost)
		}
		if flow == nil {
			continue
		}
		for _, i := range n.in[v] {
			if flow[i] > 0 {
				reach(hop{i, v, n.arcs[i].from, true}, -n.arcs[i].cost)
			}
		}
	}
	return nil
}

type reached struct {
	vertex int
	far    int64
}

type queue []reached

func (q queue) Len() int           { return len(q) }
func (q queue) Less(i, j int) bool { return q[i].far < q[j].far }
func (q queue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)        { *q = append(*q, x.(reached)) }
func (q *queue) Pop() any {
	old := *q
	last := old[len(old)-1]
	*q = old[:len(old)-1]
	return last
}

// join adds shortest ways from the part at vertex 0 to the other parts and back,
// until all arcs that are taken hang together.
func (n *network) join() {
	for {
		here := n.part()
		elsewhere := make([]bool, len(n.out))
		for i, a := range n.arcs {
			if n.times[i] > 0 && !here[a.from] {
				elsewhere[a.from] = true
			}
		}
		if !slices.Contains(elsewhere, true) {
			return
		}
		var from []int
		for v, in := range here {
			if in {
				from = append(from, v)
			}
		}
		there := n.shortest(from, func(v int) bool { return elsewhere[v] }, nil, nil)
		first, last := there[0].from, there[len(there)-1].to
		back := n.shortest([]int{last}, func(v int) bool { return v == first }, nil, nil)
		for _, h := range slices.Concat(there, back) {
			n.times[h.arc]++
		}
	}
}

// part says which vertices can be reached from vertex 0 along arcs that are
// taken. As these are balanced, one can also get back.
func (n *network) part() []bool {
	in := make([]bool, len(n.out))
	in[0] = true
	for todo := []int{0}; len(todo) > 0; {
		v := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for _, i := range n.out[v] {
			if to := n.arcs[i].to; n.times[i] > 0 && !in[to] {
				in[to] = true
				todo = append(todo, to)
			}
		}
	}
	return in
}

// circuit orders the arcs into a closed walk from vertex 0 (C. Hierholzer, "Über
// die Möglichkeit, einen Linienzug ohne Wiederholung und ohne Unterbrechung zu
// umfahren", Mathematische Annalen 6, 1873).
func (n *network) circuit() (walk []int) {
	left := slices.Clone(n.times)
	next := make([]int, len(n.out)) // [vertex]: index in out
	way := []hop{{arc: -1, to: 0}}  // not yet in the walk
	for len(way) > 0 {
		h := way[len(way)-1]
		out := n.out[h.to]
		for next[h.to] < len(out) && left[out[next[h.to]]] == 0 {
			next[h.to]++
		}
		if next[h.to] < len(out) {
			i := out[next[h.to]]
			left[i]--
			way = append(way, hop{arc: i, from: h.to, to: n.arcs[i].to})
			continue
		}
		way = way[:len(way)-1]
		if h.arc >= 0 {
			walk = append(walk, h.arc)
		}
	}
	slices.Reverse(walk)
	return walk
}
