package bench_test

import (
	"cmp"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// A walk looks for what has not been tried yet: every event in every state it
// can come in, and every state left alone. It works on configurations, so it
// finds the way also where only `back` or a deferred transition leads there.
type walk struct {
	p     *machine.Program
	tried map[trial]bool
}

// A trial is an event in a state, or a state left alone.
type trial struct {
	state machine.StateID
	event machine.EventID // or alone
}

const alone machine.EventID = -1

// place is a configuration: what decides where an event leads.
type place struct {
	state, back machine.StateID
	deferred    *machine.Move
	inputs      uint32 // a bit for each active one
}

// An errand is something one can do at the prop.
type errand struct {
	button int  // or -1
	hold   time // how long
	input  int  // or -1; neither: wait
}

// note records what the machine has handled as tried.
func (w *walk) note(c machine.Change) {
	switch c.Cause {
	case machine.CauseEvent:
		w.tried[trial{c.From, c.Event}] = true
	case machine.CauseDone, machine.CauseDeferred, machine.CauseAfter:
		w.tried[trial{c.From, alone}] = true
	}
}

// leg is an errand from a place: what it tries and where it leads.
type leg struct {
	errand
	cost   time
	trials []trial
	to     []place // more than one where chance decides
}

// legs gives all errands from a place.
func (w *walk) legs(at place) []leg {
	d := w.p.Design
	var legs []leg
	for b := range d.Remote.Buttons {
		name := d.Remote.Buttons[b].Name
		pressed := leg{errand: errand{button: b, input: -1}, cost: 100}
		end := w.event(&pressed, at, machine.EventID(b))
		held := pressed
		held.trials = slices.Clone(pressed.trials)
		pressed.finish(w, end, name)
		legs = append(legs, pressed)
		for _, e := range w.holds(name) {
			end = w.event(&held, end, e)
			held.hold = machine.Millis(w.p.Events[e].For)
			l := held
			l.trials = slices.Clone(held.trials)
			l.cost += l.hold
			l.finish(w, end, name)
			legs = append(legs, l)
		}
	}
	for i := range d.Inputs {
		l := leg{errand: errand{button: -1, input: i}, cost: machine.Millis(d.Inputs[i].Debounce)}
		end := at
		end.inputs ^= 1 << i
		t := model.Trigger{Kind: model.Fall, Name: d.Inputs[i].Name}
		if end.inputs>>i&1 == 1 {
			t.Kind = model.Rise
		}
		if e, ok := w.p.Event(t); ok {
			end = w.event(&l, end, e)
		}
		l.to = []place{end}
		legs = append(legs, l)
	}
	if l := w.alone(at); l.to != nil {
		legs = append(legs, l)
	}
	return legs
}

// holds are the hold events of a button, the shorter time first.
func (w *walk) holds(button string) []machine.EventID {
	var holds []machine.EventID
	for e, t := range w.p.Events {
		if t.Kind == model.Hold && t.Name == button {
			holds = append(holds, machine.EventID(e))
		}
	}
	slices.SortFunc(holds, func(a, b machine.EventID) int { return cmp.Compare(w.p.Events[a].For, w.p.Events[b].For) })
	return holds
}

// finish lets the button go, which may be an event of its own.
func (l *leg) finish(w *walk, end place, button string) {
	if e, ok := w.p.Event(model.Trigger{Kind: model.Release, Name: button}); ok {
		end = w.event(l, end, e)
	}
	l.to = []place{end}
}

// alone is what comes of a place that is left alone.
func (w *walk) alone(at place) leg {
	l := leg{errand: errand{button: -1, input: -1}, trials: []trial{{at.state, alone}}}
	if length := w.p.Length[at.state]; length >= 0 {
		l.cost = time(length)
		move := w.p.Done(at.state)
		if at.deferred != nil {
			taken := *at.deferred
			taken.Defer = false
			move = &taken
		}
		l.to = append(l.to, w.after(at, move))
	}
	for i := range w.p.Timers(at.state) {
		t := &w.p.Timers(at.state)[i]
		l.cost = max(l.cost, t.Hi)
		l.to = append(l.to, w.after(at, &t.Move))
	}
	return l
}

// event has a leg try an event and says where that leads.
func (w *walk) event(l *leg, at place, e machine.EventID) place {
	l.trials = append(l.trials, trial{at.state, e})
	return w.after(at, w.p.Move(at.state, e))
}

// after is the place that a move leads to (rules 3 to 5).
func (w *walk) after(at place, m *machine.Move) place {
	switch {
	case m == nil || m.Ignore:
		return at
	case m.Defer:
		at.deferred = m
		return at
	}
	if w.p.Kind(at.state) != model.Performing {
		at.back = at.state
	}
	at.deferred = nil
	at.state = m.Target
	if m.Target == machine.BackTarget {
		at.state = at.back
	}
	return at
}

// next is the first errand on the cheapest way from a place to something that
// has not been tried, the goal; false where nothing is left.
func (w *walk) next(from place) (e errand, goal trial, ok bool) {
	type way struct {
		cost  time
		first *leg
	}
	ways := map[place]way{from: {}}
	open := []place{from}
	var best *way
	for len(open) > 0 {
		nearest := 0
		for i := range open {
			if ways[open[i]].cost < ways[open[nearest]].cost {
				nearest = i
			}
		}
		at := open[nearest]
		open = append(open[:nearest], open[nearest+1:]...)
		so := ways[at]
		if best != nil && so.cost >= best.cost {
			break
		}
		for _, l := range w.legs(at) {
			first := so.first
			if first == nil {
				first = &l
			}
			reached := way{so.cost + l.cost, first}
			for _, t := range l.trials {
				if !w.tried[t] && (best == nil || reached.cost < best.cost) {
					best, goal = &reached, t
				}
			}
			for _, to := range l.to {
				if old, seen := ways[to]; !seen || reached.cost < old.cost {
					ways[to] = reached
					open = append(open, to)
				}
			}
		}
	}
	if best == nil {
		return errand{}, trial{}, false
	}
	return best.first.errand, goal, true
}
