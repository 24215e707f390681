package timed

import (
	"cmp"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/machine"
)

// A location is a configuration but for the clocks: what decides, together with
// them, what happens next. What decides nothing any more is left out, so that
// configurations that go on alike are one.
type location struct {
	spent    uint64 // bit i: timer i has been deferred
	state    machine.StateID
	back     machine.StateID // nowhere where it cannot matter
	deferred machine.StateID // the target to take at the routine's end, see machine.Move, or nowhere
	memory   int32           // in Space.memories
	button   int32           // whose press is going on and matters, -1: none
	fired    int16           // how many of its frames with holds have come
	last     int32           // in a closed graph, when in the press its last frame has come; see responses.settle
	unsure   bool            // in a closed graph, held counts from its last frame on: which that was is not known
	ended    bool            // the routine has ended
	arrival  arrival
	lag
	levels levels
}

const nowhere = machine.NoState

// An arrival says in which part of the machine's step a state was entered, or went
// on; what is due at once waits for the machine's next step where its part is over
// (rule 8).
type arrival uint8

const (
	byEvent arrival = iota
	byDone
	byAfter
	// In this part a timer was deferred: another one waits for the next step too. The
	// prop came to the state byAfter or otherwise: what came a step later for that is
	// not the same, since less can come between it and the routine's end.
	byLateDeferral
	byDeferral
)

// stepOn begins a later step in the same state.
func (x *Space) stepOn(c *location) {
	switch c.arrival {
	case byDeferral:
		c.arrival = x.arrive(c.state, byDone)
	case byLateDeferral:
		c.arrival = x.arrive(c.state, byAfter)
	}
}

// A mode is what the exploration needs to know of a state.
type mode struct {
	kind     model.StateKind
	acts     []act // what outside events do here, but for ignored ones
	done     *machine.Move
	length   int64 // when the routine's end makes a difference; -1: never
	timers   []machine.Timer
	backLive bool  // back can matter here
	instant  bool  // something may be due at once
	rest     int64 // see Options
}

type act struct {
	event machine.EventID
	move  *machine.Move
}

// A button is what one of the remote sends in time.
type button struct {
	first   int64           // from the first frame to the next, milliseconds
	period  int64           // from frame to frame after that; 0: it sends one frame a press
	lasting int64           // from the last frame to the release, milliseconds
	frames  []frame         // with holds, in time
	release machine.EventID // -1: none
}

type frame struct {
	at     int64 // milliseconds after the first frame
	events []machine.EventID
}

func modes(p *machine.Program, rest []int64) []mode {
	rs := make([]mode, len(p.Design.States))
	for i := range rs {
		s := machine.StateID(i)
		r := &rs[i]
		*r = mode{kind: p.Kind(s), length: p.Length[i], timers: p.Timers(s), done: p.Done(s), rest: rest[i]}
		for e := range p.Events {
			if m := p.Move(s, machine.EventID(e)); m != nil && !m.Stays() {
				r.acts = append(r.acts, act{machine.EventID(e), m})
			}
		}
		if r.done != nil && r.done.Stays() {
			r.done = nil
		}
		r.instant = r.length == 0 // even where its end makes no difference: Delays may be asked for it
		if r.done == nil && !r.defers() {
			r.length = -1 // the end makes no difference
		}
		for _, t := range r.timers {
			r.instant = r.instant || t.Lo == 0
		}
	}
	liveBacks(p, rs)
	return rs
}

// liveBacks finds the performing states from which back can be taken before
// another state that does not perform is left.
func liveBacks(p *machine.Program, rs []mode) {
	from := make([][]machine.StateID, len(rs)) // performing states that lead here
	var todo []machine.StateID
	for i := range rs {
		if rs[i].kind != model.Performing {
			continue
		}
		rs[i].moves(func(m *machine.Move) {
			if m.Target == machine.BackTarget {
				if !rs[i].backLive {
					rs[i].backLive = true
					todo = append(todo, machine.StateID(i))
				}
			}
			for _, to := range p.Targets(m) {
				from[to] = append(from[to], machine.StateID(i))
			}
		})
	}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for _, f := range from[s] {
			if !rs[f].backLive {
				rs[f].backLive = true
				todo = append(todo, f)
			}
		}
	}
}

// defers reports whether a move waits for the routine's end.
func (r *mode) defers() (yes bool) {
	r.moves(func(m *machine.Move) { yes = yes || m.Defer })
	return yes
}

// moves calls f for every move that a state may take or defer.
func (r *mode) moves(f func(*machine.Move)) {
	for _, a := range r.acts {
		f(a.move)
	}
	if r.done != nil && r.length >= 0 {
		f(r.done)
	}
	for i := range r.timers {
		f(&r.timers[i].Move)
	}
}

// buttons are those of the remote, each with the holds and the release that transitions
// wait for.
func buttons(p *machine.Program, period uint32) []button {
	gs := make([]button, len(p.Design.Remote.Buttons))
	for i := range gs {
		f := p.Frames(i, period)
		gs[i] = button{first: int64(f.First), period: int64(f.Period), lasting: int64(f.Release), release: -1}
	}
	holds := map[int][]machine.EventID{}
	for e, t := range p.Events {
		b, _ := p.Button(t.Name)
		switch t.Kind {
		case model.Hold:
			holds[b] = append(holds[b], machine.EventID(e))
		case model.Release:
			gs[b].release = machine.EventID(e)
		}
	}
	for b, es := range holds {
		slices.SortStableFunc(es, func(a, b machine.EventID) int { return cmp.Compare(p.Events[a].For, p.Events[b].For) })
		g := &gs[b]
		if g.period == 0 {
			continue // it cannot be held
		}
		for _, e := range es {
			at := max(g.first, g.holdFrame(p.Events[e].For))
			if k := len(g.frames); k == 0 || g.frames[k-1].at != at {
				g.frames = append(g.frames, frame{at: at})
			}
			f := &g.frames[len(g.frames)-1]
			if len(f.events) < machine.QueueLen {
				f.events = append(f.events, e)
			}
		}
	}
	return gs
}

// holdFrame is when the first frame comes that a hold for a time takes.
func (g *button) holdFrame(hold time.Duration) int64 {
	return g.frameFrom(int64(machine.Millis(hold)))
}

// frameFrom is when the first frame comes at a time of the press or after it;
// Never where none does.
func (g *button) frameFrom(at int64) int64 {
	switch {
	case at <= 0:
		return 0
	case g.period == 0:
		return Never
	case at <= g.first:
		return g.first
	}
	return g.first + (at-g.first+g.period-1)/g.period*g.period
}

// frameBefore is when the frame comes that precedes the repeat at a time.
func (g *button) frameBefore(at int64) int64 {
	if at <= g.first {
		return 0
	}
	return at - g.period
}

// tracked reports whether some transition names a hold or the release, so that a
// press matters after its first frame.
func (g *button) tracked() bool { return len(g.frames) > 0 || g.release >= 0 }
