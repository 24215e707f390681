package edit

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"propwright/model"
)

// Duplicate puts a copy of an element behind it. A copy that needs a name of
// its own gets the next free number behind it, and starts no prop. The copy
// of a state answers every trigger as the state does: it joins the sources of
// the state's transitions, and what leads from the state to itself leads from
// the copy to the copy.
func (f *Draft) Duplicate(at model.Elem) (model.Elem, error) {
	n, to, err := doubled(f.design, at)
	if err != nil {
		return model.Elem{}, err
	}
	f.commit("duplicate "+f.design.Title(at), n)
	return to, nil
}

// DuplicateWithUsers duplicates a routine and every state that plays it; the
// copies play the copy.
func (f *Draft) DuplicateWithUsers(at model.Elem) (model.Elem, error) {
	d := f.design
	if at.Sort != model.SortRoutine {
		return model.Elem{}, fmt.Errorf("only a routine is duplicated with the states that play it")
	}
	n, to, err := doubled(d, at)
	if err != nil {
		return model.Elem{}, err
	}
	for i := 0; i < len(n.States); i++ {
		if n.States[i].Plays != d.Name(at) {
			continue
		}
		var copied model.Elem
		if n, copied, err = doubled(n, model.Elem{Sort: model.SortState, Index: i}); err != nil {
			return model.Elem{}, err
		}
		i = copied.Index
		n.States[i].Plays = n.Name(to)
	}
	f.commit(fmt.Sprintf("duplicate %s with its states", d.Title(at)), n)
	return to, nil
}

// doubled gives a design in which the list that at is in is a new one.
func doubled(d *model.Design, at model.Elem) (*model.Design, model.Elem, error) {
	switch {
	case !d.Has(at):
		return nil, at, fmt.Errorf("there is no such %s", at.Sort.Noun())
	case at.Sort.Single(), at.Sort == model.SortPose, at.Sort == model.SortDrift:
		return nil, at, fmt.Errorf("there can only be one: %s cannot be duplicated", d.Title(at))
	}
	name := ""
	if at.Sort.Named() {
		name = nextName(d, at)
	}
	n, to := d.Doubled(at, name)
	if at.Sort == model.SortState {
		s := &n.States[to.Index]
		s.Start = false
		s.Unstate("start")
		n.Transitions = answering(n.Transitions, d.Name(at), name)
	}
	return n, to, nil
}

// answering lets a new state answer triggers as another does.
func answering(all []model.Transition, name, copied string) []model.Transition {
	var out []model.Transition
	for _, t := range all {
		i := slices.IndexFunc(t.From, func(f model.From) bool { return f.State == name })
		if i < 0 {
			out = append(out, t)
			continue
		}
		from := model.From{State: copied}
		if t.To != name {
			t.From = slices.Insert(slices.Clone(t.From), i+1, from)
			out = append(out, t)
			continue
		}
		loop := t
		loop.Source = t.Source.Bare()
		loop.From, loop.To = []model.From{from}, copied
		out = append(out, t, loop)
	}
	return out
}

// nextName is an element's name with the first free number from 2 on.
func nextName(d *model.Design, at model.Elem) string {
	const most = 24 // bytes of a name
	base := d.Name(at)
	if i := strings.LastIndexByte(base, '-'); i > 0 {
		if _, err := strconv.Atoi(base[i+1:]); err == nil {
			base = base[:i]
		}
	}
	for n := 2; ; n++ {
		number := "-" + strconv.Itoa(n)
		name := base[:min(len(base), most-len(number))] + number
		if name != d.Name(at) && free(d, at, name) == nil {
			return name
		}
	}
}
