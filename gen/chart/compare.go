package chart

import (
	"propwright/model"
	"propwright/model/compare"
	"propwright/model/machine"
)

// Compare makes one chart of two designs: what only the new one has is marked
// as new, what only the old one had as gone. A transition that is written in
// another way and does the same is not marked.
func Compare(c *compare.Comparison) *Chart {
	both := *c.New.Design
	both.States = append([]model.State(nil), c.New.States...)
	b := builder{design: &both, matrix: machine.NewMatrix(&both), marks: map[string]Mark{}}
	for i := range c.New.States {
		if name := c.New.States[i].Name; !has(c.Old.Design, name) {
			b.marks[name] = Added
		}
	}
	for i := range c.Old.States {
		s := c.Old.States[i]
		if !has(c.New.Design, s.Name) {
			b.marks[s.Name] = Removed
			s.Start = false
			both.States = append(both.States, s)
		}
	}
	var all []said
	for i := range c.New.Transitions {
		for _, s := range saidBy(c.New.Design, &c.New.Transitions[i], Same) {
			if !contains(c.Old.Design, s) && b.matters(c, c.New.Design, s) {
				s.mark = Added
			}
			all = append(all, s)
		}
	}
	for i := range c.Old.Transitions {
		for _, s := range saidBy(c.Old.Design, &c.Old.Transitions[i], Removed) {
			if !contains(c.New.Design, s) && b.matters(c, c.Old.Design, s) {
				all = append(all, s)
			}
		}
	}
	return b.build(all)
}

func has(d *model.Design, state string) bool {
	_, ok := d.Find(model.SortState, state)
	return ok
}

// contains reports whether a design says the same for the same source.
func contains(d *model.Design, s said) bool {
	for i := range d.Transitions {
		for _, x := range saidBy(d, &d.Transitions[i], Same) {
			if x.from.State == s.from.State && x.from.Kind == s.from.Kind && x.on.String() == s.on.String() &&
				x.to == s.to && x.does == s.does && x.waits == s.waits && x.ignore == s.ignore {
				return true
			}
		}
	}
	return false
}

// matters reports whether what is said, by the design d, is part of a
// difference: in a state that both designs have the event does something
// else, or the state is in one of them only.
func (b *builder) matters(c *compare.Comparison, d *model.Design, s said) bool {
	if s.ignore {
		return false // silence is not a difference
	}
	for i := range d.States {
		x := &d.States[i]
		named := s.from.State == x.Name
		inherited := s.from.State == model.Any && (s.from.Kind == "" || s.from.Kind == x.Kind)
		if named && b.marks[x.Name] != Same || (named || inherited) && c.Differs(x.Name, s.on) {
			return true
		}
	}
	return false
}
