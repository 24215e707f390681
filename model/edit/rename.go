package edit

import (
	"fmt"

	"propwright/model"
)

// Rename gives an element another name and puts it wherever the old one is
// mentioned: in sources, targets and triggers of transitions, poses, drifts,
// cues, tracks, the stop button and requirements.
func (f *Draft) Rename(at model.Elem, name string) error {
	d := f.design
	if d.Has(at) && at.Sort != model.SortProp && !at.Sort.Named() {
		return fmt.Errorf("%s has no name of its own", d.Title(at))
	}
	n, err := d.With(at, "name", name)
	if err != nil {
		return err
	}
	old, now := d.Name(at), n.Name(at)
	if err := free(d, at, now); err != nil {
		return err
	}
	if at.Sort.Named() && isMeant(d, at) {
		n = renameMentions(n, d, at, old, now)
	}
	f.commit(fmt.Sprintf("rename %s %s to %s", at.Sort.Noun(), old, now), n)
	return nil
}

// free refuses a name that another element of the sort has, or none can have.
func free(d *model.Design, at model.Elem, name string) error {
	if at.Sort == model.SortState && (name == model.Any || name == model.Back) {
		return fmt.Errorf("%q cannot be a state's name: the word has its own meaning; choose another", name)
	}
	if !at.Sort.Named() {
		return nil
	}
	for i := range d.Len(at.Sort, at.Index) {
		other := model.Elem{Sort: at.Sort, Index: i}
		if at.Sort.Parent() != "" {
			other = model.Elem{Sort: at.Sort, Index: at.Index, Part: i}
		}
		if other != at && d.Name(other) == name {
			return fmt.Errorf("%s %s is there already; choose another name", at.Sort.Noun(), name)
		}
	}
	return nil
}

// isMeant reports whether who mentions the element's name means it: of two of
// one name, the first.
func isMeant(d *model.Design, at model.Elem) bool {
	for i := range d.Len(at.Sort, at.Index) {
		first := model.Elem{Sort: at.Sort, Index: i}
		if at.Sort.Parent() != "" {
			first = model.Elem{Sort: at.Sort, Index: at.Index, Part: i}
		}
		if d.Name(first) == d.Name(at) {
			return first == at
		}
	}
	return false
}

// renameMentions changes the mentions in n of the element at of d.
func renameMentions(n, d *model.Design, at model.Elem, old, now string) *model.Design {
	c := *n
	swap := func(s *string) bool {
		if *s != old {
			return false
		}
		*s = now
		return true
	}
	switch at.Sort {
	case model.SortButton:
		swap(&c.Remote.Stop)
	case model.SortOutput:
		c.Tracks, _ = edited(c.Tracks, func(t *model.Track) bool {
			played, stopped := swap(&t.Play.Output), swap(&t.Stop.Output)
			return played || stopped
		})
		c.States, _ = edited(c.States, func(s *model.State) (changed bool) {
			var poses, drifts bool
			s.Pose, poses = edited(s.Pose, func(p *model.Pose) bool { return swap(&p.Output) })
			s.Drift, drifts = edited(s.Drift, func(dr *model.Drift) bool { return swap(&dr.Output) })
			return poses || drifts
		})
	case model.SortMessage:
		output := d.Outputs[at.Index].Name
		c.Tracks, _ = edited(c.Tracks, func(t *model.Track) bool {
			stopped := t.Silencer().Output == output && swap(&t.Stop.Value)
			played := t.Play.Output == output && swap(&t.Play.Value)
			return played || stopped
		})
	case model.SortRoutine:
		c.States, _ = edited(c.States, func(s *model.State) bool { return swap(&s.Plays) })
	}
	c.Routines, _ = edited(c.Routines, func(r *model.Routine) (changed bool) {
		r.Cues, changed = edited(r.Cues, func(cue *model.Cue) bool {
			switch at.Sort {
			case model.SortOutput:
				return swap(&cue.Output)
			case model.SortTrack:
				return swap(&cue.Track)
			case model.SortMessage:
				return cue.Output == d.Outputs[at.Index].Name && swap(&cue.Send)
			}
			return false
		})
		return changed
	})
	c.Transitions, _ = edited(c.Transitions, func(t *model.Transition) bool {
		var from, to, on bool
		if at.Sort == model.SortState {
			t.From, from = edited(t.From, func(f *model.From) bool { return swap(&f.State) })
			to = swap(&t.To)
		}
		t.On, on = edited(t.On, func(on *model.Trigger) bool {
			return waitsFor(*on, at.Sort, old) && swap(&on.Name)
		})
		return from || to || on
	})
	c.Requires, _ = edited(c.Requires, func(q *model.Require) bool {
		that := remention(q.That, at.Sort, old, now)
		changed := that != q.That
		q.That = that
		return changed
	})
	return &c
}
