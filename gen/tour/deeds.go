package tour

import (
	"cmp"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/machine"
)

// deeds returns what can be done at a place. What changes nothing comes first.
func (w *walker) deeds(at place) []deed {
	var ds []deed
	wait, waits := w.wait(at)
	if !at.late || !waits {
		ds = append(ds, w.silent(at)...)
		for b := range w.d.Remote.Buttons {
			ds = append(ds, w.presses(at, b)...)
		}
		for i := range w.d.Inputs {
			ds = append(ds, w.flip(at, i)...)
		}
		for i := range w.d.Events {
			ds = append(ds, w.post(at, w.d.Events[i].Name)...)
		}
		if w.plays(at) { // there is time for one thing only
			for i := range ds {
				if ds[i].to.state == at.state && ds[i].step.Kind != Enters {
					ds[i].to.late = true
				}
			}
		}
	}
	return append(ds, wait...)
}

// plays reports whether a routine that ends is under way.
func (w *walker) plays(at place) bool { return w.p.Length[at.state] >= 0 && !at.ended }

// lands records in the steps of deeds where they lead. They are one deed with several
// random ends.
func (w *walker) lands(ds []deed) {
	var ends []machine.StateID
	for i := range ds {
		ends = append(ends, ds[i].to.state)
	}
	slices.Sort(ends)
	ends = slices.Compact(ends)
	for i := range ds {
		s := &ds[i].step
		s.To, s.Then = ds[i].to.state, w.then(ds[i].to)
		s.Among = ends
	}
}

// move continues a deed by a move, if there is one; the ends differ by chance.
func (w *walker) move(d deed, m *machine.Move) []deed {
	if m == nil {
		return []deed{d}
	}
	d.step.Moves = append(slices.Clone(d.step.Moves), m.Transition)
	switch {
	case m.Ignore:
	case m.Do:
		if d.step.Kind == Silent {
			d.step.Kind = Does
		}
	case m.Defer:
		if w.plays(d.to) {
			d.to.deferred, d.to.next = 1+m.Transition, m.Target
			d.step.Kind = Waits
		}
	default:
		return w.enter(d, m.Target)
	}
	return []deed{d}
}

// enter continues a deed by entering a target.
func (w *walker) enter(d deed, target machine.StateID) (ds []deed) {
	d.step.Kind = Enters
	at := d.to
	if w.p.Kind(at.state) != model.Performing {
		at.back = at.state
	}
	if target == machine.BackTarget {
		target = at.back
	}
	ways := w.settled(place{state: target, back: at.back, inputs: at.inputs, chosen: at.chosen, turns: at.turns})
	for n, to := range ways {
		if w.p.Kind(to.state) != model.Performing {
			to.back = 0 // whoever leaves it makes it the state to go back to
		}
		x := d
		if x.to = to; len(ways) > 1 {
			x.step.Draws = append(slices.Clone(x.step.Draws), uint32(n))
		}
		ds = append(ds, x)
	}
	return ds
}

// settled returns the places that are meant by one whose state may be a choice.
func (w *walker) settled(at place) []place {
	c, number := w.p.Choice(at.state)
	switch {
	case c == nil:
		return []place{at}
	case c.InTurn:
		turns := []rune(at.turns)
		at.state = c.States[turns[number]]
		turns[number] = (turns[number] + 1) % rune(len(c.States))
		at.turns = string(turns)
		return []place{at}
	}
	var all []place
	for _, s := range c.Candidates(at.chosen) {
		at.state, at.chosen = s, s
		all = append(all, at)
	}
	return all
}

