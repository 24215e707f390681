package check

import (
	"slices"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
	"propwright/model/timed"
)

// A way holds how the prop first comes to each state if it is left in peace between acts:
// presses, changes of inputs and events of the maker's code. A state with a routine is
// left when the routine has ended. `back` is not followed, as its target depends on
// the past.
type way struct {
	program *machine.Program
	order   []machine.StateID                   // in the order of first entry
	before  map[machine.StateID]machine.StateID // the state from which each is entered
}

// calmly returns the way with the fewest steps to each state.
func calmly(p *machine.Program) *way {
	order, before := []machine.StateID{p.Start}, map[machine.StateID]machine.StateID{p.Start: p.Start}
	for k := 0; k < len(order); k++ {
		s := order[k]
		follow := func(m *machine.Move) {
			if m == nil || m.Stays() || m.Defer {
				return
			}
			for _, to := range p.Targets(m) {
				if _, seen := before[to]; !seen {
					before[to] = s
					order = append(order, to)
				}
			}
		}
		if p.Design.States[s].Plays != "" {
			if length := p.Length[s]; length >= 0 && length < stays(p, s) {
				follow(p.Done(s))
			}
			continue
		}
		for e, on := range p.Events {
			switch on.Kind {
			case model.Press, model.Rise, model.Fall, model.Posted:
				follow(p.Move(s, machine.EventID(e)))
			}
		}
		for _, t := range p.Timers(s) {
			if int64(t.Lo) == stays(p, s) {
				follow(&t.Move)
			}
		}
	}
	return &way{p, order, before}
}

// stays returns how long the prop can stay in a state before one of its timers can
// fire, in milliseconds; timed.Never without a timer.
func stays(p *machine.Program, s machine.StateID) int64 {
	least := timed.Never
	for _, t := range p.Timers(s) {
		if !t.Stays() {
			least = min(least, int64(t.Lo))
		}
	}
	return least
}

// found returns where each state finds a servo when the prop comes to it on the way,
// or the servo's whole travel if that is unknown.
func (w *way) found(o *model.Output) []motion.Range {
	p := w.program
	at := slices.Repeat([]motion.Range{anywhere(o)}, len(p.Design.States))
	at[p.Start] = motion.Range{Lo: float64(o.Rest), Hi: float64(o.Rest)}
	for _, s := range w.order[1:] {
		before := w.before[s]
		at[s] = left(p, before, o, at[before])
	}
	return at
}

// left returns where a servo is when a state is left that found it at a place.
func left(p *machine.Program, s machine.StateID, o *model.Output, at motion.Range) motion.Range {
	d, st := p.Design, &p.Design.States[s]
	length := stays(p, s)
	if d.Routine(st.Plays) != nil {
		length = p.Length[s]
	}
	// settle returns where the servo is after a move that takes some time.
	settle := func(to model.Degrees, takes time.Duration) motion.Range {
		if takes.Milliseconds() > length {
			return anywhere(o)
		}
		return motion.Range{Lo: float64(to), Hi: float64(to)}
	}
	if slices.ContainsFunc(st.Drift, func(dr model.Drift) bool { return dr.Output == o.Name }) {
		return anywhere(o)
	}
	if r := d.Routine(st.Plays); r != nil {
		if ls := legs(d, r, o, nil); len(ls) > 0 {
			last := &ls[len(ls)-1]
			return settle(last.to, last.at+last.rests)
		}
	}
	if to, takes, ok := entry(d, st, o); ok {
		return settle(to, takes)
	}
	return at
}

// entry returns where a state sends a servo on entry, how long that takes from
// anywhere, and whether it does so.
func entry(d *model.Design, st *model.State, o *model.Output) (to model.Degrees, takes time.Duration, ok bool) {
	for _, c := range motion.Entry(d, st) {
		if c.Output == o.Name {
			to = clamp(o, c.Action.To)
			return to, motion.Settle(o, to, c.Action.Over, c.Action.Ease, anywhere(o)), true
		}
	}
	return 0, 0, false
}
