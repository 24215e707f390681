package model

import "slices"

// A sortRow is all that is known of one sort of element beside its keys.
type sortRow struct {
	sort   Sort
	noun   string // in a sentence
	parent Sort   // what it belongs to, "" where that is the design itself
	single bool   // every design has one
	inline bool   // written among its parent's keys: no header, no comments of its own
	named  bool   // others mention it by its name
	needs  []string
	list   elements
}

// sorts lists the sorts in the order of a file, parents before their parts.
// It is filled in by init because the fields' codecs look into it.
var sorts []*sortRow

func init() {
	sorts = []*sortRow{
		{sort: SortProp, noun: "prop", single: true, list: list[Prop]{
			one:    func(d *Design) *Prop { return &d.Prop },
			name:   func(p *Prop) *string { return &p.Name },
			fields: func(p *Prop, _ *reader) []field { return p.fields() },
		}},
		{sort: SortRemote, noun: "remote", single: true, list: list[Remote]{
			one:    func(d *Design) *Remote { return &d.Remote },
			fields: func(m *Remote, _ *reader) []field { return m.fields() },
		}},
		{sort: SortButton, noun: "button", named: true, needs: []string{"name", "code"}, list: list[Button]{
			all:    func(d *Design, _ int) *[]Button { return &d.Remote.Buttons },
			name:   func(b *Button) *string { return &b.Name },
			fields: func(b *Button, _ *reader) []field { return b.fields() },
		}},
		{sort: SortSupply, noun: "supply", single: true, list: list[Supply]{
			one:    func(d *Design) *Supply { return &d.Supply },
			fields: func(s *Supply, _ *reader) []field { return s.fields() },
		}},
		{sort: SortInput, noun: "input", named: true, needs: []string{"name", "pin"}, list: list[Input]{
			all:    func(d *Design, _ int) *[]Input { return &d.Inputs },
			name:   func(in *Input) *string { return &in.Name },
			fields: func(in *Input, _ *reader) []field { return in.fields() },
		}},
		{sort: SortOutput, noun: "output", named: true, needs: []string{"name", "kind", "pin"}, list: list[Output]{
			all:    func(d *Design, _ int) *[]Output { return &d.Outputs },
			name:   func(o *Output) *string { return &o.Name },
			fields: func(o *Output, _ *reader) []field { return o.fields() },
		}},
		{sort: SortMessage, noun: "message", parent: SortOutput, named: true, needs: []string{"name", "bytes"}, list: list[Message]{
			all:    func(d *Design, output int) *[]Message { return &d.Outputs[output].Messages },
			name:   func(m *Message) *string { return &m.Name },
			fields: func(m *Message, _ *reader) []field { return m.fields() },
		}},
		{sort: SortTrack, noun: "track", named: true, needs: []string{"name", "length", "play"}, list: list[Track]{
			all:    func(d *Design, _ int) *[]Track { return &d.Tracks },
			name:   func(t *Track) *string { return &t.Name },
			fields: func(t *Track, _ *reader) []field { return t.fields() },
		}},
		{sort: SortRoutine, noun: "routine", named: true, needs: []string{"name"}, list: list[Routine]{
			all:    func(d *Design, _ int) *[]Routine { return &d.Routines },
			name:   func(rt *Routine) *string { return &rt.Name },
			fields: func(rt *Routine, _ *reader) []field { return rt.fields() },
		}},
		{sort: SortCue, noun: "cue", parent: SortRoutine, list: list[Cue]{
			all:    func(d *Design, routine int) *[]Cue { return &d.Routines[routine].Cues },
			fields: func(c *Cue, r *reader) []field { return c.fields(r.output(c.Output)) },
		}},
		{sort: SortState, noun: "state", named: true, needs: []string{"name", "kind"}, list: list[State]{
			all:    func(d *Design, _ int) *[]State { return &d.States },
			name:   func(s *State) *string { return &s.Name },
			fields: func(s *State, r *reader) []field { return s.fields(r.output) },
		}},
		{sort: SortPose, noun: "pose", parent: SortState, inline: true, needs: []string{"output"}, list: list[Pose]{
			all:    func(d *Design, state int) *[]Pose { return &d.States[state].Pose },
			name:   func(p *Pose) *string { return &p.Output },
			fields: func(p *Pose, r *reader) []field { return p.Action.fields(r.output(p.Output)) },
		}},
		{sort: SortDrift, noun: "drift", parent: SortState, inline: true, needs: []string{"output"}, list: list[Drift]{
			all:    func(d *Design, state int) *[]Drift { return &d.States[state].Drift },
			name:   func(dr *Drift) *string { return &dr.Output },
			fields: func(dr *Drift, r *reader) []field { return dr.fields(r.output(dr.Output)) },
		}},
		{sort: SortTransition, noun: "transition", needs: []string{"from", "on"}, list: list[Transition]{
			all:    func(d *Design, _ int) *[]Transition { return &d.Transitions },
			fields: func(t *Transition, _ *reader) []field { return t.fields() },
		}},
		{sort: SortRequire, noun: "requirement", needs: []string{"that"}, list: list[Require]{
			all:    func(d *Design, _ int) *[]Require { return &d.Requires },
			fields: func(q *Require, _ *reader) []field { return q.fields() },
		}},
	}
}

