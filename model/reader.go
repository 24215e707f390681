package model

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"propwright/model/ir"
)

// A reader turns a tree into a design and collects the faults.
type reader struct {
	design *Design
	faults Faults

	buttons, inputs, outputs, tracks, routines, states names

	byName   map[string]*Output
	messages map[*Output]*names
	compared int // names compared for advice so far
}

// names are the elements of one sort, which must all have different names.
type names struct {
	what string // the sort
	of   string // what they belong to, where that is not the design
	list []string
	line map[string]int // where each stands
}

func (r *reader) fault(pos Pos, wrong, advice string) {
	r.faults = append(r.faults, newFault(pos, wrong, advice))
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

// sortFaults puts faults into file order.
func sortFaults(fs Faults) {
	slices.SortStableFunc(fs, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Pos.Line, b.Pos.Line), cmp.Compare(a.Pos.Column, b.Pos.Column))
	})
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
		r.fault(s.At("name"), fmt.Sprintf("%s %q%s stands here twice, first in line %d", n.what, name, n.of, line), "give one of them another name")
		return
	}
	n.line[name] = s.At("name").Line
	n.list = append(n.list, name)
	if meant := slugOf(name); !IsPrintedName(name) && meant != "" && n.line[meant] == 0 {
		n.line[meant] = n.line[name] // a name that is none is one fault, not one wherever it is meant
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
	for _, e := range t.entries {
		if slices.Contains(sh.parts, e.key) {
			continue
		}
		i := slices.IndexFunc(sh.fields, func(f field) bool { return f.key == e.key })
		if i < 0 {
			r.unknownKey(e, sh)
			continue
		}
		comments := e.comments
		comments.Above = slices.Concat(comments.Above, e.value.comments())
		if s.Keys == nil {
			s.Keys = map[string]Key{}
		}
		s.Keys[e.key] = Key{e.value.pos, comments}
		before := len(r.faults)
		sh.fields[i].read(r, e.value)
		have[e.key] = len(r.faults) == before
	}
	for _, f := range sh.fields {
		if f.need && !s.States(f.key) {
			r.fault(t.Pos, fmt.Sprintf("%s has no %s", sh.what, f.key), adviseKey(f.key))
		}
	}
	return have
}

func (r *reader) unknownKey(e *entry, sh shape) {
	keys := slices.Clone(sh.parts)
	for _, f := range sh.fields {
		keys = append(keys, f.key)
	}
	wrong := fmt.Sprintf("%s has no key %q", sh.what, e.key)
	if sh.elsewhere != nil {
		if other := sh.elsewhere(e.key); other != "" {
			r.fault(e.pos, wrong, fmt.Sprintf("it belongs to %s; leave it out", other))
			return
		}
	}
	if n := Nearest(e.key, keys); n != "" {
		r.fault(e.pos, wrong, "write "+n)
		return
	}
	r.fault(e.pos, wrong, "its keys are "+strings.Join(keys, ", "))
}

// examples shows how a key that is missing is written.
var examples = map[string]string{
	"at": `"0s"`, "baud": "9600", "between": `["-40deg", "40deg"]`, "board": `"atmega328p"`, "bytes": `"7E 02 0A"`,
	"code": `"nec:0x04:0x18"`, "colour": `"#2040ff"`, "count": "24", "every": `"2s..6s"`, "fire": "true", "from": `"STATE"`,
	"full_us": "2000", "hold": `"100ms"`, "length": `"3.2s"`, "max": `"45deg"`, "min": `"-30deg"`, "on": `"press BUTTON"`,
	"output": `"OUTPUT"`, "over": `"800ms..1.5s"`, "pin": "9", "play": `{ output = "OUTPUT" }`, "rev_per_s": "1.0", "send": `"MESSAGE"`, "set": "true",
	"speed": `"0.5rev/s"`, "stop_us": "1500", "that": `"reachable STATE"`, "to": `"40deg"`, "us_at_max": "1900", "us_at_min": "1100",
}

// adviseKey says how to add a key.
func adviseKey(key string) string {
	switch key {
	case "name":
		return `add name = "…", of small letters, digits and -`
	case "kind":
		return `add kind = "…"`
	case "stop":
		return `a prop needs a stop button: add stop = "BUTTON"`
	}
	return fmt.Sprintf("add for example %s = %s", key, examples[key])
}

// peek gives the text of a key before the element is read, or "".
func peek(t *table, key string) string {
	if e := t.byKey[key]; e != nil && e.value.kind == text {
		return e.value.text
	}
	return ""
}

// one gives the table of a key, or nil.
func (r *reader) one(parent *table, key string) *table {
	e := parent.byKey[key]
	if e == nil {
		return nil
	}
	ts := tablesOf(e)
	if e.value.kind != tableValue {
		r.fault(e.pos, fmt.Sprintf("%s is %s", key, e.value.kind), fmt.Sprintf("it is one table: write [%s]", key))
	}
	if len(ts) == 0 {
		return nil
	}
	return ts[0]
}

// many gives the tables of a key; path is its header.
func (r *reader) many(parent *table, key, path string) []*table {
	e := parent.byKey[key]
	if e == nil {
		return nil
	}
	ts := tablesOf(e)
	switch {
	case e.value.kind == tableValue:
		r.fault(e.pos, fmt.Sprintf("%s is one table", path), fmt.Sprintf("there may be several: write [[%s]]", path))
	case e.value.kind != array || len(ts) < len(e.value.items):
		r.fault(e.pos, fmt.Sprintf("%s is no list of tables", path), fmt.Sprintf("write each below a header [[%s]]", path))
	case len(ts) == 0:
		r.design.Tail = slices.Concat(r.design.Tail, e.comments.Above, appendBeside(e.value.below, e.comments.Beside))
	}
	return ts
}

// tablesOf lists the tables that a value holds, each with the comments around it.
func tablesOf(e *entry) []*table {
	if t := e.value.table; t != nil {
		if t.how == inline {
			t.Above = slices.Concat(e.comments.Above, t.Above)
			t.Beside = cmp.Or(t.Beside, e.comments.Beside)
		}
		return []*table{t}
	}
	var ts []*table
	above := e.comments.Above
	for _, item := range e.value.items {
		above = slices.Concat(above, item.above)
		if item.table == nil {
			continue
		}
		item.table.Above = slices.Concat(above, item.table.Above)
		above = nil
		ts = append(ts, item.table)
	}
	if n := len(ts); n > 0 {
		last := ts[n-1]
		last.Above = slices.Concat(last.Above, e.value.below, appendBeside(nil, e.comments.Beside))
	}
	return ts
}