// presses returns a short press of a button, unless silent has it, and its holds.
func (w *walker) presses(at place, b int) []deed {
	name := w.d.Remote.Buttons[b].Name
	holds := []time.Duration{0}
	for _, on := range w.p.Events {
		if on.Kind == model.Hold && on.Name == name {
			holds = append(holds, on.For)
		}
		if on.Kind == model.Repeated && on.Name == name {
			holds = append(holds, time.Second)
		}
	}
	slices.Sort(holds)
	holds = slices.Compact(holds)
	var ds, shorter []deed
	for _, h := range holds {
		ways, ok := w.press(at, name, h, holds[1:])
		if !ok {
			continue
		}
		if h > 0 && shorter != nil {
			for i := range ways {
				ways[i].step.Short = shorter[0].step.Among
			}
			if slices.EqualFunc(ways, shorter, func(a, b deed) bool { return a.to == b.to && a.step.Kind == b.step.Kind && w.orders(a) == w.orders(b) }) {
				hold := model.Trigger{Kind: model.Hold, Name: name, For: h}.String()
				for _, g := range ways[0].new {
					w.alike[g] = g.what == hold // nobody sees whether it was heard
				}
				continue
			}
		}
		shorter = ways
		if h > 0 || !w.saysNothing(at.state, name) {
			ds = append(ds, ways...)
		}
	}
	return ds
}

// orders returns how many times a deed has orders carried out.
func (w *walker) orders(d deed) (n int) {
	for _, m := range d.step.Moves {
		n += min(len(w.d.Transitions[m].Do), 1)
	}
	return n
}

// press returns a press that lasts for a time, once for each end that it can have by
// chance; false where a routine or a timer may come in between, which a hand cannot
// meet.
func (w *walker) press(at place, name string, h time.Duration, holds []time.Duration) ([]deed, bool) {
	b, _ := w.p.Button(name)
	frames := w.p.Frames(b, w.period)
	frameAt := func(t time.Duration) time.Duration {
		f, _ := frames.From(machine.Millis(t))
		return time.Duration(f) * time.Millisecond
	}
	frame := time.Duration(0) // the last one
	if h > 0 {
		if frames.Period == 0 {
			return nil, false
		}
		frame = frameAt(h)
	}
	release := time.Duration(frames.Release) * time.Millisecond
	pause := w.pause(name)
	type moment struct {
		on model.Trigger
		at time.Duration
	}
	moments := []moment{{model.Trigger{Kind: model.Press, Name: name}, 0}}
	for _, t := range holds {
		if t <= frame && h > 0 {
			moments = append(moments, moment{model.Trigger{Kind: model.Hold, Name: name, For: t}, frameAt(t)})
		}
	}
	if h > 0 { // the other repeats do the same as one of these
		again := model.Trigger{Kind: model.Repeated, Name: name}
		first := frameAt(0)
		moments = slices.Insert(moments, 1, moment{again, first})
		if frame > first {
			moments = append(moments, moment{again, frame})
		}
		slices.SortStableFunc(moments, func(a, b moment) int { return cmp.Compare(a.at, b.at) })
	}
	moments = append(moments, moment{model.Trigger{Kind: model.Release, Name: name}, frame + release})
	acts := []machine.Act{{Kind: machine.ActPress, Name: name}}
	if h > 0 {
		acts = []machine.Act{{Kind: machine.ActHold, Name: name, For: h}}
	}
	_, released := w.p.Event(moments[len(moments)-1].on)
	if released || h > 0 {
		acts = append(acts, machine.Act{Kind: machine.ActWait, For: pause})
	}
	type way struct {
		deed
		entered time.Duration
	}
	ways := []way{{deed: deed{to: at, step: Step{From: at.state, Kind: Silent, Acts: acts}}}}
	for i, m := range moments {
		e, ok := w.p.Event(m.on)
		if !ok {
			continue
		}
		var next []way
		for _, x := range ways {
			if i > 0 && !w.calm(x.to, m.at-x.entered+300*time.Millisecond) {
				return nil, false
			}
			x.new = append(slices.Clone(x.new), goal{x.to.state, m.on.String()})
			move := w.p.Move(x.to.state, e)
			if move != nil && !move.Stays() && !move.Defer {
				x.entered = m.at
			}
			for _, d := range w.move(x.deed, move) {
				next = append(next, way{d, x.entered})
			}
		}
		ways = next
	}
	var ds []deed
	for _, x := range ways {
		if (released || h > 0) && !w.calm(x.to, frame+pause-x.entered+300*time.Millisecond) {
			return nil, false
		}
		ds = append(ds, x.deed)
	}
	w.lands(ds)
	return ds, true
}

