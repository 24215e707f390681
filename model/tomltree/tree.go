package tomltree

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// A Table is one TOML table with its keys in file order.
type Table struct {
	Pos Pos
	Comments
	Entries []*Entry
	ByKey   map[string]*Entry
	how     origin
}

// origin says what made a table; it decides what may still add to it.
type origin uint8

const (
	byPath   origin = iota // named in the middle of a header
	byHeader               // [table] or [[table]]
	byDots                 // named in the middle of a dotted key
	inline                 // { … }
)

// An Entry is one key of a table with its value.
type Entry struct {
	Key      string
	Pos      Pos // of the key
	Comments Comments
	Value    *Value
}

// Kind is a TOML type.
type Kind uint8

const (
	Text Kind = iota
	Integer
	Float
	Boolean
	Datetime
	Array
	TableValue
)

func (k Kind) String() string {
	return [...]string{"a text", "a whole number", "a number", "true or false", "a date or time", "a list", "a table"}[k]
}

// A Value is the value of a key or an item of an array.
type Value struct {
	Kind  Kind
	Pos   Pos
	Text  string // a string's text, else what the file says
	Items []*Value
	Table *Table
	Above []string // in an array: comments between the item before and this one
	Below []string // comments between the last item and the end of the array
	heads bool     // an array that [[headers]] made
}

// newTable makes a table at pos.
func newTable(pos Pos, how origin) *Table {
	return &Table{Pos: pos, how: how, ByKey: map[string]*Entry{}}
}

func (t *Table) add(e *Entry) {
	t.Entries = append(t.Entries, e)
	t.ByKey[e.Key] = e
}

// Inside lists the comments inside a value, which stand above the key once the
// value is written on one line.
func (v *Value) Inside() []string {
	var all []string
	for _, item := range v.Items {
		all = append(all, item.Above...)
		all = append(all, item.Inside()...)
	}
	if v.Table != nil {
		all = append(all, v.Table.Above...)
		all = appendBeside(all, v.Table.Beside)
		for _, e := range v.Table.Entries {
			all = append(all, e.Comments.Above...)
			all = appendBeside(all, e.Comments.Beside)
			all = append(all, e.Value.Inside()...)
		}
	}
	return append(all, v.Below...)
}

func appendBeside(all []string, beside string) []string {
	return Comments{Above: all, Beside: beside}.All()
}

// Tables lists the tables that an entry holds, each with the comments around
// it. It moves the comments, so it is asked once.
func (e *Entry) Tables() []*Table {
	if t := e.Value.Table; t != nil {
		if t.how == inline {
			t.Above = slices.Concat(e.Comments.Above, t.Above)
			t.Beside = cmp.Or(t.Beside, e.Comments.Beside)
		}
		return []*Table{t}
	}
	var ts []*Table
	above := e.Comments.Above
	for _, item := range e.Value.Items {
		above = slices.Concat(above, item.Above)
		if item.Table == nil {
			continue
		}
		item.Table.Above = slices.Concat(above, item.Table.Above)
		above = nil
		ts = append(ts, item.Table)
	}
	if n := len(ts); n > 0 {
		last := ts[n-1]
		last.Above = slices.Concat(last.Above, e.Value.Below, appendBeside(nil, e.Comments.Beside))
	}
	return ts
}

// A keyPart is one part of a dotted key.
type keyPart struct {
	name string
	pos  Pos
}

// A treeBuilder adds a file's headers and keys to a tree, as TOML 1.0 allows
// ("TOML v1.0.0", T. Preston-Werner, P. Gedam et al., 2021, toml.io).
type treeBuilder struct {
	root    *Table
	current *Table // the one that keys go to
	faults  *Faults
}

func (b *treeBuilder) fault(pos Pos, wrong, advice string) {
	*b.faults = append(*b.faults, NewFault(pos, wrong, advice))
}

// header makes the table of a [header] or the next one of a [[header]]
// current. One that TOML does not allow is a fault, and its keys go nowhere.
func (b *treeBuilder) header(path []keyPart, many bool, pos Pos, comments Comments) {
	made := newTable(pos, byHeader)
	made.Comments = comments
	b.current = made
	t := b.root
	last := len(path) - 1
	for _, part := range path[:last] {
		e := t.ByKey[part.name]
		if e == nil {
			inner := newTable(pos, byPath)
			t.add(&Entry{Key: part.name, Pos: part.pos, Value: &Value{Kind: TableValue, Pos: pos, Table: inner}})
			t = inner
			continue
		}
		inner := e.Value.Table
		if e.Value.heads {
			inner = e.Value.Items[len(e.Value.Items)-1].Table
		}
		if inner == nil || inner.how == inline {
			b.fault(part.pos, fmt.Sprintf("%q is already a value, in line %d", part.name, e.Pos.Line), "a header can only add to a table that a header made")
			return
		}
		t = inner
	}
	part := path[last]
	e := t.ByKey[part.name]
	item := &Value{Kind: TableValue, Pos: pos, Table: made}
	switch {
	case e == nil && many:
		t.add(&Entry{Key: part.name, Pos: part.pos, Value: &Value{Kind: Array, Pos: pos, Items: []*Value{item}, heads: true}})
	case e == nil:
		t.add(&Entry{Key: part.name, Pos: part.pos, Value: item})
	case many && e.Value.heads:
		e.Value.Items = append(e.Value.Items, item)
	case !many && e.Value.Table != nil && e.Value.Table.how == byPath:
		e.Value.Table.how = byHeader
		e.Value.Table.Pos, e.Value.Table.Comments = made.Pos, made.Comments
		e.Value.Pos, e.Pos = pos, part.pos
		b.current = e.Value.Table
	default:
		advice := "keep one of them"
		if e.Value.heads {
			advice = fmt.Sprintf("write [[%s]]", dotted(path))
		}
		b.fault(part.pos, fmt.Sprintf("%q is duplicated, first in line %d", dotted(path), e.Pos.Line), advice)
	}
}

// keyValue adds a possibly dotted key to t.
func (b *treeBuilder) keyValue(t *Table, path []keyPart, v *Value, comments Comments) {
	last := len(path) - 1
	for _, part := range path[:last] {
		e := t.ByKey[part.name]
		if e == nil {
			inner := newTable(part.pos, byDots)
			t.add(&Entry{Key: part.name, Pos: part.pos, Value: &Value{Kind: TableValue, Pos: part.pos, Table: inner}})
			t = inner
			continue
		}
		if e.Value.Table == nil || e.Value.Table.how != byDots {
			b.fault(part.pos, fmt.Sprintf("%q already has its value, in line %d", part.name, e.Pos.Line), "write this key there")
			return
		}
		t = e.Value.Table
	}
	part := path[last]
	if e := t.ByKey[part.name]; e != nil {
		b.fault(part.pos, fmt.Sprintf("key %q is duplicated, first in line %d", part.name, e.Pos.Line), "keep one of them")
		return
	}
	t.add(&Entry{Key: part.name, Pos: part.pos, Value: v, Comments: comments})
}

func dotted(path []keyPart) string {
	names := make([]string, len(path))
	for i, p := range path {
		names[i] = p.name
	}
	return strings.Join(names, ".")
}
