package model

import (
	"fmt"
	"sort"
	"strings"
)

// A table is one TOML table with its keys in file order.
type table struct {
	Source  // Pos and Comments only
	how     origin
	entries []*entry
	byKey   map[string]*entry
}

// origin says what made a table; it decides what may still add to it.
type origin uint8

const (
	byPath   origin = iota // named in the middle of a header
	byHeader               // [table] or [[table]]
	byDots                 // named in the middle of a dotted key
	inline                 // { … }
)

// An entry is one key of a table with its value.
type entry struct {
	key      string
	pos      Pos // of the key
	comments Comments
	value    *value
}

// valueKind is a TOML type.
type valueKind uint8

const (
	text valueKind = iota
	integer
	float
	boolean
	datetime
	array
	tableValue
)

func (k valueKind) String() string {
	return [...]string{"a text", "a whole number", "a number", "true or false", "a date or time", "a list", "a table"}[k]
}

// A value is what stands behind a key or in an array.
type value struct {
	kind  valueKind
	pos   Pos
	text  string // a string's text, else what the file says
	items []*value
	table *table
	above []string // in an array: comments between the item before and this one
	below []string // comments between the last item and the end of the array
	heads bool     // an array that [[headers]] made
}

// newTable makes a table that stands at pos.
func newTable(pos Pos, how origin) *table {
	return &table{Source: Source{Pos: pos}, how: how, byKey: map[string]*entry{}}
}

func (t *table) add(e *entry) {
	t.entries = append(t.entries, e)
	t.byKey[e.key] = e
}

// comments lists the comments inside a value, which stand above the key once
// the value is written on one line.
func (v *value) comments() []string {
	var all []string
	for _, item := range v.items {
		all = append(all, item.above...)
		all = append(all, item.comments()...)
	}
	if v.table != nil {
		all = append(all, v.table.Above...)
		all = appendBeside(all, v.table.Beside)
		for _, e := range v.table.entries {
			all = append(all, e.comments.Above...)
			all = appendBeside(all, e.comments.Beside)
			all = append(all, e.value.comments()...)
		}
	}
	return append(all, v.below...)
}

func appendBeside(all []string, beside string) []string {
	if beside == "" {
		return all
	}
	return append(all, beside)
}

// A keyPart is one part of a dotted key.
type keyPart struct {
	name string
	pos  Pos
}

// A treeBuilder adds a file's headers and keys to a tree, as TOML 1.0 allows
// ("TOML v1.0.0", T. Preston-Werner, P. Gedam et al., 2021, toml.io).
type treeBuilder struct {
	root    *table
	current *table // the one that keys go to
	faults  *Faults
}

func (b *treeBuilder) fault(pos Pos, wrong, advice string) {
	*b.faults = append(*b.faults, newFault(pos, wrong, advice))
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
		e := t.byKey[part.name]
		if e == nil {
			inner := newTable(pos, byPath)
			t.add(&entry{key: part.name, pos: part.pos, value: &value{kind: tableValue, pos: pos, table: inner}})
			t = inner
			continue
		}
		inner := e.value.table
		if e.value.heads {
			inner = e.value.items[len(e.value.items)-1].table
		}
		if inner == nil || inner.how == inline {
			b.fault(part.pos, fmt.Sprintf("%q is already a value, in line %d", part.name, e.pos.Line), "a header can only add to a table that a header made")
			return
		}
		t = inner
	}
	part := path[last]
	e := t.byKey[part.name]
	item := &value{kind: tableValue, pos: pos, table: made}
	switch {
	case e == nil && many:
		t.add(&entry{key: part.name, pos: part.pos, value: &value{kind: array, pos: pos, items: []*value{item}, heads: true}})
	case e == nil:
		t.add(&entry{key: part.name, pos: part.pos, value: item})
	case many && e.value.heads:
		e.value.items = append(e.value.items, item)
	case !many && e.value.table != nil && e.value.table.how == byPath:
		e.value.table.how = byHeader
		e.value.table.Source = made.Source
		e.value.pos, e.pos = pos, part.pos
		b.current = e.value.table
	default:
		advice := "keep one of them"
		if e.value.heads {
			advice = fmt.Sprintf("write [[%s]]", dotted(path))
		}
		b.fault(part.pos, fmt.Sprintf("%q stands in the file twice, first in line %d", dotted(path), e.pos.Line), advice)
	}
}

// keyValue adds a possibly dotted key to t.
func (b *treeBuilder) keyValue(t *table, path []keyPart, v *value, comments Comments) {
	last := len(path) - 1
	for _, part := range path[:last] {
		e := t.byKey[part.name]
		if e == nil {
			inner := newTable(part.pos, byDots)
			t.add(&entry{key: part.name, pos: part.pos, value: &value{kind: tableValue, pos: part.pos, table: inner}})
			t = inner
			continue
		}
		if e.value.table == nil || e.value.table.how != byDots {
			b.fault(part.pos, fmt.Sprintf("%q already has its value, in line %d", part.name, e.pos.Line), "write this key there")
			return
		}
		t = e.value.table
	}
	part := path[last]
	if e := t.byKey[part.name]; e != nil {
		b.fault(part.pos, fmt.Sprintf("key %q stands here twice, first in line %d", part.name, e.pos.Line), "keep one of them")
		return
	}
	t.add(&entry{key: part.name, pos: part.pos, value: v, comments: comments})
}

func dotted(path []keyPart) string {
	names := make([]string, len(path))
	for i, p := range path {
		names[i] = p.name
	}
	return strings.Join(names, ".")
}

// lines finds lines and columns in a text.
type lines struct {
	file   string
	starts []int // offset of each line's first byte
}

func newLines(file string, data []byte) *lines {
	l := &lines{file: file, starts: []int{0}}
	for i, c := range data {
		if c == '\n' {
			l.starts = append(l.starts, i+1)
		}
	}
	return l
}

// line is the index of the line that holds the offset.
func (l *lines) line(offset int) int {
	return sort.SearchInts(l.starts, offset+1) - 1
}

func (l *lines) pos(offset int) Pos {
	i := l.line(offset)
	return Pos{File: l.file, Line: i + 1, Column: offset - l.starts[i] + 1}
}
