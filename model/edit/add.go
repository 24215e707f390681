package edit

import (
	"fmt"
	"slices"
	"strings"

	"propwright/model"
)

// A Key is one key of an element to be, as Draft.Set takes it.
type Key struct{ Key, Value string }

// Add adds an element at a place of its list (its length: at the end) with
// the keys given; an output, a cue, a pose, a drift and an order begin with values that
// a maker can go on from. It returns the element's place.
func (f *Draft) Add(at model.Elem, keys ...Key) (model.Elem, error) {
	n, err := with(f.design, at, keys)
	if err != nil {
		return model.Elem{}, err
	}
	f.commit("add "+n.Title(at), n)
	return at, nil
}

func with(d *model.Design, at model.Elem, keys []Key) (*model.Design, error) {
	noun := at.Sort.Noun()
	if at.Sort.Single() {
		return nil, fmt.Errorf("every design has one %s; it cannot be added", noun)
	}
	if p := at.Sort.Parent(); p != "" && !d.Has(model.Elem{Sort: p, Index: at.Index}) {
		return nil, fmt.Errorf("there is no such %s", p.Noun())
	}
	parent, i := at.Place()
	n := d.Len(at.Sort, parent)
	if i < 0 || i > n || at != at.Sort.At(parent, i) {
		return nil, fmt.Errorf("a %s can stand at 0 to %d of its list, not at %d", noun, n, i)
	}
	given := map[string]string{}
	for _, k := range keys {
		given[k.Key] = strings.TrimSpace(k.Value)
	}
	for _, key := range at.Sort.Needs() {
		if given[key] == "" {
			return nil, fmt.Errorf("the new %s needs %q", noun, key)
		}
	}
	if at.Sort == model.SortCue && given["output"] == "" && given["track"] == "" {
		return nil, fmt.Errorf("the new cue needs an output or a track")
	}
	if at.Sort == model.SortTransition && given["to"] == "" && given["do"] == "" && given["ignore"] != "true" {
		return nil, fmt.Errorf("the new transition needs a state to go to; write ignore where silence is meant")
	}
	blank, err := begin(d, at, given)
	if err != nil {
		return nil, err
	}
	c := d.Inserted(at, blank)
	// A kind or an output decides which other keys there are, so it is first.
	keys = slices.Clone(keys)
	slices.SortStableFunc(keys, func(a, b Key) int { return turn(a.Key) - turn(b.Key) })
	for _, k := range keys {
		if at.Sort == model.SortPose && k.Key == "output" || k.Value == "" {
			continue
		}
		if c, err = c.With(at, k.Key, k.Value); err != nil {
			return nil, err
		}
	}
	if err := free(c, at, c.Name(at)); err != nil {
		return nil, err
	}
	return c, nil
}

func turn(key string) int {
	switch key {
	case "kind", "output", "track":
		return 0
	case "chip":
		return 1
	}
	return 2
}

// begin is an element before its keys are set, nil where all have their defaults.
func begin(d *model.Design, at model.Elem, given map[string]string) (any, error) {
	if at.Sort == model.SortMessage {
		if o := &d.Outputs[at.Index]; !o.Kind.HasMessages() {
			return nil, fmt.Errorf("output %s sends no messages; only an output of kind message does", o.Name)
		}
	}
	if at.Sort != model.SortPose && at.Sort != model.SortDrift && at.Sort != model.SortOrder {
		return nil, nil
	}
	o := d.Output(given["output"])
	if o == nil {
		advice := "add it first"
		if near := model.Nearest(given["output"], d.Names(model.SortOutput)); near != "" {
			advice = fmt.Sprintf("write %q", near)
		}
		return nil, fmt.Errorf("there is no output %q; %s", given["output"], advice)
	}
	if at.Sort == model.SortOrder {
		if !o.TakesOrders() {
			return nil, fmt.Errorf("output %s takes no orders; let a state turn it or play it", o.Name)
		}
		return model.FirstOrder(o), nil
	}
	s := &d.States[at.Index]
	if at.Sort == model.SortDrift {
		if slices.ContainsFunc(s.Drift, func(dr model.Drift) bool { return dr.Output == o.Name }) {
			return nil, fmt.Errorf("%s drifts in %s already", o.Name, s.Name)
		}
		if !o.Kind.Drifts() {
			return nil, fmt.Errorf("output %s is of kind %s and cannot drift; a servo or a spinner can", o.Name, o.Kind)
		}
		return model.FirstDrift(o), nil
	}
	if slices.ContainsFunc(s.Pose, func(p model.Pose) bool { return p.Output == o.Name }) {
		return nil, fmt.Errorf("%s has its pose in %s already", o.Name, s.Name)
	}
	if o.Kind.Known() && !o.Kind.Poses() {
		return nil, fmt.Errorf("output %s is of kind %s and has nothing to hold in a pose; use it in a routine's cue", o.Name, o.Kind)
	}
	return model.Pose{Output: o.Name, Action: model.FirstAction(o)}, nil
}

// Move gives an element another index in its list. The order of states is
// that of the firmware's numbers; the order of transitions decides between
// timers that are due at the same time.
func (f *Draft) Move(at model.Elem, to int) error {
	d := f.design
	parent, i := at.Place()
	switch n := d.Len(at.Sort, parent); {
	case !d.Has(at):
		return fmt.Errorf("there is no such %s", at.Sort.Noun())
	case at.Sort.Single():
		return fmt.Errorf("there is only one %s", at.Sort.Noun())
	case to < 0 || to >= n:
		return fmt.Errorf("there is no further to move %s", d.Title(at))
	}
	if i != to {
		f.commit("move "+d.Title(at), d.Moved(at, to))
	}
	return nil
}
