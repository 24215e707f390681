package edit

import (
	"reflect"
	"slices"

	"propwright/model"
)

// A step is one edit as the difference of two designs: only elements that
// differ are kept, so thousands of steps of a large design stay small.
type step struct {
	label    string
	revision uint64 // of the design after it

	file        pair[string]
	prop        pair[model.Prop]
	remote      pair[model.Remote] // without its buttons
	supply      pair[model.Supply]
	buttons     list[model.Button]
	inputs      list[model.Input]
	outputs     list[model.Output]
	tracks      list[model.Track]
	routines    list[model.Routine]
	states      list[model.State]
	transitions list[model.Transition]
	requires    list[model.Require]
	head, tail  list[string]
}

func newStep(was, now *model.Design) *step {
	wasRemote, nowRemote := was.Remote, now.Remote
	wasRemote.Buttons, nowRemote.Buttons = nil, nil
	return &step{
		file:        newPair(was.File, now.File),
		prop:        newPair(was.Prop, now.Prop),
		remote:      newPair(wasRemote, nowRemote),
		supply:      newPair(was.Supply, now.Supply),
		buttons:     newList(was.Remote.Buttons, now.Remote.Buttons),
		inputs:      newList(was.Inputs, now.Inputs),
		outputs:     newList(was.Outputs, now.Outputs),
		tracks:      newList(was.Tracks, now.Tracks),
		routines:    newList(was.Routines, now.Routines),
		states:      newList(was.States, now.States),
		transitions: newList(was.Transitions, now.Transitions),
		requires:    newList(was.Requires, now.Requires),
		head:        newList(was.Head, now.Head),
		tail:        newList(was.Tail, now.Tail),
	}
}

func (s *step) empty() bool {
	return s.file.same() && s.prop.same() && s.remote.same() && s.supply.same() && s.buttons.same() && s.inputs.same() &&
		s.outputs.same() && s.tracks.same() && s.routines.same() && s.states.same() && s.transitions.same() &&
		s.requires.same() && s.head.same() && s.tail.same()
}

func (s *step) redo(d *model.Design) *model.Design { return s.apply(d, false) }
func (s *step) undo(d *model.Design) *model.Design { return s.apply(d, true) }

func (s *step) apply(d *model.Design, back bool) *model.Design {
	buttons := s.buttons.apply(d.Remote.Buttons, back)
	c := &model.Design{
		File:        s.file.apply(d.File, back),
		Prop:        s.prop.apply(d.Prop, back),
		Remote:      s.remote.apply(d.Remote, back),
		Supply:      s.supply.apply(d.Supply, back),
		Inputs:      s.inputs.apply(d.Inputs, back),
		Outputs:     s.outputs.apply(d.Outputs, back),
		Tracks:      s.tracks.apply(d.Tracks, back),
		Routines:    s.routines.apply(d.Routines, back),
		States:      s.states.apply(d.States, back),
		Transitions: s.transitions.apply(d.Transitions, back),
		Requires:    s.requires.apply(d.Requires, back),
		Head:        s.head.apply(d.Head, back),
		Tail:        s.tail.apply(d.Tail, back),
	}
	c.Remote.Buttons = buttons
	return c
}

// A pair is one value before and after; nil where it stayed.
type pair[T any] struct{ was, now *T }

func newPair[T any](was, now T) pair[T] {
	if reflect.DeepEqual(was, now) {
		return pair[T]{}
	}
	return pair[T]{&was, &now}
}

func (p pair[T]) same() bool { return p.was == nil }

func (p pair[T]) apply(v T, back bool) T {
	switch {
	case p.same():
		return v
	case back:
		return *p.was
	}
	return *p.now
}

// A list is what differs between two lists: stretches that are replaced, in
// order, their places counted in the list before.
type list[T any] []stretch[T]

type stretch[T any] struct {
	at       int
	was, now []T
}

// newList finds the stretches. Lists of one length are compared index by
// index, others differ in one stretch between what they have in common at
// both ends. Slices and maps that are shared compare at once, so 8,000
// transitions take some 5 ms.
func newList[T any](was, now []T) list[T] {
	if len(was) == len(now) && (len(was) == 0 || &was[0] == &now[0]) {
		return nil
	}
	var l list[T]
	if len(was) == len(now) {
		for i := range was {
			if reflect.DeepEqual(&was[i], &now[i]) {
				continue
			}
			if n := len(l); n > 0 && l[n-1].at+len(l[n-1].was) == i {
				l[n-1].was, l[n-1].now = append(l[n-1].was, was[i]), append(l[n-1].now, now[i])
			} else {
				l = append(l, stretch[T]{i, []T{was[i]}, []T{now[i]}})
			}
		}
		return l
	}
	first, most := 0, min(len(was), len(now))
	for first < most && reflect.DeepEqual(&was[first], &now[first]) {
		first++
	}
	last := 0
	for last < most-first && reflect.DeepEqual(&was[len(was)-1-last], &now[len(now)-1-last]) {
		last++
	}
	return list[T]{{first, slices.Clone(was[first : len(was)-last]), slices.Clone(now[first : len(now)-last])}}
}

func (l list[T]) same() bool { return len(l) == 0 }

// apply gives the list after, or before with back; v is not changed.
func (l list[T]) apply(v []T, back bool) []T {
	if l.same() {
		return v
	}
	grown := 0
	for _, s := range l {
		grown += len(s.now) - len(s.was)
	}
	if back {
		grown = -grown
	}
	if len(v)+grown == 0 {
		return nil
	}
	out := make([]T, 0, len(v)+grown)
	from := 0
	for _, s := range l {
		at, gone, put := s.at, s.was, s.now
		if back {
			gone, put = s.now, s.was
		}
		out = append(out, v[from:at]...)
		out = append(out, put...)
		from = at + len(gone)
	}
	return append(out, v[from:]...)
}
