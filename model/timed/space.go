package timed

import (
	"iter"
	"slices"
	"unsafe"

	"propwright/model"
	"propwright/model/machine"
)

// Options are what an exploration takes from outside.
type Options struct {
	// Period is the time from frame to frame of a button that is kept down and
	// whose code does not tell it, in milliseconds.
	Period uint32

	// Rest gives for each state how long after its entry the prop is at rest in
	// it, in milliseconds; Never where it need not come to rest there.
	Rest []int64

	Bytes int // of memory that configurations may take, as Size counts them
}

// A Space is all configurations of a program that can come about, with the steps
// between them.
type Space struct {
	program *machine.Program
	options Options
	modes   []mode
	buttons []button
	inputs  []inputEdge
	all     *graph
	firsts  []int // [state] its first configuration in all, -1: none

	// Of a state that is entered and left again in one step there need not be a
	// configuration. By state:
	passed []int  // the first configuration in all from which a step leads by it, -1: none
	left   []bool // it is left for another one
	kept   int    // bytes, of all graphs

	zones []zone         // of all graphs, each once
	zone  map[zone]int32 // the number of each

	memories []memory         // of all graphs, each once; the first is that at power-up
	memory   map[string]int32 // the number of each
	chances  chances

	responses *responses
}

// A graph holds configurations, numbered in the order in which they were found:
// of two the earlier one takes no more steps to get to. Of a way on it keeps where
// it leads; the step itself is worked out again where a witness asks for it.
type graph struct {
	x              *Space
	configurations []node
	index          map[place]int32  // the first configuration there
	shelves        map[int32]*shelf // of places with many, by the first
	block          []edge           // the last of the blocks that edges are kept in

	// closed: no further act comes, and a button that is down is let go.
	closed bool

	known []int     // room for add
	rest  []zone    // room for add
	near  []int32   // room for add
	edges []edge    // room for expand
	room  []outcome // room for act
}

type configuration struct {
	location
	zone
}

// A place is where a graph looks for a configuration: by its location and, in a closed
// graph, where none is part of another, by its zone.
type place struct {
	location
	zone int32 // in Space.zones; 0 in an open graph
}

// A node is a configuration as a graph keeps it.
type node struct {
	location
	zone   int32  // in Space.zones
	parent int32  // number of the one before, -1: none
	next   int32  // number of the next one at the same place, -1: none
	edges  []edge // nil before the configuration was explored
}

// An edge is one way on from a configuration.
type edge struct {
	to      int32
	timer   int32 // of afterHappens
	kind    stepKind
	instant bool // can take no time
	dormant bool // in all: it leads by a dormant state
}

const (
	memoryBytes   = 3 * int(unsafe.Sizeof(memory{})) // in memories, and in a map that is half empty
	edgeBytes     = int(unsafe.Sizeof(edge{}))
	nodeBytes     = int(unsafe.Sizeof(node{}))
	zoneBytes     = 3 * int(unsafe.Sizeof(zone{}))                          // in zones, and in a map that is half empty
	locationBytes = 2 * int(unsafe.Sizeof(place{})+unsafe.Sizeof(int32(0))) // in an index, which is half empty
	blockEdges    = 1 << 14
)

// A step is what leads from one configuration to the next.
type step struct {
	kind   stepKind
	event  machine.EventID // of actHappens
	timer  int             // of afterHappens
	drawn  uint32          // of afterHappens: the latest that it may be drawn
	when   guard
	enters bool            // a state is entered
	state  machine.StateID // the state afterwards
	// through are the states that are entered and left again before state, in
	// the same millisecond, by further events of the same step.
	through []machine.StateID
	picks   []pick
	input   machine.EventID // of holdHappens and releaseHappens: an input changes in the same step; 0: none does
}

type stepKind uint8

const (
	actHappens     stepKind = iota + 1 // a first frame, or an input changes
	holdHappens                        // a frame with holds
	releaseHappens                     // a release is due
	doneHappens
	afterHappens
)

func (k stepKind) outside() bool { return k <= releaseHappens }

// Explore finds all configurations of a program. Where they take more memory than
// the options allow, it stops: see Full.
func Explore(p *machine.Program, o Options) *Space {
	x := &Space{program: p, options: o, modes: modes(p, o.Rest), buttons: buttons(p, o.Period), inputs: inputEdges(p), zone: map[zone]int32{}, memory: map[string]int32{}}
	x.all = newGraph(x, false)
	x.responses = &responses{newGraph(x, true)}
	x.passed, x.left = slices.Repeat([]int{-1}, len(x.modes)), make([]bool, len(x.modes))
	x.recall(memory{chosen: machine.NoState, turns: make([]int, len(p.Choices))})
	start := location{state: p.Start, back: nowhere, deferred: nowhere, button: -1}
	// Power-up is before the first step: what is due at once waits for it.
	start.arrival = x.arrive(p.Start, byAfter)
	x.all.add(start, &entry, -1)
	for i := 0; i < len(x.all.configurations) && !x.Full(); i++ {
		x.all.expand(i)
	}
	x.firsts = slices.Repeat([]int{-1}, len(x.modes))
	for i := range x.all.configurations {
		if s := x.all.configurations[i].state; x.firsts[s] < 0 {
			x.firsts[s] = i
		}
	}
	return x
}

