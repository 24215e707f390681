package timed

import (
	"slices"
	"time"

	"propwright/model"
	"propwright/model/machine"
)

// A moment is a step with its time since power-up, in milliseconds.
type moment struct {
	step
	at      int64
	entered int // the moment at which the state before it was entered
	pressed int // the first frame of the press that was going on before it, -1: none
}

// A Run is a sequence of steps from power-up. It holds a shortest way to a
// configuration and the steps after that.
type Run struct {
	x     *Space
	at    int // the configuration in Space.all
	steps []step
	lap   int // how many of steps, the last ones, go around a circle

	// event is how many of steps lead to the event that the run is about, with it;
	// from it to the last step at least least and at most most milliseconds pass.
	event       int
	least, most int64
}

// State is the state in the end.
func (r *Run) State() machine.StateID {
	if n := len(r.steps); n > 0 {
		return r.steps[n-1].state
	}
	return r.x.State(r.at)
}

// Name is a state's name.
func (r *Run) Name(s machine.StateID) string { return r.x.program.Name(s) }

// Lap are the states of the circle that a run ends with, in file order, each once;
// nil where it ends with none.
func (r *Run) Lap() []machine.StateID {
	var states []machine.StateID
	for _, h := range r.steps[len(r.steps)-r.lap:] {
		states = append(states, h.state)
	}
	slices.Sort(states)
	return slices.Compact(states)
}

// A Witness is what to do to a prop, from power-up, to see a run.
type Witness struct {
	Acts []machine.Act

	// Draws are the numbers to draw for choices and deadlines on the way, see
	// machine.NewDrawing; every further one is the greatest of its range.
	Draws []uint32

	Chosen []machine.StateID // those that chance chose, in order

	Lap        int   // how many of Acts, the last ones, go around the run's circle
	Event, End int64 // when the event that the run is about and its last step happen, in milliseconds
}

// Witness turns a run into acts and draws. It reports false where the times cannot
// be met: that can be so where a release has to come within less than a frame's
// time. It is false too for the zero Run.
func (r *Run) Witness() (Witness, bool) {
	if r.x == nil {
		return Witness{}, false
	}
	x := r.x
	path := x.all.steps(r.at)
	event := len(path) + r.event // moment 0 is power-up
	path = append(path, r.steps...)
	var delays []delayBound
	if r.event > 0 {
		delays = append(delays, delayBound{event, len(path), r.least, r.most})
	}
	ms, ok := x.times(path, delays...)
	if !ok {
		return Witness{}, false
	}
	acts, upTo := x.acts(ms)
	return Witness{
		Acts: acts, Draws: x.draws(ms), Chosen: chosen(ms),
		Lap:   len(acts) - upTo[len(path)-r.lap],
		Event: ms[event].at, End: ms[len(path)].at,
	}, true
}

// steps are those that lead to configuration i.
func (g *graph) steps(i int) (steps []step) {
	for ; g.configurations[i].parent >= 0; i = int(g.configurations[i].parent) {
		steps = append(steps, g.via(i))
	}
	slices.Reverse(steps)
	return steps
}

// A delayBound bounds the time from one moment to another, in milliseconds.
type delayBound struct {
	from, to    int // moments
	least, most int64
}

// times finds the earliest times that the steps' bounds and the delays
// allow. Moment 0 is power-up.
func (x *Space) times(hs []step, delays ...delayBound) ([]moment, bool) {
	ms := make([]moment, 1, len(hs)+1)
	ms[0] = moment{step: step{state: x.program.Start}, pressed: -1}
	entered, pressed := 0, -1
	for _, h := range hs {
		ms = append(ms, moment{step: h, entered: entered, pressed: pressed})
		i := len(ms) - 1
		if h.enters {
			entered = i
		}
		switch {
		case x.isPress(h):
			pressed = -1
			if x.buttons[h.event].tracked() {
				pressed = i
			}
		case h.kind == releaseHappens:
			pressed = -1
		}
	}
	// Differences of times have bounds below and above: later moments are
	// pushed up by lower bounds, earlier ones by upper bounds, until all hold.
	for range len(ms) + 8 {
		calm := true
		push := func(i int, at int64) {
			if ms[i].at < at {
				ms[i].at, calm = at, false
			}
		}
		for i := 1; i < len(ms); i++ {
			m := &ms[i]
			push(i, ms[i-1].at+gap(ms[i-1].step, m.step))
			push(i, ms[m.entered].at+m.when.sinceLo)
			push(m.entered, m.at-m.when.sinceHi)
			if m.pressed < 0 {
				continue
			}
			push(i, ms[m.pressed].at+m.when.heldLo)
			push(m.pressed, m.at-m.when.heldHi)
			if m.kind == releaseHappens {
				g := &x.buttons[ms[m.pressed].event]
				first := ms[m.pressed].at
				push(i, first+g.frameFrom(m.at-first-g.lasting)+g.lasting)
			}
		}
		for _, d := range delays {
			push(d.to, ms[d.from].at+d.least)
			push(d.from, ms[d.to].at-d.most)
		}
		if calm {
			return ms, true
		}
	}
	return nil, false
}

// gap is the least time from one step to the next: what is in order of
// one step can happen in one millisecond (rule 8).
func gap(a, b step) int64 {
	switch {
	case a.kind == 0: // power-up is before the first step
		return 1
	case b.kind.outside():
		return 1
	case a.kind.outside(), a.kind == doneHappens && b.kind == afterHappens:
		return 0
	}
	return 1
}

