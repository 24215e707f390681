package model

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// A sortRow is all that is known of one sort of element beside its keys.
type sortRow struct {
	sort   Sort
	noun   string   // in a sentence
	parent Sort     // what it belongs to, "" where that is the design itself
	single bool     // every design has one
	inline bool     // written among its parent's keys: no header, no comments of its own
	named  bool     // others mention it by its name
	vital  bool     // what it belongs to cannot be without the last one
	needs  []string // see Sort.Needs; nil: the keys that the file must state
	absent string   // what to do where the file has none, "" where there need not be one
	list   elements
}

// sorts lists the sorts in the order of a file, parents before their parts and
// elements before those that mention them. It is filled in by init because the
// fields' codecs look into it.
var sorts []*sortRow

func init() {
	sorts = []*sortRow{
		{sort: SortProp, noun: "prop", single: true, absent: "add [prop] with name and board", list: list[Prop, *Prop]{
			one:  func(d *Design) *Prop { return &d.Prop },
			name: func(p *Prop) *string { return &p.Name },
		}},
		{sort: SortRemote, noun: "remote", single: true, absent: "a prop needs a stop button: add [remote] with pin and stop, and a [[remote.button]]", list: list[Remote, *Remote]{
			one: func(d *Design) *Remote { return &d.Remote },
		}},
		{sort: SortButton, noun: "button", named: true, absent: "a prop needs a stop button: add a [[remote.button]] with name and code", list: list[Button, *Button]{
			all:  func(d *Design, _ int) *[]Button { return &d.Remote.Buttons },
			name: func(b *Button) *string { return &b.Name },
		}},
		{sort: SortSupply, noun: "supply", single: true, list: list[Supply, *Supply]{
			one: func(d *Design) *Supply { return &d.Supply },
		}},
		{sort: SortInput, noun: "input", named: true, list: list[Input, *Input]{
			all:  func(d *Design, _ int) *[]Input { return &d.Inputs },
			name: func(in *Input) *string { return &in.Name },
		}},
		{sort: SortEvent, noun: "event", named: true, list: list[Event, *Event]{
			all:  func(d *Design, _ int) *[]Event { return &d.Events },
			name: func(e *Event) *string { return &e.Name },
		}},
		{sort: SortOutput, noun: "output", named: true, list: list[Output, *Output]{
			all:      func(d *Design, _ int) *[]Output { return &d.Outputs },
			name:     func(o *Output) *string { return &o.Name },
			begin:    (*Output).begin,
			hasParts: func(o *Output) bool { return o.Kind.HasMessages() },
			forKind:  func(o *Output) []field { return o.fields(nil) },
			check:    (*reader).checkOutput,
		}},
		{sort: SortMessage, noun: "message", parent: SortOutput, named: true, list: list[Message, *Message]{
			all:  func(d *Design, output int) *[]Message { return &d.Outputs[output].Messages },
			name: func(m *Message) *string { return &m.Name },
		}},
		{sort: SortTrack, noun: "track", named: true, list: list[Track, *Track]{
			all:   func(d *Design, _ int) *[]Track { return &d.Tracks },
			name:  func(t *Track) *string { return &t.Name },
			check: (*reader).checkTrack,
		}},
		{sort: SortRoutine, noun: "routine", named: true, list: list[Routine, *Routine]{
			all:   func(d *Design, _ int) *[]Routine { return &d.Routines },
			name:  func(rt *Routine) *string { return &rt.Name },
			check: (*reader).checkRoutine,
		}},
		{sort: SortCue, noun: "cue", parent: SortRoutine, needs: []string{}, list: list[Cue, *Cue]{
			all: func(d *Design, routine int) *[]Cue { return &d.Routines[routine].Cues },
			begin: func(c *Cue, t *table) {
				c.Output, c.Track, c.Follow.Track = peek(t, "output"), peek(t, "track"), peek(t, "follow")
			},
			forKind: (&Cue{}).fieldsFor,
			check:   (*reader).checkCue,
		}},
		{sort: SortState, noun: "state", named: true, list: list[State, *State]{
			all:   func(d *Design, _ int) *[]State { return &d.States },
			name:  func(s *State) *string { return &s.Name },
			check: (*reader).checkState,
		}},
		{sort: SortPose, noun: "pose", parent: SortState, inline: true, needs: []string{"output"}, list: list[Pose, *Pose]{
			all:  func(d *Design, state int) *[]Pose { return &d.States[state].Pose },
			name: func(p *Pose) *string { return &p.Output },
		}},
		{sort: SortDrift, noun: "drift", parent: SortState, inline: true, needs: []string{"output"}, list: list[Drift, *Drift]{
			all:  func(d *Design, state int) *[]Drift { return &d.States[state].Drift },
			name: func(dr *Drift) *string { return &dr.Output },
		}},
		{sort: SortTransition, noun: "transition", list: list[Transition, *Transition]{
			all:   func(d *Design, _ int) *[]Transition { return &d.Transitions },
			check: (*reader).checkTransition,
		}},
		{sort: SortOrder, noun: "order", parent: SortTransition, inline: true, vital: true, needs: []string{"output"}, list: list[Order, *Order]{
			all:  func(d *Design, transition int) *[]Order { return &d.Transitions[transition].Do },
			name: func(or *Order) *string { return &or.Output },
		}},
		{sort: SortRequire, noun: "requirement", list: list[Require, *Require]{
			all: func(d *Design, _ int) *[]Require { return &d.Requires },
		}},
	}
}

