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

// doubled gives a design of which the list that at stands in is new.
func doubled(d *model.Design, at model.Elem) (*model.Design, model.Elem, error) {
	to := at
	if at.Sort.Parent() != "" {
		to.Part++
	} else {
		to.Index++
	}
	if !d.Has(at) {
		return nil, to, fmt.Errorf("there is no such %s", at.Sort.Noun())
	}
	name := ""
	if renamed(at.Sort) {
		name = nextName(d, at)
	}
	var x any
	switch at.Sort {
	case model.SortButton:
		b := d.Remote.Buttons[at.Index]
		b.Source, b.Name = bare(b.Source), name
		x = b
	case model.SortInput:
		in := d.Inputs[at.Index]
		in.Source, in.Name = bare(in.Source), name
		x = in
	case model.SortOutput:
		o := d.Outputs[at.Index]
		o.Source, o.Name = bare(o.Source), name
		o.Messages, _ = edited(o.Messages, func(m *model.Message) bool { m.Source = bare(m.Source); return true })
		x = o
	case model.SortMessage:
		m := d.Outputs[at.Index].Messages[at.Part]
		m.Source, m.Name = bare(m.Source), name
		x = m
	case model.SortTrack:
		t := d.Tracks[at.Index]
		t.Source, t.Name = bare(t.Source), name
		x = t
	case model.SortRoutine:
		r := d.Routines[at.Index]
		r.Source, r.Name = bare(r.Source), name
		r.Cues, _ = edited(r.Cues, func(c *model.Cue) bool { c.Source = bare(c.Source); return true })
		x = r
	case model.SortCue:
		c := d.Routines[at.Index].Cues[at.Part]
		c.Source = bare(c.Source)
		x = c
	case model.SortState:
		s := d.States[at.Index]
		s.Source, s.Name, s.Start = bare(unstated(s.Source, "start")), name, false
		s.Pose, _ = edited(s.Pose, func(p *model.Pose) bool { p.Source = bare(p.Source); return true })
		s.Drift, _ = edited(s.Drift, func(dr *model.Drift) bool { dr.Source = bare(dr.Source); return true })
		n := restate(d, to, listChange{insert: s})
		n.Transitions = answering(n.Transitions, d.Name(at), name)
		return n, to, nil
	case model.SortTransition:
		t := d.Transitions[at.Index]
		t.Source = bare(t.Source)
		x = t
	case model.SortRequire:
		q := d.Requires[at.Index]
		q.Source = bare(q.Source)
		x = q
	default:
		return nil, to, fmt.Errorf("there can only be one: %s cannot be duplicated", d.Title(at))
	}
	return restate(d, to, listChange{insert: x}), to, nil
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
		loop.Source = bare(t.Source)
		loop.From, loop.To = []model.From{from}, copied
		out = append(out, t, loop)
	}
	return out
}

// bare is the source of a copy: the same keys, no place and no comment.
func bare(s model.Source) model.Source {
	c := model.Source{}
	for key := range s.Keys {
		if c.Keys == nil {
			c.Keys = map[string]model.Key{}
		}
		c.Keys[key] = model.Key{}
	}
	return c
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