// pause is more than what passes from a button's last frame to its release.
func (w *walker) pause(name string) time.Duration {
	b, _ := w.p.Button(name)
	frames := w.p.Frames(b, w.period)
	return time.Duration(frames.Release+cmp.Or(frames.Period, w.period)/2) * time.Millisecond
}

// calm reports whether a state stays as it is for a time at least.
func (w *walker) calm(at place, d time.Duration) bool {
	ms := int64(d / time.Millisecond)
	if w.plays(at) && w.p.Length[at.state] < ms {
		return false
	}
	for i, t := range w.p.Timers(at.state) {
		if !t.Do && !at.isSpent(i) && int64(t.Lo) < ms {
			return false
		}
	}
	return true
}

func (at place) isSpent(timer int) bool { return timer < 64 && at.spent>>timer&1 == 1 }

// then returns what follows when the routine ends, where a transition waits.
func (w *walker) then(at place) string {
	if at.deferred == 0 {
		return w.p.Name(at.state)
	}
	if c, _ := w.p.Choice(at.next); c != nil {
		return w.d.Transitions[at.deferred-1].To
	}
	return w.p.Name(w.enter(deed{to: at}, at.next)[0].to.state)
}

// silent returns steps that press the buttons that should do nothing, as many in one
// step as there is time for.
func (w *walker) silent(at place) (ds []deed) {
	room := len(w.d.Remote.Buttons)
	if w.plays(at) {
		const each = 1500 // ms that a hand needs for one
		room = max(1, int(w.p.Length[at.state]/each))
	}
	for b := range w.d.Remote.Buttons {
		name := w.d.Remote.Buttons[b].Name
		g := goal{at.state, model.Trigger{Kind: model.Press, Name: name}.String()}
		if !w.wanted[g] || !w.saysNothing(at.state, name) {
			continue
		}
		if n := len(ds); n == 0 || len(ds[n-1].new) == room {
			ds = append(ds, deed{to: at, step: Step{From: at.state, To: at.state, Kind: Silent}})
		}
		d := &ds[len(ds)-1]
		d.new = append(d.new, g)
		d.step.Acts = append(d.step.Acts, machine.Act{Kind: machine.ActPress, Name: name})
		if m := w.p.Move(at.state, machine.EventID(b)); m != nil {
			d.step.Moves = append(d.step.Moves, m.Transition)
		}
	}
	for i := range ds {
		pause := time.Duration(0)
		for _, a := range ds[i].step.Acts {
			pause = max(pause, w.pause(a.Name))
		}
		ds[i].step.Acts = append(ds[i].step.Acts, machine.Act{Kind: machine.ActWait, For: pause})
	}
	return ds
}

// saysNothing reports whether nothing comes of a press and its release.
func (w *walker) saysNothing(s machine.StateID, button string) bool {
	for _, k := range []model.TriggerKind{model.Press, model.Release} {
		if e, ok := w.p.Event(model.Trigger{Kind: k, Name: button}); ok {
			if m := w.p.Move(s, e); m != nil && !m.Ignore {
				return false
			}
		}
	}
	return true
}

// flip changes an input.
func (w *walker) flip(at place, i int) []deed {
	name := w.d.Inputs[i].Name
	on, act := model.Rise, machine.ActRise
	if at.inputs>>i&1 == 1 {
		on, act = model.Fall, machine.ActFall
	}
	d := deed{to: at, step: Step{From: at.state, Kind: Silent, Acts: []machine.Act{{Kind: act, Name: name}}}}
	if i < 64 {
		d.to.inputs ^= 1 << i
	}
	ds := []deed{d}
	if e, ok := w.p.Event(model.Trigger{Kind: on, Name: name}); ok {
		d.new = []goal{{at.state, w.p.Events[e].String()}}
		ds = w.move(d, w.p.Move(at.state, e))
	}
	w.lands(ds)
	return ds
}