// Sorts lists the sorts in the order of a file, parents before their parts.
func Sorts() []Sort {
	all := make([]Sort, len(sorts))
	for i, row := range sorts {
		all[i] = row.sort
	}
	return all
}

// row is what is known of a sort; of one that there is not, nothing.
func (s Sort) row() *sortRow {
	for _, row := range sorts {
		if row.sort == s {
			return row
		}
	}
	return &sortRow{sort: s, list: list[Prop, *Prop]{all: func(*Design, int) *[]Prop { return new([]Prop) }}}
}

// split parts a sort's header into the header that it is below, "" for none,
// and its own key there.
func (s Sort) split() (below Sort, key string) {
	i := strings.LastIndexByte(string(s), '.')
	return s[:max(i, 0)], string(s[i+1:])
}

// tablesBelow lists the sorts whose tables are below a header, or those at the
// top of a file for "".
func tablesBelow(header Sort) []*sortRow {
	var rows []*sortRow
	for _, row := range sorts {
		if below, _ := row.sort.split(); below == header && !row.inline {
			rows = append(rows, row)
		}
	}
	return rows
}

// Parent is the sort of the element that a sort belongs to, "" where it
// belongs to the design itself.
func (s Sort) Parent() Sort { return s.row().parent }

// Noun is the sort in a sentence, for example "button" or "cue".
func (s Sort) Noun() string { return s.row().noun }

// Single reports whether every design has exactly one element of the sort.
func (s Sort) Single() bool { return s.row().single }

// Named reports whether elements mention those of the sort by their names.
func (s Sort) Named() bool { return s.row().named }

// Needs lists the keys without which an element of the sort is not begun; a
// cue needs also `output` or `track`, a transition `to` or `ignore`.
func (s Sort) Needs() []string {
	row := s.row()
	if row.needs != nil {
		return row.needs
	}
	var keys []string
	_, fields := row.list.blank(&reader{design: &Design{}})
	for _, f := range fields {
		if f.need {
			keys = append(keys, f.key)
		}
	}
	return keys
}

// At is an element by its index in its list; parent is the index of the
// element that it belongs to, 0 where that is the design.
func (s Sort) At(parent, i int) Elem { return s.row().at(parent, i) }

func (row *sortRow) at(parent, i int) Elem {
	if row.parent == "" {
		return Elem{Sort: row.sort, Index: i}
	}
	return Elem{Sort: row.sort, Index: parent, Part: i}
}

// Place is the inverse of Sort.At.
func (e Elem) Place() (parent, i int) {
	if e.Sort.Parent() == "" {
		return 0, e.Index
	}
	return e.Index, e.Part
}

// elements reaches the elements of one sort in any design. parent is as in
// Sort.At and must be there.
type elements interface {
	len(d *Design, parent int) int
	value(d *Design, parent, i int) any // a copy
	source(d *Design, parent, i int) *Source
	nameOf(d *Design, parent, i int) *string                 // nil: the sort has no names
	fieldsOf(d *Design, parent, i int, r *reader) []field    // which write into d
	fieldsApart(d *Design, parent, i int, r *reader) []field // which write into a copy
	blank(r *reader) (x any, fields []field)                 // every key has its default
	open(d *Design, parent int)                              // puts a copy in the list's place
	insert(d *Design, parent, i int, x any)                  // nil: one with every key's default
	remove(d *Design, parent int, gone func(i int) bool)
	read(r *reader, row *sortRow, in *table, parent int)
}

// list is the elements of a sort that are T; one is set where there is one. Their
// fields find outputs in the reader.
type list[T any, P interface {
	sourced[T]
	fields(*reader) []field
}] struct {
	all  func(d *Design, parent int) *[]T
	one  func(d *Design) *T
	name func(*T) *string // nil: the sort has no names

	// Reading; each may be nil.
	begin    func(*T, *table)      // sets what decides which fields there are
	hasParts func(*T) bool         // whether it has the parts of its sort; nil: yes
	forKind  func(*Output) []field // those that there are for an output of another kind
	check    func(r *reader, x *T, what string, have got)
}