func (x *Space) isPress(h step) bool {
	return h.kind == actHappens && int(h.event) < len(x.buttons)
}

// draws are the numbers to draw at every entry of a state on the way: for a
// choice that leads there, then in file order of its timers: for one that goes off
// its time, for another the greatest. The last of them is not the greatest of its
// range.
func (x *Space) draws(ms []moment) []uint32 {
	var out []uint32
	needed := 0
	draw := func(lo, hi, n uint32) {
		if lo < hi {
			out = append(out, n)
			if n < hi {
				needed = len(out)
			}
		}
	}
	for i := range ms {
		if i > 0 && !ms[i].enters {
			continue
		}
		picked := 0
		pick := func(entry int) {
			for ; picked < len(ms[i].picks) && ms[i].picks[picked].entry == entry; picked++ {
				draw(0, ms[i].picks[picked].most, ms[i].picks[picked].n)
			}
		}
		for entry, s := range ms[i].through {
			pick(entry)
			for _, t := range x.modes[s].timers {
				draw(t.Lo, t.Hi, t.Hi)
			}
		}
		pick(len(ms[i].through))
		for k, t := range x.modes[ms[i].state].timers {
			n := t.Hi
			for j := i + 1; j < len(ms) && ms[j].entered == i; j++ {
				if ms[j].kind == afterHappens && ms[j].timer == k {
					n = min(ms[j].drawn, max(t.Lo, uint32(ms[j].at-ms[i].at)))
				}
			}
			draw(t.Lo, t.Hi, n)
		}
	}
	return out[:needed]
}

// chosen are the states for which a number was drawn.
func chosen(ms []moment) (states []machine.StateID) {
	for i := range ms {
		entered := append(ms[i].through[:len(ms[i].through):len(ms[i].through)], ms[i].state)
		for _, p := range ms[i].picks {
			states = append(states, entered[p.entry])
		}
	}
	return states
}

// acts writes the moments as acts that a hand can do; upTo tells how many of
// the acts lead to each moment.
func (x *Space) acts(ms []moment) (acts []machine.Act, upTo []int) {
	w := writer{x: x, letGoAt: -1}
	upTo = make([]int, len(ms))
	for i := 1; i < len(ms); i++ {
		m := &ms[i]
		switch {
		case m.kind == doneHappens && !m.enters && i < len(ms)-1: // nothing to see
		case m.kind != actHappens && m.input == 0:
			w.until(m.at)
		case x.isPress(m.step):
			w.until(m.at - 1)
			w.press(ms, i)
		default:
			w.until(m.at - 1)
			t := x.program.Events[m.event]
			if m.input != 0 {
				t = x.program.Events[m.input]
			}
			a := machine.Act{Kind: machine.ActRise, Name: t.Name}
			switch t.Kind {
			case model.Fall:
				a.Kind = machine.ActFall
			case model.Posted:
				a.Kind = machine.ActEvent
			}
			w.acts, w.now = append(w.acts, a), m.at
		}
		upTo[i] = len(w.acts)
	}
	return w.acts, upTo
}

// A writer writes acts and keeps the time that they take.
type writer struct {
	x       *Space
	acts    []machine.Act
	now     int64
	letGoAt int64 // -1: nothing is held
	held    string
}

// until waits for a time, and lets a held button go on the way.
func (w *writer) until(at int64) {
	if w.letGoAt >= 0 && w.letGoAt <= at {
		w.wait(w.letGoAt)
		w.acts = append(w.acts, machine.Act{Kind: machine.ActLetGo, Name: w.held})
		w.letGoAt = -1
	}
	w.wait(at)
}

func (w *writer) wait(at int64) {
	if at > w.now {
		w.acts = append(w.acts, machine.Act{Kind: machine.ActWait, For: time.Duration(at-w.now) * time.Millisecond})
		w.now = at
	}
}

// press writes a press with as many frames as its holds and its release ask
// for.
func (w *writer) press(ms []moment, i int) {
	x, m := w.x, &ms[i]
	button := &x.buttons[m.event]
	var (
		last     int64         // frame, in time since the first
		asked    time.Duration // the longest hold that fires
		end      int64         // of what has to happen before the release
		released bool
	)
	for j := i + 1; j < len(ms) && ms[j].pressed == i; j++ {
		end = ms[j].at - m.at + 1
		switch {
		case ms[j].kind == holdHappens:
			last, asked = ms[j].at-m.at, x.program.Events[ms[j].event].For
		case ms[j].kind == releaseHappens:
			last, released = ms[j].at-m.at-button.lasting, true
		case x.isPress(ms[j].step): // releases in the same step
			end--
		}
	}
	for !released && button.release >= 0 && last+button.lasting < end {
		last = button.frameFrom(last + 1)
	}
	busy := false // something else is done meanwhile
	for j := i + 1; j < len(ms) && ms[j].at <= m.at+last; j++ {
		busy = busy || ms[j].kind == actHappens || ms[j].input != 0
	}
	a := machine.Act{Kind: machine.ActPress, Name: x.program.Events[m.event].Name}
	w.now, w.letGoAt = m.at, -1
	switch {
	case last == 0:
	case busy:
		a.Kind = machine.ActHold
		w.letGoAt, w.held = m.at+last, a.Name
	default:
		a.Kind, a.For = machine.ActHold, time.Duration(last)*time.Millisecond
		if button.holdFrame(asked) == last {
			a.For = asked
		}
		w.now += last
	}
	w.acts = append(w.acts, a)
}
