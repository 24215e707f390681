package model

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
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

// A reader turns a tree into a design and collects the faults. One of a design
// that there is already knows its names and outputs.
type reader struct {
	design *Design
	faults Faults

	outputs  map[string]*Output   // see Design.outputs; nil: not asked for yet
	names    map[scope]*names     // those asked for so far
	kinds    map[string]StateKind // of the states read so far
	compared int                  // names compared for advice so far
	nowhere  map[string]bool      // faults of mentions of what is not there; true: one that follows from another
}

// A scope is where names must differ: those of a sort; of messages, those of
// one output.
type scope struct {
	sort Sort
	of   string // the output
}

// names are the names in a scope.
type names struct {
	what string // the sort
	of   string // what they belong to, where that is not the design
	list []string
	has  map[string]bool // with names that are meant: see meantName
}

// namesIn gives the names in a scope, nil where nothing is known of it. They
// are worked out when first asked for: no element mentions one that is read
// after it.
func (r *reader) namesIn(in scope) *names {
	n, known := r.names[in]
	if known {
		return n
	}
	row, parent := in.sort.row(), 0
	n = &names{what: row.noun, has: map[string]bool{}}
	if row.parent != "" {
		e, there := r.design.Find(row.parent, in.of)
		if !there {
			return nil
		}
		n.of = fmt.Sprintf(" of %s %q", row.parent, in.of)
		parent = e.Index
	}
	add := func(name string) {
		if name == "" || n.has[name] {
			return
		}
		n.list = append(n.list, name)
		n.has[name], n.has[meantName(name)] = true, true
	}
	for i := range row.list.len(r.design, parent) {
		add(*row.list.nameOf(r.design, parent, i))
	}
	if in.sort == SortInput {
		for i := range r.design.Outputs {
			if o := &r.design.Outputs[i]; o.BusyPin > 0 {
				add(o.Name)
			}
		}
	}
	if r.names == nil {
		r.names = map[scope]*names{}
	}
	r.names[in] = n
	return n
}

// meantName is the name that a faulty name is meant to be, so that it is one
// fault and not another at every mention; of any other it is the name itself.
func meantName(name string) string {
	if IsPrintedName(name) {
		return name
	}
	return cmp.Or(slugOf(name), name)
}

// namesRefused reports whether a text that is no trigger and no source has the name of an
// element in it that is a fault already, as one with a space.
func (r *reader) namesRefused(text string) bool {
	for _, s := range []Sort{SortState, SortButton, SortInput, SortEvent} {
		if n := r.namesIn(scope{sort: s}); n != nil && slices.ContainsFunc(n.list, func(name string) bool {
			return (!IsPrintedName(name) || name == Back || name == Any) && strings.Contains(text, name)
		}) {
			return true
		}
	}
	return false
}

// output finds an output by name, or nil.
func (r *reader) output(name string) *Output {
	if r.outputs == nil {
		r.outputs = r.design.outputs()
	}
	return r.outputs[name]
}

// outputs gives every output by its name and by the name that is meant; of two
// of one name the first.
func (d *Design) outputs() map[string]*Output {
	m := make(map[string]*Output, len(d.Outputs))
	for _, nameOf := range []func(string) string{func(name string) string { return name }, meantName} {
		for i := range d.Outputs {
			if o := &d.Outputs[i]; m[nameOf(o.Name)] == nil {
				m[nameOf(o.Name)] = o
			}
		}
	}
	return m
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
		r.faults[len(r.faults)-1].Instead = e.Instead
	case *ir.CodeError:
		r.fault(pos, e.Wrong, e.Advice)
	default:
		r.fault(pos, err.Error(), "")
	}
	return false
}

// known makes a fault of each mention of what is not there; it reports whether
// there was none.
func (r *reader) known(pos Pos, mentions ...mention) bool {
	before := len(r.faults)
	for _, m := range mentions {
		if n := r.namesIn(m.scope); n != nil && !n.has[m.name] {
			wrong := fmt.Sprintf("there is no %s %q%s", n.what, m.name, n.of)
			r.fault(cmp.Or(m.pos, pos), wrong, r.adviseName(m.name, n))
			if r.nowhere == nil {
				r.nowhere = map[string]bool{}
			}
			// That there is none at all of these is a fault of its own.
			r.nowhere[r.faults[len(r.faults)-1].Wrong] = len(n.list) == 0 && (m.sort == SortButton || m.sort == SortState)
		}
	}
	return len(r.faults) == before
}

// fold makes one fault of all mentions of a name that is nowhere.
func (r *reader) fold() {
	first := map[string]int{}
	var lines [][]string // of the other mentions, by the fault's index
	var all Faults
	for _, f := range r.faults {
		follows, nowhere := r.nowhere[f.Wrong]
		if follows {
			continue
		}
		i, told := first[f.Wrong]
		if told && all[i] == f { // of two lists in one list, say
			continue
		}
		if told && nowhere {
			lines[i] = append(lines[i], strconv.Itoa(f.Pos.Line))
			continue
		}
		first[f.Wrong] = len(all)
		all, lines = append(all, f), append(lines, nil)
	}
	for i := range all {
		if n := len(lines[i]); n == 1 {
			all[i].Wrong += ", named in line " + lines[i][0] + " too"
		} else if n > 1 {
			all[i].Wrong += ", named in lines " + AndList(lines[i], 8) + " too"
		}
	}
	r.faults = all
}

