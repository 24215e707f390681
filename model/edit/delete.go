package edit

import (
	"fmt"
	"maps"
	"slices"

	"propwright/model"
)

// Delete takes an element away, and with it what cannot stand without it:
// see Takes.
func (f *Draft) Delete(at model.Elem) error {
	n, _, err := without(f.design, at)
	if err != nil {
		return err
	}
	f.commit("delete "+f.design.Title(at), n)
	return nil
}

// Takes says, in a line each, what else goes or changes when an element is
// deleted. The error says why it cannot be.
func Takes(d *model.Design, at model.Elem) ([]string, error) {
	_, takes, err := without(d, at)
	return takes, err
}

func without(d *model.Design, at model.Elem) (*model.Design, []string, error) {
	switch {
	case !d.Has(at):
		return nil, nil, fmt.Errorf("there is no such %s", at.Sort.Noun())
	case at.Sort == model.SortProp || at.Sort == model.SortRemote:
		return nil, nil, fmt.Errorf("every design has %s; it cannot be deleted", d.Title(at))
	case at.Sort == model.SortSupply:
		c := *d
		c.Supply = model.Supply{}
		return &c, nil, nil
	case at.Sort == model.SortButton && d.Remote.Stop == d.Name(at):
		return nil, nil, fmt.Errorf("%s is the stop button; make another one the stop button first", d.Title(at))
	}
	w := &wake{d: d}
	if at.Sort.Named() && isMeant(d, at) {
		w.lose(at.Sort, usedName(d, at))
	}
	n := w.d.Removed(at)
	return n, w.takes, nil
}

// A wake is what follows from deletions. Its design loses the mentions of an
// element, not the element itself, so indices of the element's sort stay.
type wake struct {
	d     *model.Design
	takes []string
}

func (w *wake) say(format string, args ...any) {
	w.takes = append(w.takes, fmt.Sprintf(format, args...))
}

// lose takes away what cannot stand without an element.
func (w *wake) lose(sort model.Sort, name string) {
	d := w.d
	gone := map[model.Elem]bool{}
	touched := map[model.Elem]bool{} // states and routines that lose something
	var tracks []string
	for _, e := range usersOf(d, sort, name) {
		switch e.Sort {
		case model.SortTransition:
			t, stands := thinner(d.Transitions[e.Index], sort, name)
			switch {
			case !stands:
				gone[e] = true
				w.say("%s goes", d.Title(e))
			case len(t.From) < len(d.Transitions[e.Index].From):
				w.say("%s no longer starts in it", d.Title(e))
			default:
				w.say("%s no longer waits for it", d.Title(e))
			}
			continue
		case model.SortState:
			w.say("%s no longer plays it", d.Title(e))
		default:
			w.say("%s goes", d.Title(e))
			gone[e] = true
		}
		if e.Sort == model.SortTrack {
			tracks = append(tracks, d.Name(e))
		}
		if p := e.Sort.Parent(); p != "" {
			touched[model.Elem{Sort: p, Index: e.Index}] = true
		}
	}
	c := *d
	c.Tracks = left(c.Tracks, model.Elem{Sort: model.SortTrack}, gone)
	i := -1
	c.Routines, _ = edited(c.Routines, func(r *model.Routine) bool {
		i++
		r.Cues = left(r.Cues, model.Elem{Sort: model.SortCue, Index: i}, gone)
		return touched[model.Elem{Sort: model.SortRoutine, Index: i}]
	})
	i = -1
	c.States, _ = edited(c.States, func(s *model.State) bool {
		i++
		if sort == model.SortRoutine && s.Plays == name {
			s.Plays = ""
			s.Source = unstated(s.Source, "plays")
			return true
		}
		s.Pose = left(s.Pose, model.Elem{Sort: model.SortPose, Index: i}, gone)
		s.Drift = left(s.Drift, model.Elem{Sort: model.SortDrift, Index: i}, gone)
		return touched[model.Elem{Sort: model.SortState, Index: i}]
	})
	c.Transitions, _ = edited(c.Transitions, func(t *model.Transition) bool {
		thin, stands := thinner(*t, sort, name)
		if !stands || len(thin.From) == len(t.From) && len(thin.On) == len(t.On) {
			return false
		}
		*t = thin
		return true
	})
	c.Transitions = left(c.Transitions, model.Elem{Sort: model.SortTransition}, gone)
	c.Requires = left(c.Requires, model.Elem{Sort: model.SortRequire}, gone)
	w.d = &c
	for _, t := range tracks {
		w.lose(model.SortTrack, t)
	}
}

// left gives a list without the elements that are gone; first is the place of
// its first element.
func left[T any](all []T, first model.Elem, gone map[model.Elem]bool) []T {
	at := func(i int) model.Elem {
		e := first
		if e.Sort.Parent() != "" {
			e.Part = i
		} else {
			e.Index = i
		}
		return e
	}
	var out []T
	for i := range all {
		if !gone[at(i)] {
			out = append(out, all[i])
		}
	}
	if len(out) == len(all) {
		return all
	}
	return out
}

// thinner is a transition without its mentions of an element; it does not
// stand where nothing is left to start in, to wait for or to go to.
func thinner(t model.Transition, sort model.Sort, name string) (model.Transition, bool) {
	if sort == model.SortState {
		t.From = kept(t.From, func(f *model.From) bool { return f.State != name })
		return t, t.To != name && len(t.From) > 0
	}
	t.On = kept(t.On, func(on *model.Trigger) bool { return !waitsFor(*on, sort, name) })
	return t, len(t.On) > 0
}

// unstated is an element's source without a key; its comments stay.
func unstated(s model.Source, key string) model.Source {
	k, ok := s.Keys[key]
	if !ok {
		return s
	}
	s.Keys = maps.Clone(s.Keys)
	delete(s.Keys, key)
	s.Above = slices.Concat(s.Above, k.Above)
	if k.Beside != "" {
		s.Above = append(s.Above, k.Beside)
	}
	return s
}