// Full reports whether there was no memory left for all configurations, or for
// those that a question was about: then what is not found may still come about.
func (x *Space) Full() bool { return x.kept > x.options.Bytes }

// A Size is how much was found.
type Size struct {
	Configurations int
	Bytes          int // of memory, of what questions asked for too
	States         int // that have a configuration

	Largest    machine.StateID // the state with the most configurations
	LargestHas int
}

// Size counts what was found.
func (x *Space) Size() Size {
	z := Size{Configurations: len(x.all.configurations), Bytes: x.kept}
	of := make([]int, len(x.modes)) // configurations
	for i := range x.all.configurations {
		s := x.all.configurations[i].state
		if of[s]++; of[s] == 1 {
			z.States++
		}
		if of[s] > of[z.Largest] {
			z.Largest = s
		}
	}
	z.LargestHas = of[z.Largest]
	return z
}

// First is the configuration in a state that takes the fewest steps to get to; false
// where there is none. Of two configurations the one with the lower number takes no
// more steps.
func (x *Space) First(s machine.StateID) (configuration int, ok bool) {
	return x.firsts[s], x.firsts[s] >= 0
}

// To is a shortest run to a configuration.
func (x *Space) To(configuration int) Run { return Run{x: x, at: configuration} }

// Reaches reports whether a state can be entered, be it only to be left in the same
// step, for which it need have no configuration.
func (x *Space) Reaches(s machine.StateID) bool { return x.firsts[s] >= 0 || x.passed[s] >= 0 }

// Leaves reports whether something leads out of a state.
func (x *Space) Leaves(s machine.StateID) bool { return x.left[s] }

// State is the state of a configuration.
func (x *Space) State(configuration int) machine.StateID {
	return x.all.configurations[configuration].state
}

// Next gives the configurations that steps lead to from one: by the timer of its
// state that goes off, or -1.
func (x *Space) Next(configuration int) iter.Seq2[int, int] {
	return func(yield func(to, timer int) bool) {
		for _, e := range x.all.next(configuration) {
			timer := -1
			if e.kind == afterHappens {
				timer = int(e.timer)
			}
			if !yield(int(e.to), timer) {
				return
			}
		}
	}
}

// GoesOff is when a timer of a configuration's state can go off, as the first of those
// that have not, in milliseconds since the state's entry.
func (x *Space) GoesOff(configuration, timer int) (least, most int64) {
	n := &x.all.configurations[configuration]
	r := &x.modes[n.state]
	hi, _ := n.deadline(r, timer)
	least = max(int64(r.timers[timer].Lo), n.soonest())
	return least, max(least, min(hi, n.due(r)-1))
}

func newGraph(x *Space, closed bool) *graph {
	return &graph{x: x, closed: closed, index: map[place]int32{}, shelves: map[int32]*shelf{}}
}

// at is a configuration by its number.
func (g *graph) at(i int) configuration {
	n := &g.configurations[i]
	return configuration{n.location, g.x.zones[n.zone]}
}

// number is the place of a zone in zones.
func (x *Space) number(z *zone) int32 {
	if len(x.zones) > 0 && *z == x.zones[0] { // most are entry
		return 0
	}
	if n, ok := x.zone[*z]; ok {
		return n
	}
	n := int32(len(x.zones))
	x.zones = append(x.zones, *z)
	x.zone[*z] = n
	x.kept += zoneBytes
	return n
}

// add gives the numbers of the configurations that a location with a zone is made
// of; they are good until the next add. Where configurations known already have a
// part of it, only the rest is new; but in a closed graph every zone stays whole,
// so that every way through the graph can be gone.
func (g *graph) add(c location, z *zone, parent int) []int {
	g.known, g.rest = g.known[:0], append(g.rest[:0], *z)
	at := place{location: c}
	if g.closed {
		at.zone = g.x.number(z)
	}
	first, ok := g.index[at]
	if !ok {
		first = -1
	}
	last, alike := int32(-1), 0
	s := g.shelves[first]
	if s != nil {
		g.near = s.near(z, g.near[:0])
		for _, i := range g.near {
			if g.cut(int(i), z) {
				return g.known
			}
		}
	} else {
		for i := first; i >= 0; i = g.configurations[i].next {
			if last, alike = i, alike+1; g.cut(int(i), z) {
				return g.known
			}
		}
	}
	for k := range g.rest {
		i := len(g.configurations)
		if i == cap(g.configurations) {
			g.configurations = slices.Grow(g.configurations, i+16)
		}
		g.configurations = append(g.configurations, node{location: c, zone: g.x.number(&g.rest[k]), parent: int32(parent), next: -1})
		switch {
		case s != nil:
			s.put(&g.rest[k], int32(i))
			g.x.kept += spreadBytes
		case last >= 0:
			g.configurations[last].next = int32(i)
		default:
			first = int32(i)
			g.index[at] = first
			g.x.kept += locationBytes
		}
		last, alike = int32(i), alike+1
		g.x.kept += nodeBytes
		g.known = append(g.known, i)
	}
	if s == nil && alike > manyAlike {
		s = new(shelf)
		g.x.kept += shelfBytes
		for i := first; i >= 0; i = g.configurations[i].next {
			s.put(&g.x.zones[g.configurations[i].zone], i)
			g.x.kept += spreadBytes
		}
		g.shelves[first] = s
	}
	return g.known
}

