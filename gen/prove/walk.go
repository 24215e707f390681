package prove

import (
	"math"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/machine"
)

// A walk looks for untried trials: every event in every configuration in which it can
// come, and every configuration left alone.
type walk struct {
	p     *machine.Program
	posts posts // of the maker's own code
	at    place // where the machine is
	tried map[trial]bool
}

// A trial is an event in a configuration, or one left alone.
type trial struct {
	place
	event machine.EventID // or alone
}

const alone machine.EventID = -1

// place is a configuration: what decides where an event leads.
type place struct {
	state, back machine.StateID
	deferred    machine.StateID // where a deferred transition leads, or nowhere
}

const nowhere machine.StateID = -2 // no state, and not machine.BackTarget

// An errand is something that a person can do to the prop.
type errand struct {
	button int // or -1
	hold   ms  // how long
	input  int // or -1; from the number of inputs on an event of the maker's code; neither: wait
}

// spot is a place and which inputs are active, a bit each.
type spot struct {
	place
	inputs uint32
}

// leg is an errand from a spot: what it tries and where it leads.
type leg struct {
	errand
	cost   ms
	trials []trial
	to     spot
}

// legs returns all errands from a spot.
func (w *walk) legs(at spot) []leg {
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
		again, repeats := w.p.Event(model.Trigger{Kind: model.Repeated, Name: name})
		for _, h := range w.holds(name) {
			if repeats { // before and after; further ones do the same as one of these
				end = w.event(&held, end, again)
			}
			if e, ok := w.p.Event(model.Trigger{Kind: model.Hold, Name: name, For: h}); ok {
				end = w.event(&held, end, e)
				if repeats {
					end = w.event(&held, end, again)
				}
			}
			held.hold = machine.Millis(h)
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
		l.to = end
		legs = append(legs, l)
	}
	for i, pin := range w.posts {
		if pin > 0 {
			l := leg{errand: errand{button: -1, input: len(d.Inputs) + i}, cost: 2 * margin}
			l.to = w.event(&l, at, posted(w.p, i))
			legs = append(legs, l)
		}
	}
	return append(legs, w.alone(at)...)
}

// holds returns the times for which to hold a button, the shorter one first.
func (w *walk) holds(button string) []time.Duration {
	var holds []time.Duration
	for _, t := range w.p.Events {
		switch {
		case t.Name != button:
		case t.Kind == model.Hold:
			holds = append(holds, t.For)
		case t.Kind == model.Repeated:
			holds = append(holds, time.Second)
		}
	}
	slices.Sort(holds)
	return slices.Compact(holds)
}

// finish lets the button go, which may be an event of its own.
func (l *leg) finish(w *walk, end spot, button string) {
	if e, ok := w.p.Event(model.Trigger{Kind: model.Release, Name: button}); ok {
		end = w.event(l, end, e)
	}
	l.to = end
}

// spentTimer is the extra cost of a way that relies on the first event in a place being
// over already, because its transition was deferred.
const spentTimer ms = 60_000

// alone returns what can happen in a spot that is left alone; chance decides between
// timers.
func (w *walk) alone(at spot) []leg {
	var legs []leg
	first := ms(math.MaxUint32) // by then something has happened
	add := func(lo, hi ms, m *machine.Move) {
		first = min(first, hi)
		legs = append(legs, leg{
			errand: errand{button: -1, input: -1}, cost: lo,
			trials: []trial{{at.place, alone}}, to: w.after(at, m),
		})
	}
	if length := w.p.Length[at.state]; length >= 0 {
		move := w.p.Done(at.state)
		if at.deferred != nowhere {
			move = &machine.Move{Target: at.deferred}
		}
		add(ms(length), ms(length), move)
	}
	for i := range w.p.Timers(at.state) {
		t := &w.p.Timers(at.state)[i]
		add(t.Lo, t.Hi, &t.Move)
	}
	for i := range legs {
		if legs[i].cost > first {
			legs[i].cost += spentTimer
		}
	}
	return legs
}

// event has a leg try an event and says where that leads.
func (w *walk) event(l *leg, at spot, e machine.EventID) spot {
	l.trials = append(l.trials, trial{at.place, e})
	return w.after(at, w.p.Move(at.state, e))
}

// after returns where a move leads (rules 3 to 5).
func (w *walk) after(at spot, m *machine.Move) spot {
	switch {
	case m == nil || m.Stays():
		return at
	case m.Defer:
		at.deferred = m.Target
		return at
	}
	if w.p.Kind(at.state) != model.Performing {
		at.back = at.state
	}
	at.deferred = nowhere
	at.state = m.Target
	if m.Target == machine.BackTarget {
		at.state = at.back
	}
	if c, _ := w.p.Choice(m.Target); c != nil {
		at.state = c.States[0] // as good a guess as any
	}
	return at
}
