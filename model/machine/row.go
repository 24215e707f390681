package machine

import (
	"cmp"
	"slices"

	"propwright/model"
)

// A row is what the transitions of one rank say for one state, one kind or
// all states. A design of many states stays small: what `any` says is kept
// once, not once per state.
type row struct {
	events []entry // by event
	done   *Move
	timers []Timer // in file order, ignored ones too; no two with the same lo and hi
}

type entry struct {
	event EventID
	move  *Move
}

func (r *row) move(e EventID) *Move {
	i, ok := slices.BinarySearchFunc(r.events, e, func(x entry, e EventID) int { return cmp.Compare(x.event, e) })
	if !ok {
		return nil
	}
	return r.events[i].move
}

// add enters a move that waits for an outside event and returns the move that
// was there before it, if any: the first in file order stays.
func (r *row) add(e EventID, m *Move) (earlier *Move) {
	i, ok := slices.BinarySearchFunc(r.events, e, func(x entry, e EventID) int { return cmp.Compare(x.event, e) })
	if ok {
		return r.events[i].move
	}
	r.events = slices.Insert(r.events, i, entry{e, m})
	return nil
}

func (r *row) addDone(m *Move) (earlier *Move) {
	if r.done != nil {
		return r.done
	}
	r.done = m
	return nil
}

func (r *row) addTimer(t Timer) (earlier *Move) {
	for i := range r.timers {
		if r.timers[i].Lo == t.Lo && r.timers[i].Hi == t.Hi {
			return &r.timers[i].Move
		}
	}
	r.timers = append(r.timers, t)
	return nil
}

// over lays the timers of a more specific row over those of a general one:
// of two with the same lo and hi the specific one stays.
func over(specific, general []Timer) []Timer {
	if len(specific) == 0 {
		return general
	}
	out := slices.Clone(specific)
	for _, t := range general {
		same := func(s Timer) bool { return s.Lo == t.Lo && s.Hi == t.Hi }
		if !slices.ContainsFunc(specific, same) {
			out = append(out, t)
		}
	}
	return out
}

// armed leaves out the timers to ignore and puts the others in file order.
func armed(ts []Timer) []Timer {
	out := slices.DeleteFunc(slices.Clone(ts), func(t Timer) bool { return t.Ignore })
	slices.SortFunc(out, func(a, b Timer) int {
		return cmp.Or(cmp.Compare(a.Transition, b.Transition), cmp.Compare(a.Trigger, b.Trigger))
	})
	return out
}

// kindIndex is a kind's place in Program.kinds; 0 for a kind that does not exist.
func kindIndex(k model.StateKind) int { return slices.Index(model.StateKinds, k) + 1 }