// cut takes from rest what configuration i has of it, and reports whether nothing is
// left.
func (g *graph) cut(i int, z *zone) bool {
	known := &g.x.zones[g.configurations[i].zone]
	if len(g.known) == 0 && known.covers(z) {
		g.known = append(g.known, i)
		return true
	}
	has := false
	for k := 0; k < len(g.rest); k++ {
		left, covered := known.cut(&g.rest[k])
		if !covered {
			continue
		}
		has = true
		g.rest = slices.Replace(g.rest, k, k+1, left...)
		k += len(left) - 1
	}
	if has {
		g.known = append(g.known, i)
	}
	return len(g.rest) == 0
}

// expand finds the ways on from a configuration.
func (g *graph) expand(i int) {
	g.edges = g.edges[:0]
	if !g.x.Full() {
		g.outcomes(i, func(o *outcome, instant bool) bool {
			dormant := g == g.x.all && g.x.pass(i, &o.via)
			for _, to := range g.add(o.location, &o.zone, i) {
				g.edges = append(g.edges, edge{int32(to), int32(o.via.timer), o.via.kind, instant, dormant})
			}
			return true
		})
	}
	if free := cap(g.block) - len(g.block); g.block == nil || free < len(g.edges) {
		size := max(len(g.edges), min(2*cap(g.block)+16, blockEdges))
		g.block = make([]edge, 0, size)
		g.x.kept += size * edgeBytes
	}
	from := len(g.block)
	g.block = append(g.block, g.edges...)
	g.configurations[i].edges = g.block[from:len(g.block):len(g.block)]
}

// pass notes what a step from a configuration in all leaves and leads by, and
// reports whether a dormant state is among the latter.
func (x *Space) pass(i int, via *step) (dormant bool) {
	if !via.enters {
		return false
	}
	at := x.all.configurations[i].state
	for _, s := range via.through {
		if x.passed[s] < 0 {
			x.passed[s] = i
		}
		dormant = dormant || x.modes[s].kind == model.Dormant
		x.left[at] = x.left[at] || s != at
		at = s
	}
	x.left[at] = x.left[at] || via.state != at
	return dormant
}

// next are the ways on from a configuration, which in a closed graph need not have
// been explored.
func (g *graph) next(i int) []edge {
	if g.closed && g.configurations[i].edges == nil {
		g.expand(i)
	}
	return g.configurations[i].edges
}

// vias are the steps of the ways on from a configuration of a closed graph.
func (g *graph) vias(i int) (vias []step) {
	g.outcomes(i, func(o *outcome, _ bool) bool {
		vias = append(vias, o.via)
		return true
	})
	return vias
}

// via is the step that a configuration other than the first was found by.
func (g *graph) via(i int) (via step) {
	n := g.at(i)
	g.outcomes(int(g.configurations[i].parent), func(o *outcome, _ bool) bool {
		if o.location != n.location || !o.zone.covers(&n.zone) {
			return true
		}
		via = o.via
		return false
	})
	return via
}

// due is when the configuration's routine ends, in time since entry; Never where
// it does not.
func (n *location) due(r *mode) int64 {
	if r.length < 0 || n.ended {
		return Never
	}
	if n.arrival != byEvent {
		return max(r.length, 1)
	}
	return r.length
}

// limits are how long the configuration can last if nothing comes from outside.
func (g *graph) limits(n *location) guard {
	s := guard{sinceLo: -Never, sinceHi: n.lasts(&g.x.modes[n.state]), heldLo: -Never, heldHi: Never}
	if n.arrival >= byLateDeferral { // what is next comes in a later step
		s.later = 1
	}
	if n.button >= 0 {
		s.heldHi = bound(g.letGoBy(n) - 1) // outside events come first
	}
	return s
}

// letGoBy is when in a press its next hold or its release comes at the latest.
func (g *graph) letGoBy(n *location) int64 {
	button := &g.x.buttons[n.button]
	switch {
	case g.closed, button.period == 0:
		return int64(n.last) + button.lasting
	case int(n.fired) == len(button.frames):
		return Never
	case button.release < 0:
		return button.frames[n.fired].at
	}
	return button.frameBefore(button.frames[n.fired].at) + button.lasting
}

// soon are the limits for something from outside: in a later step. What the
// press itself brings can be as late as letGoBy.
func (g *graph) soon(n *location, ofPress bool) guard {
	s := g.limits(n)
	s.later = 1
	if ofPress && n.button >= 0 {
		s.heldHi = g.letGoBy(n)
	}
	return s
}