// post lets the maker's code post an event.
func (w *walker) post(at place, name string) []deed {
	d := deed{to: at, step: Step{From: at.state, Kind: Silent, Acts: []machine.Act{{Kind: machine.ActEvent, Name: name}}}}
	ds := []deed{d}
	if e, ok := w.p.Event(model.Trigger{Kind: model.Posted, Name: name}); ok {
		d.new = []goal{{at.state, w.p.Events[e].String()}}
		ds = w.move(d, w.p.Move(at.state, e))
	}
	w.lands(ds)
	return ds
}

// wait lets the next thing happen that happens by itself; false where there
// is none, or where chance decides which it is.
func (w *walker) wait(at place) ([]deed, bool) {
	const end = -1
	first, lo, hi := end, int64(-1), int64(-1)
	if w.plays(at) {
		lo, hi = w.p.Length[at.state], w.p.Length[at.state]
	}
	timers := w.p.Timers(at.state)
	for i, t := range timers {
		if t.Do || at.isSpent(i) || t.Defer && (i >= 64 || !w.plays(at)) {
			continue
		}
		switch {
		case hi < 0 || int64(t.Hi) < lo:
			first, lo, hi = i, int64(t.Lo), int64(t.Hi)
		case int64(t.Lo) <= hi:
			return nil, false
		}
	}
	if hi < 0 {
		return w.orderedByItself(at)
	}
	meanwhile := int64(0) // timers that order something; each may delay another
	for _, t := range timers {
		if t.Do {
			meanwhile++
		}
	}
	hi += meanwhile
	d := deed{to: at, step: Step{From: at.state, Kind: Silent}}
	d.step.Acts = []machine.Act{{Kind: machine.ActWait, For: time.Duration(hi+1) * time.Millisecond}}
	d.step.Ends = first == end
	if lo < hi {
		d.step.Soonest = time.Duration(lo) * time.Millisecond
	}
	var ds []deed
	switch {
	case first != end:
		d.new = append(w.ordered(at, lo), goal{at.state, w.p.Trigger(&timers[first].Move).String()})
		ds = w.move(d, &timers[first].Move)
		if x := &ds[0]; x.step.Kind == Waits {
			x.to.spent |= 1 << first
			x.to.late = true
		}
	case at.deferred > 0:
		d.new = []goal{{at.state, doneGoal}}
		d.step.Moves = []int{at.deferred - 1}
		ds = w.enter(d, at.next)
	default:
		d.new = []goal{{at.state, doneGoal}}
		d.to.ended, d.to.late = true, false
		ds = w.move(d, w.p.Done(at.state))
	}
	w.lands(ds)
	return ds, true
}

// ordered returns the timers of a state that order something before a time, or at any
// where that is less than 0.
func (w *walker) ordered(at place, before int64) (gs []goal) {
	for _, t := range w.p.Timers(at.state) {
		if t.Do && (before < 0 || int64(t.Hi) < before) {
			gs = append(gs, goal{at.state, w.p.Trigger(&t.Move).String()})
		}
	}
	return gs
}

// orderedByItself waits for all that timers order in a state where nothing else happens
// by itself.
func (w *walker) orderedByItself(at place) ([]deed, bool) {
	d := deed{to: at, step: Step{From: at.state, To: at.state, Kind: Does}, new: w.ordered(at, -1)}
	if d.new == nil {
		return nil, false
	}
	last := time.Duration(0)
	for _, t := range w.p.Timers(at.state) {
		if t.Do {
			last = max(last, time.Duration(t.Hi)*time.Millisecond)
			d.step.Moves = append(d.step.Moves, t.Transition)
		}
	}
	d.step.Acts = []machine.Act{{Kind: machine.ActWait, For: last + time.Duration(1+len(d.new))*time.Millisecond}}
	ds := []deed{d}
	w.lands(ds)
	return ds, true
}
