package model

import (
	"fmt"
	"strings"
)

// Sort is the kind of an element, as its header in a design file calls it. Drifts, poses
// and orders, which have no header, are named like keys of what they belong to.
type Sort string

const (
	SortProp       Sort = "prop"
	SortRemote     Sort = "remote"
	SortButton     Sort = "remote.button"
	SortSupply     Sort = "supply"
	SortInput      Sort = "input"
	SortEvent      Sort = "event"
	SortOutput     Sort = "output"
	SortMessage    Sort = "output.message"
	SortTrack      Sort = "track"
	SortRoutine    Sort = "routine"
	SortCue        Sort = "routine.cue"
	SortState      Sort = "state"
	SortPose       Sort = "state.pose"
	SortDrift      Sort = "state.drift"
	SortTransition Sort = "transition"
	SortOrder      Sort = "transition.do"
	SortRequire    Sort = "require"
)

// An Elem is an element's place in a Design: its sort and its index in the
// list of that sort; for a message, a cue, a pose or a drift, Index is its
// output's, routine's or state's, and Part its own index there. An Elem holds
// for the design that it was made for, and for what Read gives of its Format.
type Elem struct {
	Sort  Sort
	Index int
	Part  int
}

// Len is the number of elements of a sort; for a part, of those of the
// parent with the index given. Of prop, remote and supply there is one.
func (d *Design) Len(s Sort, parent int) int {
	row := s.row()
	if row.parent != "" && (parent < 0 || parent >= d.Len(row.parent, 0)) {
		return 0
	}
	return row.list.len(d, parent)
}

// Has reports whether the design has the element.
func (d *Design) Has(e Elem) bool {
	parent, i := e.Place()
	return e == e.Sort.At(parent, i) && 0 <= i && i < d.Len(e.Sort, parent)
}

// Find gives the element of a sort and a name; of messages those of all
// outputs are looked at, the first found counts.
func (d *Design) Find(s Sort, name string) (Elem, bool) {
	parents := 1
	if s.Parent() != "" {
		parents = d.Len(s.Parent(), 0)
	}
	for parent := range parents {
		for i := range d.Len(s, parent) {
			if e := s.At(parent, i); d.Name(e) == name {
				return e, true
			}
		}
	}
	return Elem{}, false
}

// Name is an element's name; of a pose and a drift it is the output's. Other
// elements have none.
func (d *Design) Name(e Elem) string {
	if !d.Has(e) {
		return ""
	}
	parent, i := e.Place()
	if name := e.Sort.row().list.nameOf(d, parent, i); name != nil {
		return *name
	}
	return ""
}

// Names lists the names of all elements of a sort that belongs to the design
// itself, in its order.
func (d *Design) Names(s Sort) []string {
	names := make([]string, d.Len(s, 0))
	for i := range names {
		names[i] = d.Name(s.At(0, i))
	}
	return names
}

// Parts lists the elements that belong to one, by sort and in their order.
func (d *Design) Parts(e Elem) (parts []Elem) {
	d.eachPart(e, func(part Elem) { parts = append(parts, part) })
	return parts
}

// Title says which element it is, in a sentence: "state watch", "the cue of
// greet at 200ms", "the transition from watch on press one".
func (d *Design) Title(e Elem) string {
	if !d.Has(e) {
		return "no " + e.Sort.Noun()
	}
	if e.Sort.Single() {
		return "the " + e.Sort.Noun()
	}
	switch e.Sort {
	case SortCue:
		r := &d.Routines[e.Index]
		return fmt.Sprintf("the cue of %s at %s", r.Name, FormatDuration(r.Cues[e.Part].At))
	case SortPose, SortDrift:
		return fmt.Sprintf("the %s of %s in %s", e.Sort.Noun(), d.Name(e), d.States[e.Index].Name)
	case SortOrder:
		t := &d.Transitions[e.Index]
		return fmt.Sprintf("the order to %s on %s", d.Name(e), few(t.On))
	case SortTransition:
		t := &d.Transitions[e.Index]
		return fmt.Sprintf("the transition from %s on %s", few(t.From), few(t.On))
	case SortRequire:
		return fmt.Sprintf("the requirement %q", d.Requires[e.Index].That)
	}
	return e.Sort.Noun() + " " + d.Name(e)
}