// row is what is known of a sort; of one that there is not, nothing.
func (s Sort) row() *sortRow {
	for _, row := range sorts {
		if row.sort == s {
			return row
		}
	}
	return &sortRow{sort: s, list: list[Prop]{all: func(*Design, int) *[]Prop { return new([]Prop) }}}
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
func (s Sort) Needs() []string { return s.row().needs }

// At is an element by its index in its list; parent is the index of the
// element that it belongs to, 0 where that is the design.
func (s Sort) At(parent, i int) Elem {
	if s.Parent() == "" {
		return Elem{Sort: s, Index: i}
	}
	return Elem{Sort: s, Index: parent, Part: i}
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
	nameOf(d *Design, parent, i int) *string // nil: the sort has no names
	keys(d *Design, parent, i int, r *reader) (*Source, []field)
	open(d *Design, parent int) // puts a copy in the list's place
	insert(d *Design, parent, i int, x any)
	double(d *Design, parent, i int)
	remove(d *Design, parent, i int)
	move(d *Design, parent, i, to int)
}

// list is the elements of a sort that are T; one is set where there is one.
type list[T any] struct {
	all    func(d *Design, parent int) *[]T
	one    func(d *Design) *T
	name   func(*T) *string
	fields func(*T, *reader) []field
}

func (l list[T]) len(d *Design, parent int) int {
	if l.one != nil {
		return 1
	}
	return len(*l.all(d, parent))
}

func (l list[T]) elem(d *Design, parent, i int) *T {
	if l.one != nil {
		return l.one(d)
	}
	return &(*l.all(d, parent))[i]
}

func (l list[T]) nameOf(d *Design, parent, i int) *string {
	if l.name == nil {
		return nil
	}
	return l.name(l.elem(d, parent, i))
}

func (l list[T]) keys(d *Design, parent, i int, r *reader) (*Source, []field) {
	x := l.elem(d, parent, i)
	return any(x).(interface{ source() *Source }).source(), l.fields(x, r)
}

func (l list[T]) open(d *Design, parent int) {
	if l.one == nil {
		all := l.all(d, parent)
		*all = slices.Clone(*all)
	}
}

func (l list[T]) insert(d *Design, parent, i int, x any) {
	all := l.all(d, parent)
	*all = slices.Insert(*all, i, x.(T))
}

func (l list[T]) double(d *Design, parent, i int) {
	all := l.all(d, parent)
	*all = slices.Insert(*all, i+1, (*all)[i])
}

func (l list[T]) remove(d *Design, parent, i int) {
	all := l.all(d, parent)
	*all = slices.Delete(*all, i, i+1)
	if len(*all) == 0 {
		*all = nil
	}
}

func (l list[T]) move(d *Design, parent, i, to int) {
	all := l.all(d, parent)
	x := (*all)[i]
	*all = slices.Insert(slices.Delete(*all, i, i+1), to, x)
}

// source makes every element's Source reachable without knowing its type.
func (s *Source) source() *Source { return s }
