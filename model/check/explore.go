package check

import (
	"errors"
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// ErrTooLarge is the error of a design with more situations than can be
// looked through.
var ErrTooLarge = errors.New("too many situations")

// mostSituations is a matter of memory: some 300 bytes each, and up to 16
// ways on of 32 bytes.
const mostSituations = 1 << 20

// An exploration is everything that can come about.
type exploration struct {
	program *machine.Program
	rooms   []room
	grips   []grip
	all     *graph
	firsts  []int // [state] its first situation in all, -1: none

	stopping *stopper // see stopper
	leaving  *lonely  // see lonely
}

// A graph holds situations, numbered in the order in which they were found:
// of two the earlier one takes no more happenings to get to.
type graph struct {
	x     *exploration
	nodes []node
	edges []edge
	index map[config][]int // numbers of the nodes with the config

	// quiet: nobody does anything, and a button that is down is let go.
	quiet bool

	// resting: nothing happens by itself in a dormant state.
	resting bool

	vias []happening // of edges; kept where quiet only
}

type node struct {
	config
	zone
	parent int // number of the node before, -1: none
	via    happening
	edges  [2]int // from, to in graph.edges; equal before the node was explored
}

// An edge is one way on from a situation.
type edge struct {
	to      int
	kind    happeningKind
	timer   int  // of afterHappens
	instant bool // can take no time
}

// A happening is what leads from one situation to the next.
type happening struct {
	kind   happeningKind
	event  machine.EventID // of actHappens
	timer  int             // of afterHappens
	drawn  uint32          // of afterHappens: the latest that it may be drawn
	when   span
	enters bool            // a state is entered
	state  machine.StateID // the state afterwards
	// through are the states that are entered and left again before state, in
	// the same step, by further events of the same frame.
	through []machine.StateID
}

type happeningKind uint8

const (
	actHappens     happeningKind = iota + 1 // a first frame, or an input changes
	holdHappens                             // a frame with holds
	releaseHappens                          // a release is due
	doneHappens
	afterHappens
)

func (k happeningKind) outside() bool { return k <= releaseHappens }

// explore finds all situations of a program. Buttons whose codes do not tell
// it send a frame every period milliseconds while they are down.
// More than most of them are an error that wraps ErrTooLarge.
func explore(p *machine.Program, period uint32, most int) (*exploration, error) {
	x := &exploration{
		program: p, rooms: rooms(p), grips: grips(p, period),
	}
	x.all = newGraph(x, false)
	start := config{state: p.Start, back: nowhere, deferred: nowhere, button: -1}
	// Power-up is before the first step: what is due at once waits for it.
	start.arrival = x.arrive(p.Start, byAfter)
	x.all.add(start, entry, -1, happening{})
	for i := 0; i < len(x.all.nodes); i++ {
		if i >= most || len(x.all.edges) > 16*most {
			return nil, fmt.Errorf("the design has %w (over %d) to look through: use fewer states that perform, or fewer transitions that defer or hold", ErrTooLarge, most)
		}
		x.all.expand(i)
	}
	x.firsts = slices.Repeat([]int{-1}, len(x.rooms))
	for i := range x.all.nodes {
		if s := x.all.nodes[i].state; x.firsts[s] < 0 {
			x.firsts[s] = i
		}
	}
	return x, nil
}

func newGraph(x *exploration, quiet bool) *graph {
	return &graph{x: x, quiet: quiet, index: map[config][]int{}}
}

// add gives the numbers of the situations that a config with a zone is made
// of. Where situations known already have a part of it, only the rest is new;
// but in a quiet graph every zone stays whole, so that every way through the
// graph can be gone.
func (g *graph) add(c config, z zone, parent int, via happening) []int {
	if g.quiet {
		for _, i := range g.index[c] {
			if g.nodes[i].zone == z {
				return []int{i}
			}
		}
		g.nodes = append(g.nodes, node{config: c, zone: z, parent: parent, via: via})
		g.index[c] = append(g.index[c], len(g.nodes)-1)
		return []int{len(g.nodes) - 1}
	}
	var known []int
	rest := []zone{z}
	for _, i := range g.index[c] {
		had := len(known)
		for k := 0; k < len(rest); k++ {
			left, covered := g.nodes[i].cut(rest[k])
			if !covered {
				continue
			}
			if len(known) == had {
				known = append(known, i)
			}
			rest = slices.Replace(rest, k, k+1, left...)
			k += len(left) - 1
		}
		if len(rest) == 0 {
			return known
		}
	}
	for _, z := range rest {
		i := len(g.nodes)
		g.nodes = append(g.nodes, node{config: c, zone: z, parent: parent, via: via})
		g.index[c] = append(g.index[c], i)
		known = append(known, i)
	}
	return known
}

// expand finds the ways on from a situation.
func (g *graph) expand(i int) {
	from := len(g.edges)
	if !g.quiet {
		g.outside(i)
	}
	g.button(i)
	if !g.resting || g.x.rooms[g.nodes[i].state].kind != model.Dormant {
		g.inside(i)
	}
	g.nodes[i].edges = [2]int{from, len(g.edges)}
}

// next are the ways on from an explored situation.
func (g *graph) next(i int) []edge { return g.edges[g.nodes[i].edges[0]:g.nodes[i].edges[1]] }

// path are the numbers of the situations from the first one to number i.
func (g *graph) path(i int) []int {
	var path []int
	for ; i >= 0; i = g.nodes[i].parent {
		path = append(path, i)
	}
	slices.Reverse(path)
	return path
}

// due is when the situation's routine ends, in time since entry; far where
// it does not.
func (n *node) due(r *room) int64 {
	if r.length < 0 || n.ended {
		return far
	}
	if n.arrival != byEvent {
		return max(r.length, 1)
	}
	return r.length
}

// latest is when a timer goes off at the latest; far where it is spent.
func (n *node) latest(r *room, timer int) int64 {
	if n.isSpent(timer) {
		return far
	}
	return max(int64(r.timers[timer].Hi), n.step())
}

// step is the first time since entry at which a timer can go off.
func (n *node) step() int64 {
	if n.arrival == byAfter {
		return 1
	}
	return 0
}

func (n *node) isSpent(timer int) bool { return timer < 64 && n.spent>>timer&1 == 1 }

// limits are how long the situation can last if nothing comes from outside.
func (g *graph) limits(n *node) span {
	r := &g.x.rooms[n.state]
	s := span{-far, n.due(r), -far, far}
	for t := range r.timers {
		s.sinceHi = min(s.sinceHi, n.latest(r, t))
	}
	if n.button >= 0 {
		s.heldHi = bound(g.letGoBy(n) - 1) // outside events come first
	}
	return s
}

// letGoBy is when in a press its next hold or its release comes at the latest.
func (g *graph) letGoBy(n *node) int64 {
	grip := &g.x.grips[n.button]
	switch {
	case g.quiet:
		return grip.lasting
	case n.fired == len(grip.frames):
		return far
	case grip.release < 0:
		return grip.frames[n.fired].at
	}
	return grip.frameBefore(grip.frames[n.fired].at) + grip.lasting
}

// soon are the limits for something from outside: in a later step. What the
// press itself brings can be as late as letGoBy.
func (g *graph) soon(n *node, ofPress bool) span {
	s := g.limits(n)
	s.sinceLo, s.heldLo = n.since+1, bound(n.held+1)
	if ofPress && n.button >= 0 {
		s.heldHi = g.letGoBy(n)
	}
	return s
}