// few lists the first ones of a list.
func few[T fmt.Stringer](all []T) string {
	words := make([]string, len(all))
	for i, x := range all {
		words[i] = x.String()
	}
	return strings.Join(firstOf(words, 3), ", ")
}

// ElemAt is the element that a place in the design's file belongs to: the
// last one that begins at it or before it. It is false where the design has
// no places or none is so early.
func (d *Design) ElemAt(p Pos) (Elem, bool) {
	var best Elem
	at := Pos{}
	d.each(func(e Elem) {
		if pos := d.sourceAt(e).Pos; pos.IsValid() && !before(p, pos) && !before(pos, at) {
			best, at = e, pos
		}
	})
	return best, at.IsValid()
}

func before(a, b Pos) bool {
	return a.Line < b.Line || a.Line == b.Line && a.Column < b.Column
}

// each visits every element in the order of a file, parents before their parts.
func (d *Design) each(visit func(Elem)) {
	for _, row := range sorts {
		if row.parent != "" {
			continue
		}
		for i := range row.list.len(d, 0) {
			e := row.at(0, i)
			visit(e)
			d.eachPart(e, visit)
		}
	}
}

// eachPart visits the parts of an element.
func (d *Design) eachPart(e Elem, visit func(Elem)) {
	for _, part := range sorts {
		if part.parent != e.Sort {
			continue
		}
		for i := range part.list.len(d, e.Index) {
			visit(part.at(e.Index, i))
		}
	}
}

// A copying is a copy of a design in the making. It shares with the design each
// list that is not opened.
type copying struct {
	*Design
	opened map[Elem]bool // lists, as an element's sort and its parent's index
}

func (d *Design) copied() *copying {
	c := *d
	return &copying{&c, map[Elem]bool{}}
}

// open makes the list that an element is in the copy's own, so that the element
// may be changed.
func (c *copying) open(e Elem) {
	row := e.Sort.row()
	parent, _ := e.Place()
	list := Elem{Sort: e.Sort, Index: parent}
	if c.opened[list] {
		return
	}
	c.opened[list] = true
	if row.parent != "" {
		c.open(row.parent.At(0, parent))
	}
	row.list.open(c.Design, parent)
}

// opened is a copy of the design in which the element e may be changed; all
// else is shared with d.
func (d *Design) opened(e Elem) *Design {
	c := d.copied()
	c.open(e)
	return c.Design
}

// Inserted is the design with x, an element of the sort, at a place of its list
// (its length: at the end); nil is an element with every key's default.
func (d *Design) Inserted(at Elem, x any) *Design {
	c := d.opened(at)
	parent, i := at.Place()
	at.Sort.row().list.insert(c, parent, i, x)
	return c
}

// Moved is the design in which an element has another index in its list.
func (d *Design) Moved(at Elem, to int) *Design {
	c := d.opened(at)
	list := at.Sort.row().list
	parent, i := at.Place()
	x := list.value(c, parent, i)
	list.remove(c, parent, func(j int) bool { return j == i })
	list.insert(c, parent, to, x)
	return c
}

// Doubled is the design with a copy of an element behind it, which has the
// name given where others mention the sort by name. The copy and its parts
// state the same keys and have no place in the file and no comments.
func (d *Design) Doubled(at Elem, name string) (*Design, Elem) {
	row := at.Sort.row()
	parent, i := at.Place()
	to := row.at(parent, i+1)
	c := d.copied()
	c.open(to)
	row.list.insert(c.Design, parent, i+1, row.list.value(d, parent, i))
	if row.named {
		*row.list.nameOf(c.Design, parent, i+1) = name
	}
	bare := func(e Elem) {
		c.open(e)
		s := c.sourceAt(e)
		*s = s.Bare()
	}
	bare(to)
	c.eachPart(to, bare)
	return c.Design, to
}

// Bare is the source of a copy: the same keys, no place and no comment.
func (s *Source) Bare() Source {
	c := Source{}
	for key := range s.Keys {
		c.state(key)
	}
	return c
}
