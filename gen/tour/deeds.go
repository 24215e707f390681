package tour

import (
	"cmp"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/machine"
)

// deeds are what can be done at a place. What changes nothing comes first.
func (w *walker) deeds(at place) []deed {
	var ds []deed
	wait, waits := w.wait(at)
	if !at.late || !waits {
		ds = append(ds, w.silent(at)...)
		for b := range w.d.Remote.Buttons {
			ds = append(ds, w.presses(at, b)...)
		}
		for i := range w.d.Inputs {
			ds = append(ds, w.flip(at, i))
		}
		for i := range w.d.Events {
			ds = append(ds, w.post(at, w.d.Events[i].Name))
		}
		if w.plays(at) { // there is time for one thing only
			for i := range ds {
				if ds[i].to.state == at.state && ds[i].step.Kind != Enters {
					ds[i].to.late = true
				}
			}
		}
	}
	if waits {
		ds = append(ds, wait)
	}
	return ds
}

// plays reports whether a routine that ends is under way.
func (w *walker) plays(at place) bool { return w.p.Length[at.state] >= 0 && !at.ended }

// lands says in a deed's step where the deed leads.
func (w *walker) lands(d *deed) { d.step.To, d.step.Then = d.to.state, w.then(d.to) }

// move is what a move does, where there is one.
func (w *walker) move(at place, m *machine.Move, s *Step) place {
	if m == nil {
		return at
	}
	s.Moves = append(s.Moves, m.Transition)
	switch {
	case m.Ignore:
	case m.Defer:
		if w.plays(at) {
			at.deferred, at.next = 1+m.Transition, m.Target
			s.Kind = Waits
		}
	default:
		at = w.enter(at, m.Target)
		s.Kind = Enters
	}
	return at
}

func (w *walker) enter(at place, target machine.StateID) place {
	back := at.back
	if w.p.Kind(at.state) != model.Performing {
		back = at.state
	}
	if target == machine.BackTarget {
		target = back
	}
	if w.p.Kind(target) != model.Performing {
		back = 0 // whoever leaves it makes it the state to go back to
	}
	return place{state: target, back: back, inputs: at.inputs}
}

// presses are a short press of a button, unless silent has it, and its holds.
func (w *walker) presses(at place, b int) []deed {
	name := w.d.Remote.Buttons[b].Name
	holds := []time.Duration{0}
	for _, on := range w.p.Events {
		if on.Kind == model.Hold && on.Name == name {
			holds = append(holds, on.For)
		}
	}
	slices.Sort(holds)
	var ds []deed
	var shorter *deed
	for _, h := range holds {
		d, ok := w.press(at, name, h, holds[1:])
		if !ok {
			continue
		}
		if h > 0 && shorter != nil {
			d.step.Short = shorter.to.state
			if d.to == shorter.to && d.step.Kind == shorter.step.Kind {
				hold := model.Trigger{Kind: model.Hold, Name: name, For: h}.String()
				for _, g := range d.new {
					w.alike[g] = g.what == hold // nobody sees whether it was heard
				}
				continue
			}
		}
		shorter = &d
		if h > 0 || !w.saysNothing(at.state, name) {
			ds = append(ds, d)
		}
	}
	return ds
}

