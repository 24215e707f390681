package edit

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"propwright/model"
)

// Retime gives each of the cues the time that at makes of its own, to the
// millisecond. A time before the routine's beginning is an error.
func (f *Draft) Retime(label string, cues []model.Elem, at func(time.Duration) time.Duration) error {
	return f.eachCue(label, cues, "at", func(c *model.Cue) (string, error) {
		to := at(c.At).Round(time.Millisecond)
		if to < 0 {
			return "", fmt.Errorf("the cue at %s would be at %s, before the routine begins", model.FormatDuration(c.At), model.FormatDuration(to))
		}
		return model.FormatDuration(to), nil
	})
}

// Stretch multiplies the times between the cues, and what each of them takes, by
// a factor. The first of them stays where it is.
func (f *Draft) Stretch(cues []model.Elem, factor float64) error {
	if len(cues) == 0 || factor <= 0 {
		return fmt.Errorf("there is nothing to stretch by %v", factor)
	}
	d, times := f.design, func(d time.Duration) time.Duration { return time.Duration(float64(d) * factor) }
	first := cueAt(d, slices.MinFunc(cues, func(a, b model.Elem) int { return cmp.Compare(cueAt(d, a), cueAt(d, b)) }))
	moves := slices.DeleteFunc(slices.Clone(cues), func(at model.Elem) bool { return d.Value(at, "over") == "" })
	label := "stretch " + Count(cues)
	return f.Together(label, func() error {
		if err := f.Retime(label, cues, func(at time.Duration) time.Duration { return first + times(at-first) }); err != nil {
			return err
		}
		return f.eachCue(label, moves, "over", func(c *model.Cue) (string, error) {
			return model.FormatDuration(times(c.Over).Round(time.Millisecond)), nil
		})
	})
}

func cueAt(d *model.Design, at model.Elem) time.Duration {
	return d.Routines[at.Index].Cues[at.Part].At
}

// Count is how many cues there are, in words.
func Count(cues []model.Elem) string {
	if len(cues) == 1 {
		return "1 cue"
	}
	return fmt.Sprintf("%d cues", len(cues))
}

// SetCues writes the same value of a key into each of the cues.
func (f *Draft) SetCues(cues []model.Elem, key, value string) error {
	return f.eachCue(fmt.Sprintf("set “%s” of %s", key, Count(cues)), cues, key, func(*model.Cue) (string, error) { return value, nil })
}

// Mirror turns the servos' moves among the cues to the other side of the middle
// of their travel. Without such a move among them it is an error.
func (f *Draft) Mirror(cues []model.Elem) error {
	d := f.design
	moves := slices.DeleteFunc(slices.Clone(cues), func(at model.Elem) bool {
		o := d.Output(d.Routines[at.Index].Cues[at.Part].Output)
		return o == nil || o.Kind != model.KindServo
	})
	if len(moves) == 0 {
		return fmt.Errorf("no servo moves here; only a servo's move has another side")
	}
	return f.eachCue("mirror "+Count(moves), moves, "to", func(c *model.Cue) (string, error) {
		o := d.Output(c.Output)
		return (o.Min + o.Max - c.To).String(), nil
	})
}

// eachCue sets a key of each of the cues as one step.
func (f *Draft) eachCue(label string, cues []model.Elem, key string, value func(*model.Cue) (string, error)) error {
	n := f.design
	for _, at := range cues {
		if at.Sort != model.SortCue || !n.Has(at) {
			return fmt.Errorf("there is no such %s", model.SortCue.Noun())
		}
		v, err := value(&n.Routines[at.Index].Cues[at.Part])
		if err != nil {
			return err
		}
		if n, err = n.With(at, key, v); err != nil {
			return fmt.Errorf("%s: %w", f.design.Title(at), err)
		}
	}
	f.commit(label, n)
	return nil
}

// A CopiedCue is what a cue says, for Paste.
type CopiedCue struct {
	keys   []Key // the first is its time, counted from the first cue's
	source model.Source
}

// Copied is what the cues say, comments too, in order of time.
func Copied(d *model.Design, cues []model.Elem) []CopiedCue {
	cues = slices.Clone(cues)
	slices.SortStableFunc(cues, func(a, b model.Elem) int { return cmp.Compare(cueAt(d, a), cueAt(d, b)) })
	var all []CopiedCue
	for _, c := range cues {
		keys := []Key{{Key: "at", Value: model.FormatDuration(cueAt(d, c) - cueAt(d, cues[0]))}}
		for _, kv := range d.Keys(c) {
			if kv.Key != "at" && kv.Value != "" {
				keys = append(keys, Key{Key: kv.Key, Value: kv.Value})
			}
		}
		all = append(all, CopiedCue{keys, d.Routines[c.Index].Cues[c.Part].Source})
	}
	return all
}

// Paste adds cues that were copied to a routine, the first of them at a time.
// It returns the new cues.
func (f *Draft) Paste(routine int, copied []CopiedCue, at time.Duration) ([]model.Elem, error) {
	n := f.design
	var added []model.Elem
	for _, c := range copied {
		keys := slices.Clone(c.keys)
		after, err := model.ParseDuration(keys[0].Value)
		if err != nil {
			return nil, err
		}
		keys[0].Value = model.FormatDuration(at + after)
		cue := model.SortCue.At(routine, n.Len(model.SortCue, routine))
		if n, err = with(n, cue, keys); err != nil {
			return nil, err
		}
		s := &n.Routines[routine].Cues[cue.Part].Source
		s.Comments = c.source.Comments
		for name, k := range s.Keys {
			k.Comments = c.source.Keys[name].Comments
			s.Keys[name] = k
		}
		added = append(added, cue)
	}
	f.commit("paste "+Count(added), n)
	return added, nil
}
