package model

import (
	"fmt"
	"slices"
	"strings"

	"propwright/model/ir"
	"propwright/model/tomltree"
)

// The tree's types by their short names.
type (
	table = tomltree.Table
	entry = tomltree.Entry
	value = tomltree.Value
)

// A reader turns a tree into a design and collects the faults.
type reader struct {
	design *Design
	faults Faults

	names map[Sort]*names // of the sorts that belong to the design

	byName   map[string]*Output
	messages map[*Output]*names
	compared int // names compared for advice so far
}

func newReader(d *Design) *reader {
	r := &reader{design: d, names: map[Sort]*names{}}
	for _, row := range sorts {
		if row.named && row.parent == "" {
			r.names[row.sort] = &names{what: row.noun}
		}
	}
	return r
}

// names are the elements of one sort, which must all have different names.
type names struct {
	what string // the sort
	of   string // what they belong to, where that is not the design
	list []string
	line map[string]int // where each stands
}

func (r *reader) fault(pos Pos, wrong, advice string) {
	r.faults = append(r.faults, tomltree.NewFault(pos, wrong, advice))
}

// refuse makes a fault of an error of a value; it reports whether there was none.
func (r *reader) refuse(pos Pos, err error) bool {
	switch e := err.(type) {
	case nil:
		return true
	case *ValueError:
		r.fault(pos, e.Wrong, e.Advice)
	case *ir.CodeError:
		r.fault(pos, e.Wrong, e.Advice)
	default:
		r.fault(pos, err.Error(), "")
	}
	return false
}

// enter adds an element's name; two of one name are a fault.
func (r *reader) enter(n *names, name string, s *Source) {
	if name == "" {
		return // a fault already
	}
	if n.line == nil {
		n.line = map[string]int{}
	}
	if line, twice := n.line[name]; twice {
		r.fault(s.At("name"), fmt.Sprintf("%s %q%s is duplicated, first in line %d", n.what, name, n.of, line), "give one of them another name")
		return
	}
	n.line[name] = s.At("name").Line
	n.list = append(n.list, name)
	if meant := slugOf(name); !IsPrintedName(name) && meant != "" && n.line[meant] == 0 {
		n.line[meant] = n.line[name] // so that a faulty name is one fault, and not another at every mention
	}
}

// known reports whether an element is there, and makes a fault if not. Of
// nil names it knows nothing.
func (r *reader) known(pos Pos, name string, n *names) bool {
	if n == nil {
		return true
	}
	if _, ok := n.line[name]; ok {
		return true
	}
	r.fault(pos, fmt.Sprintf("there is no %s %q%s", n.what, name, n.of), r.adviseName(name, n))
	return false
}

// mostCompared bounds the time that advice may take on a file of many faults.
const mostCompared = 1_000_000

func (r *reader) adviseName(name string, n *names) string {
	if len(n.list) == 0 {
		return fmt.Sprintf("there is no %s at all", n.what)
	}
	if r.compared += len(n.list); r.compared <= mostCompared {
		if near := Nearest(name, n.list); near != "" {
			return fmt.Sprintf("write %q", near)
		}
	}
	const most = 8
	if len(n.list) > most {
		return fmt.Sprintf("there are %s and %d more", strings.Join(n.list[:most], ", "), len(n.list)-most)
	}
	if len(n.list) == 1 {
		return "there is only " + n.list[0]
	}
	return "there are " + strings.Join(n.list, ", ")
}

// output finds an output by name, or nil.
func (r *reader) output(name string) *Output { return r.byName[name] }

// got says which keys of an element were read without a fault.
type got map[string]bool

// A shape is what an element may have.
type shape struct {
	what      string // the element in a sentence
	fields    []field
	parts     []string                // keys of the elements below it, read by others
	elsewhere func(key string) string // what has the key in place of this element, or ""
}

// element reads the keys of t into the fields of an element.
func (r *reader) element(t *table, s *Source, sh shape) got {
	s.Pos, s.Comments = t.Pos, t.Comments
	have := got{}
	for _, f := range sh.fields {
		f.clear()
	}
	for _, e := range t.Entries {
		if slices.Contains(sh.parts, e.Key) {
			continue
		}
		i := slices.IndexFunc(sh.fields, func(f field) bool { return f.key == e.Key })
		if i < 0 {
			r.unknownKey(e, sh)
			continue
		}
		comments := e.Comments
		comments.Above = slices.Concat(comments.Above, e.Value.Inside())
		if s.Keys == nil {
			s.Keys = map[string]Key{}
		}
		s.Keys[e.Key] = Key{e.Value.Pos, comments}
		before := len(r.faults)
		sh.fields[i].read(r, e.Value)
		have[e.Key] = len(r.faults) == before
	}
	for _, f := range sh.fields {
		if f.need && !s.States(f.key) {
			r.fault(t.Pos, fmt.Sprintf("%s has no %s", sh.what, f.key), f.advice())
		}
	}
	return have
}

func (r *reader) unknownKey(e *entry, sh shape) {
	keys := slices.Clone(sh.parts)
	for _, f := range sh.fields {
		keys = append(keys, f.key)
	}
	wrong := fmt.Sprintf("%s has no key %q", sh.what, e.Key)
	if sh.elsewhere != nil {
		if other := sh.elsewhere(e.Key); other != "" {
			r.fault(e.Pos, wrong, fmt.Sprintf("it belongs to %s; leave it out", other))
			return
		}
	}
	if n := Nearest(e.Key, keys); n != "" {
		r.fault(e.Pos, wrong, "write "+n)
		return
	}
	r.fault(e.Pos, wrong, "its keys are "+strings.Join(keys, ", "))
}

// advice says how to add a key that is missing.
func (f *field) advice() string { return fmt.Sprintf("add for example %s = %s", f.key, f.example) }

// peek gives the text of a key before the element is read, or "".
func peek(t *table, key string) string {
	if e := t.ByKey[key]; e != nil && e.Value.Kind == tomltree.Text {
		return e.Value.Text
	}
	return ""
}

// one gives the table of a key, or nil.
func (r *reader) one(parent *table, key string) *table {
	e := parent.ByKey[key]
	if e == nil {
		return nil
	}
	ts := e.Tables()
	if e.Value.Kind != tomltree.TableValue {
		r.fault(e.Pos, fmt.Sprintf("%s is %s", key, e.Value.Kind), fmt.Sprintf("it is one table: write [%s]", key))
	}
	if len(ts) == 0 {
		return nil
	}
	return ts[0]
}

// many gives the tables of a key; path is its header.
func (r *reader) many(parent *table, key, path string) []*table {
	e := parent.ByKey[key]
	if e == nil {
		return nil
	}
	ts := e.Tables()
	switch {
	case e.Value.Kind == tomltree.TableValue:
		r.fault(e.Pos, fmt.Sprintf("%s is one table", path), fmt.Sprintf("there may be several: write [[%s]]", path))
	case e.Value.Kind != tomltree.Array || len(ts) < len(e.Value.Items):
		r.fault(e.Pos, fmt.Sprintf("%s is not a list of tables", path), fmt.Sprintf("write each below a header [[%s]]", path))
	case len(ts) == 0:
		r.design.Tail = slices.Concat(r.design.Tail, e.Comments.Above, Comments{Above: e.Value.Below, Beside: e.Comments.Beside}.All())
	}
	return ts
}
