package check

import (
	"errors"
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// ErrTooLarge is the error of a design with more configurations than can be
// looked through.
var ErrTooLarge = errors.New("too many situations")

// mostConfigurations is a matter of memory: some 300 bytes each, and up to 16
// ways on of 32 bytes.
const mostConfigurations = 1 << 20

// An exploration is everything that can come about.
type exploration struct {
	program *machine.Program
	modes   []mode
	grips   []grip
	all     *graph
	firsts  []int // [state] its first configuration in all, -1: none

	stopping *stopper // see stopper
	leaving  *lonely  // see lonely
}

// A graph holds configurations, numbered in the order in which they were found:
// of two the earlier one takes no more steps to get to.
type graph struct {
	x              *exploration
	configurations []configuration
	edges          []edge
	index          map[location][]int // numbers of those with the location

	// quiet: nobody does anything, and a button that is down is let go.
	quiet bool

	// resting: nothing happens by itself in a dormant state.
	resting bool

	vias []step // of edges; kept where quiet only
}

type configuration struct {
	location
	zone
	parent int // number of the one before, -1: none
	via    step
	edges  [2]int // from, to in graph.edges; equal before the configuration was explored
}

// An edge is one way on from a configuration.
type edge struct {
	to      int
	kind    stepKind
	timer   int  // of afterHappens
	instant bool // can take no time
}

// A step is what leads from one configuration to the next.
type step struct {
	kind   stepKind
	event  machine.EventID // of actHappens
	timer  int             // of afterHappens
	drawn  uint32          // of afterHappens: the latest that it may be drawn
	when   constraint
	enters bool            // a state is entered
	state  machine.StateID // the state afterwards
	// through are the states that are entered and left again before state, in
	// the same millisecond, by further events of the same frame.
	through []machine.StateID
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

// explore finds all configurations of a program. Buttons whose codes do not tell
// it send a frame every period milliseconds while they are down.
// More than most of them are an error that wraps ErrTooLarge.
func explore(p *machine.Program, period uint32, most int) (*exploration, error) {
	x := &exploration{
		program: p, modes: modes(p), grips: grips(p, period),
	}
	x.all = newGraph(x, false)
	start := location{state: p.Start, back: nowhere, deferred: nowhere, button: -1}
	// Power-up is before the first step: what is due at once waits for it.
	start.arrival = x.arrive(p.Start, byAfter)
	x.all.add(start, entry, -1, step{})
	for i := 0; i < len(x.all.configurations); i++ {
		if i >= most || len(x.all.edges) > 16*most {
			return nil, fmt.Errorf("the design has %w (over %d) to look through: use fewer states that perform, or fewer transitions that defer or hold", ErrTooLarge, most)
		}
		x.all.expand(i)
	}
	x.firsts = slices.Repeat([]int{-1}, len(x.modes))
	for i := range x.all.configurations {
		if s := x.all.configurations[i].state; x.firsts[s] < 0 {
			x.firsts[s] = i
		}
	}
	return x, nil
}

func newGraph(x *exploration, quiet bool) *graph {
	return &graph{x: x, quiet: quiet, index: map[location][]int{}}
}

// add gives the numbers of the configurations that a location with a zone is made
// of. Where configurations known already have a part of it, only the rest is new;
// but in a quiet graph every zone stays whole, so that every way through the
// graph can be gone.
func (g *graph) add(c location, z zone, parent int, via step) []int {
	if g.quiet {
		for _, i := range g.index[c] {
			if g.configurations[i].zone == z {
				return []int{i}
			}
		}
		g.configurations = append(g.configurations, configuration{location: c, zone: z, parent: parent, via: via})
		g.index[c] = append(g.index[c], len(g.configurations)-1)
		return []int{len(g.configurations) - 1}
	}
	var known []int
	rest := []zone{z}
	for _, i := range g.index[c] {
		had := len(known)
		for k := 0; k < len(rest); k++ {
			left, covered := g.configurations[i].cut(rest[k])
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
		i := len(g.configurations)
		g.configurations = append(g.configurations, configuration{location: c, zone: z, parent: parent, via: via})
		g.index[c] = append(g.index[c], i)
		known = append(known, i)
	}
	return known
}

// expand finds the ways on from a configuration.
func (g *graph) expand(i int) {
	from := len(g.edges)
	if !g.quiet {
		g.outside(i)
	}
	g.button(i)
	if !g.resting || g.x.modes[g.configurations[i].state].kind != model.Dormant {
		g.inside(i)
	}
	g.configurations[i].edges = [2]int{from, len(g.edges)}
}

// next are the ways on from an explored configuration.
func (g *graph) next(i int) []edge {
	return g.edges[g.configurations[i].edges[0]:g.configurations[i].edges[1]]
}

// path are the numbers of the configurations from the first one to number i.
func (g *graph) path(i int) []int {
	var path []int
	for ; i >= 0; i = g.configurations[i].parent {
		path = append(path, i)
	}
	slices.Reverse(path)
	return path
}

// due is when the configuration's routine ends, in time since entry; far where
// it does not.
func (n *configuration) due(r *mode) int64 {
	if r.length < 0 || n.ended {
		return far
	}
	if n.arrival != byEvent {
		return max(r.length, 1)
	}
	return r.length
}

// latest is when a timer goes off at the latest; far where it is spent.
func (n *configuration) latest(r *mode, timer int) int64 {
	if n.isSpent(timer) {
		return far
	}
	return max(int64(r.timers[timer].Hi), n.soonest())
}

// step is the first time since entry at which a timer can go off.
func (n *configuration) soonest() int64 {
	if n.arrival == byAfter {
		return 1
	}
	return 0
}

func (n *configuration) isSpent(timer int) bool { return timer < 64 && n.spent>>timer&1 == 1 }

// limits are how long the configuration can last if nothing comes from outside.
func (g *graph) limits(n *configuration) constraint {
	r := &g.x.modes[n.state]
	s := constraint{-far, n.due(r), -far, far}
	for t := range r.timers {
		s.sinceHi = min(s.sinceHi, n.latest(r, t))
	}
	if n.button >= 0 {
		s.heldHi = bound(g.letGoBy(n) - 1) // outside events come first
	}
	return s
}

// letGoBy is when in a press its next hold or its release comes at the latest.
func (g *graph) letGoBy(n *configuration) int64 {
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
func (g *graph) soon(n *configuration, ofPress bool) constraint {
	s := g.limits(n)
	s.sinceLo, s.heldLo = n.since+1, bound(n.held+1)
	if ofPress && n.button >= 0 {
		s.heldHi = g.letGoBy(n)
	}
	return s
}