// press is a press that lasts for a time; false where a routine or a timer
// may come in between, which a hand cannot meet.
func (w *walker) press(at place, name string, h time.Duration, holds []time.Duration) (deed, bool) {
	b, _ := w.p.Button(name)
	frames := w.p.Frames(b, w.period)
	frameAt := func(t time.Duration) time.Duration {
		f, _ := frames.From(machine.Millis(t))
		return time.Duration(f) * time.Millisecond
	}
	frame := time.Duration(0) // the last one
	if h > 0 {
		if frames.Period == 0 {
			return deed{}, false
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
	moments = append(moments, moment{model.Trigger{Kind: model.Release, Name: name}, frame + release})
	d := deed{to: at, step: Step{From: at.state, Kind: Silent}}
	entered := time.Duration(0)
	for i, m := range moments {
		e, ok := w.p.Event(m.on)
		if !ok {
			continue
		}
		if i > 0 && !w.calm(d.to, m.at-entered+300*time.Millisecond) {
			return deed{}, false
		}
		d.new = append(d.new, goal{d.to.state, m.on.String()})
		move := w.p.Move(d.to.state, e)
		d.to = w.move(d.to, move, &d.step)
		if move != nil && !move.Ignore && !move.Defer {
			entered = m.at
		}
	}
	d.step.Acts = []machine.Act{{Kind: machine.ActPress, Name: name}}
	if h > 0 {
		d.step.Acts = []machine.Act{{Kind: machine.ActHold, Name: name, For: h}}
	}
	if _, released := w.p.Event(moments[len(moments)-1].on); released || h > 0 {
		d.step.Acts = append(d.step.Acts, machine.Act{Kind: machine.ActWait, For: pause})
		if !w.calm(d.to, frame+pause-entered+300*time.Millisecond) {
			return deed{}, false
		}
	}
	w.lands(&d)
	return d, true
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
		if !at.isSpent(i) && int64(t.Lo) < ms {
			return false
		}
	}
	return true
}

func (at place) isSpent(timer int) bool { return timer < 64 && at.spent>>timer&1 == 1 }

// then is the state that follows when the routine ends, where one waits.
func (w *walker) then(at place) machine.StateID {
	if at.deferred == 0 {
		return at.state
	}
	return w.enter(at, at.next).state
}

// silent are steps that press the buttons that are to do nothing, as many in one
// as there is time for.
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
			ds = append(ds, deed{to: at, step: Step{From: at.state, To: at.state, Then: at.state, Kind: Silent}})
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
func (w *walker) flip(at place, i int) deed {
	name := w.d.Inputs[i].Name
	on, act := model.Rise, machine.ActRise
	if at.inputs>>i&1 == 1 {
		on, act = model.Fall, machine.ActFall
	}
	d := deed{to: at, step: Step{From: at.state, Kind: Silent, Acts: []machine.Act{{Kind: act, Name: name}}}}
	if e, ok := w.p.Event(model.Trigger{Kind: on, Name: name}); ok {
		d.new = []goal{{at.state, w.p.Events[e].String()}}
		d.to = w.move(at, w.p.Move(at.state, e), &d.step)
	}
	if i < 64 {
		d.to.inputs ^= 1 << i
	}
	w.lands(&d)
	return d
}

// post has the maker's code post an event.
func (w *walker) post(at place, name string) deed {
	d := deed{to: at, step: Step{From: at.state, Kind: Silent, Acts: []machine.Act{{Kind: machine.ActEvent, Name: name}}}}
	if e, ok := w.p.Event(model.Trigger{Kind: model.Posted, Name: name}); ok {
		d.new = []goal{{at.state, w.p.Events[e].String()}}
		d.to = w.move(at, w.p.Move(at.state, e), &d.step)
	}
	w.lands(&d)
	return d
}

// wait lets the next thing happen that happens by itself; false where there
// is none, or where chance decides which it is.
func (w *walker) wait(at place) (deed, bool) {
	const end = -1
	first, lo, hi := end, int64(-1), int64(-1)
	if w.plays(at) {
		lo, hi = w.p.Length[at.state], w.p.Length[at.state]
	}
	timers := w.p.Timers(at.state)
	for i, t := range timers {
		if at.isSpent(i) || t.Defer && (i >= 64 || !w.plays(at)) {
			continue
		}
		switch {
		case hi < 0 || int64(t.Hi) < lo:
			first, lo, hi = i, int64(t.Lo), int64(t.Hi)
		case int64(t.Lo) <= hi:
			return deed{}, false
		}
	}
	if hi < 0 {
		return deed{}, false
	}
	d := deed{to: at, step: Step{From: at.state, Kind: Silent}}
	d.step.Acts = []machine.Act{{Kind: machine.ActWait, For: time.Duration(hi+1) * time.Millisecond}}
	d.step.Ends = first == end
	if lo < hi {
		d.step.Soonest = time.Duration(lo) * time.Millisecond
	}
	switch {
	case first != end:
		d.new = []goal{{at.state, w.p.Trigger(&timers[first].Move).String()}}
		d.to = w.move(at, &timers[first].Move, &d.step)
		if d.step.Kind == Waits {
			d.to.spent |= 1 << first
			d.to.late = true
		}
	case at.deferred > 0:
		d.new = []goal{{at.state, doneGoal}}
		d.step.Moves = []int{at.deferred - 1}
		d.to = w.enter(at, at.next)
		d.step.Kind = Enters
	default:
		d.new = []goal{{at.state, doneGoal}}
		d.to.ended, d.to.late = true, false
		d.to = w.move(d.to, w.p.Done(at.state), &d.step)
	}
	w.lands(&d)
	return d, true
}