// mostCompared bounds the time that advice may take on a file of many faults.
const mostCompared = 1_000_000

func (r *reader) adviseName(name string, n *names) string {
	if len(n.list) == 0 {
		return fmt.Sprintf("there is no %s at all: add one", n.what)
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

// got says which keys of an element were read without a fault.
type got map[string]bool

// A shape is what an element may have.
type shape struct {
	what    string // the element in a sentence
	fields  []field
	parts   []string                // keys of the elements below it, read by others
	forKind func(o *Output) []field // those that there are for an output of another kind; nil: the same
}

// keys lists them all.
func (sh *shape) keys() []string {
	keys := slices.Clone(sh.parts)
	for _, f := range sh.fields {
		keys = append(keys, f.key)
	}
	return keys
}

// element reads the keys of t into the fields of an element.
func (r *reader) element(t *table, s *Source, sh shape) got {
	s.Pos, s.Comments = t.Pos, t.Comments
	have := got{}
	for _, f := range sh.fields {
		f.clear()
	}
	var unknown []*entry
	for _, e := range t.Entries {
		if slices.Contains(sh.parts, e.Key) {
			continue
		}
		i := slices.IndexFunc(sh.fields, func(f field) bool { return f.key == e.Key })
		if i < 0 {
			if i = r.meantKey(t, e, sh); i < 0 {
				unknown = append(unknown, e)
				continue
			}
			r.unknownKey(e, sh, "write "+sh.fields[i].key)
			e.Key, t.ByKey[sh.fields[i].key] = sh.fields[i].key, e
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
		for k := range r.faults[before:] {
			if f := &r.faults[before+k]; f.Advice == "" {
				f.Advice = sh.fields[i].shows("write")
			}
		}
	}
	lacks := slices.DeleteFunc(slices.Clone(sh.fields), func(f field) bool { return !f.need || s.States(f.key) })
	if len(unknown) == 1 && len(lacks) == 1 && nearKey(unknown[0], sh) == "" { // most likely that one is meant
		r.fault(unknown[0].Pos, fmt.Sprintf("%s has no key %q, and lacks %s", sh.what, unknown[0].Key, lacks[0].key), lacks[0].shows("write"))
		return have
	}
	for _, e := range unknown {
		r.unknownKey(e, sh, nearKey(e, sh))
	}
	for _, f := range lacks {
		r.fault(t.Pos, fmt.Sprintf("%s has no %s", sh.what, f.key), f.shows("add"))
	}
	return have
}

// unknownKey makes a fault of a key that there is not.
func (r *reader) unknownKey(e *entry, sh shape, advice string) {
	r.fault(e.Pos, fmt.Sprintf("%s has no key %q", sh.what, e.Key), cmp.Or(advice, "its keys are "+strings.Join(sh.keys(), ", ")))
}

// nearKey says what to do about a key that there is not where its name tells: it
// belongs to another kind of output, or it is a slip; else "".
func nearKey(e *entry, sh shape) string {
	if sh.forKind != nil {
		if other := kindsWith(e.Key, sh.forKind); other != "" {
			return fmt.Sprintf("it belongs to %s; leave it out", other)
		}
	}
	if n := Nearest(e.Key, sh.keys()); n != "" {
		return "write " + n
	}
	return ""
}

// meantKey gives the field that a key is meant to be which there is not, and which t
// lacks, so that it is one fault and not another where it is missing; else -1.
func (r *reader) meantKey(t *table, e *entry, sh shape) int {
	advice := nearKey(e, sh)
	for i, f := range sh.fields {
		if t.ByKey[f.key] == nil && (advice == "write "+f.key || advice == "" && r.takes(f, e.Value)) {
			return i
		}
	}
	return -1
}

// takes reports whether a text can be nothing but the value of a field: it must be
// there, or names what there is.
func (r *reader) takes(f field, v *value) bool {
	if v.Kind != tomltree.Text || !f.need && f.mentions == nil {
		return false
	}
	before := len(r.faults)
	f.read(r, v)
	fits := len(r.faults) == before && (f.need || len(f.mentions()) > 0)
	r.faults = r.faults[:before]
	f.clear()
	return fits
}

// respellParts makes a fault of a key that is a slip of a part's, which t lacks, and takes
// its tables for those that are meant.
func (r *reader) respellParts(t *table, sh shape) {
	for _, e := range t.Entries {
		if slices.Contains(sh.keys(), e.Key) {
			continue
		}
		if meant := Nearest(e.Key, sh.parts); meant != "" && t.ByKey[meant] == nil {
			r.fault(e.Pos, fmt.Sprintf("%s has no key %q", sh.what, e.Key), "write "+meant)
			e.Key, t.ByKey[meant] = meant, e
		}
	}
}

// shows says what to do about a key, by its example.
func (f *field) shows(do string) string {
	return fmt.Sprintf("%s for example %s = %s", do, f.key, f.example)
}

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