func (l list[T, P]) len(d *Design, parent int) int {
	if l.one != nil {
		return 1
	}
	return len(*l.all(d, parent))
}

func (l list[T, P]) elem(d *Design, parent, i int) P {
	if l.one != nil {
		return l.one(d)
	}
	return &(*l.all(d, parent))[i]
}

func (l list[T, P]) value(d *Design, parent, i int) any { return *l.elem(d, parent, i) }

func (l list[T, P]) source(d *Design, parent, i int) *Source { return l.elem(d, parent, i).source() }

func (l list[T, P]) nameOf(d *Design, parent, i int) *string {
	if l.name == nil {
		return nil
	}
	return l.name(l.elem(d, parent, i))
}

func (l list[T, P]) fieldsOf(d *Design, parent, i int, r *reader) []field {
	return l.elem(d, parent, i).fields(r)
}

func (l list[T, P]) fieldsApart(d *Design, parent, i int, r *reader) []field {
	x := *l.elem(d, parent, i)
	return P(&x).fields(r)
}

func (l list[T, P]) blank(r *reader) (any, []field) {
	var x T
	fields := P(&x).fields(r)
	for _, f := range fields {
		f.clear()
	}
	return x, fields
}

func (l list[T, P]) open(d *Design, parent int) {
	if l.one == nil {
		all := l.all(d, parent)
		*all = slices.Clone(*all)
	}
}

func (l list[T, P]) insert(d *Design, parent, i int, x any) {
	if x == nil {
		x, _ = l.blank(&reader{design: d})
	}
	all := l.all(d, parent)
	*all = slices.Insert(*all, i, x.(T))
}

func (l list[T, P]) remove(d *Design, parent int, gone func(i int) bool) {
	if l.one != nil {
		if gone(0) {
			*l.one(d) = *new(T)
		}
		return
	}
	var left []T
	all := l.all(d, parent)
	for i, x := range *all {
		if !gone(i) {
			left = append(left, x)
		}
	}
	*all = left
}

// read reads the tables that a table has of the sort. Of two of one name the
// second is a fault.
func (l list[T, P]) read(r *reader, row *sortRow, in *table, parent int) {
	below, key := row.sort.split()
	if l.one != nil {
		if t := r.one(in, key); t != nil {
			l.readOne(r, row, l.one(r.design), 0, t)
		} else if in.ByKey[key] == nil && row.absent != "" {
			r.fault(in.Pos, fmt.Sprintf("the design has no [%s]", key), row.absent)
		}
		return
	}
	lines := map[string]int{} // of names
	for i, t := range r.many(in, key, string(row.sort)) {
		all := l.all(r.design, parent)
		*all = append(*all, *new(T))
		x := P(&(*all)[i])
		l.readOne(r, row, x, i, t)
		if !row.named || *l.name(x) == "" {
			continue // a name that is missing is a fault already
		}
		name, at := *l.name(x), x.source().At("name")
		if line, twice := lines[name]; twice {
			of := ""
			if row.parent != "" {
				of = fmt.Sprintf(" of %s %q", row.parent, peek(in, "name"))
			}
			r.fault(at, fmt.Sprintf("%s %q%s is duplicated, first in line %d", row.noun, name, of, line), "give one of them another name")
			continue
		}
		lines[name] = at.Line
		if meant := meantName(name); lines[meant] == 0 {
			lines[meant] = at.Line
		}
	}
	if l.len(r.design, parent) == 0 && row.absent != "" {
		r.fault(in.Pos, fmt.Sprintf("the %s has no %s", below.Noun(), row.noun), row.absent)
	}
}

// readOne reads one element, its parts first: its own keys may mention them.
func (l list[T, P]) readOne(r *reader, row *sortRow, x P, i int, t *table) {
	if l.begin != nil {
		l.begin(x, t)
	}
	sh := shape{what: "the " + row.noun, fields: x.fields(r), forKind: l.forKind}
	if row.named {
		sh.what = titled(row.noun, t)
	}
	parts := got{}
	if l.hasParts == nil || l.hasParts(x) {
		below := tablesBelow(row.sort)
		for _, part := range below {
			_, key := part.sort.split()
			sh.parts = append(sh.parts, key)
		}
		r.respellParts(t, sh)
		for k, part := range below {
			before := len(r.faults)
			part.list.read(r, part, t, i)
			parts[sh.parts[k]] = len(r.faults) == before
		}
	}
	have := r.element(t, x.source(), sh)
	if l.check != nil {
		maps.Copy(have, parts)
		l.check(r, x, sh.what, have)
	}
}
