package model

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"propwright/model/tomltree"
)

// MaxFileSize is the most bytes that a design file may have: room for some
// 10,000 states with 20 transitions each, the largest designs that the check
// is measured with.
const MaxFileSize = 16 << 20

// Read reads a design file; file is its name for messages. The error is nil
// or Faults, all that are in the file, in file order. Beside faults Read
// returns what could be read, or nil where the text is not TOML.
func Read(file string, data []byte) (*Design, error) {
	if f := unreadable(file, data); f != nil {
		return nil, Faults{*f}
	}
	d := &Design{File: file}
	r := newReader(d)
	tree, faults := tomltree.Parse(file, data, "format")
	r.faults = faults
	if !tree.Whole {
		r.faults.Sort()
		return nil, r.faults
	}
	d.Head, d.Tail = tree.Head, tree.Tail
	if r.format(tree.Root) {
		r.root(tree.Root)
	}
	if len(r.faults) == 0 {
		return d, nil
	}
	r.faults.Sort()
	return d, r.faults
}

// unreadable is the fault of a file that no design can be in, or nil.
func unreadable(file string, data []byte) *Fault {
	switch {
	case len(data) > MaxFileSize:
		return tooLarge(file, int64(len(data)))
	case len(bytes.TrimSpace(data)) == 0:
		return &Fault{Pos: Pos{File: file}, Wrong: "the file is empty", Advice: "start a design with `propwright new`"}
	}
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		wrong := ""
		switch {
		case data[i] == 0:
			wrong = "this is not a text file: it has a zero byte"
		case r == utf8.RuneError && n == 1:
			wrong = fmt.Sprintf("this is not a text file in UTF-8: it has the byte 0x%02X", data[i])
		}
		if wrong != "" {
			return &Fault{Pos: tomltree.PosAt(file, data, i), Wrong: wrong, Advice: "save it as UTF-8, or name the design file, which ends in .prop.toml"}
		}
		i += n
	}
	return nil
}

func tooLarge(file string, size int64) *Fault {
	return &Fault{
		Pos:    Pos{File: file},
		Wrong:  fmt.Sprintf("the file has %.1f MiB", float64(size)/(1<<20)),
		Advice: fmt.Sprintf("a design file has at most %d MiB: is this the right file?", MaxFileSize>>20),
	}
}

// format checks the format's number before anything else is read.
func (r *reader) format(root *table) bool {
	e := root.ByKey["format"]
	if e == nil {
		r.fault(root.Pos, "the file does not say its format", fmt.Sprintf("add format = %d above everything else", FormatVersion))
		return true
	}
	if n, err := parseWhole(e.Value, ""); err == nil && n == FormatVersion {
		return true
	}
	r.fault(e.Value.Pos, fmt.Sprintf("format %s is not known", strings.TrimSpace(e.Value.Text)), fmt.Sprintf("this version reads format %d: write format = %d, or use the version that wrote the file", FormatVersion, FormatVersion))
	return e.Value.Kind != tomltree.Integer
}

// topLevel lists the keys of a file in canonical order.
var topLevel = []string{"format", "prop", "remote", "supply", "input", "output", "track", "routine", "state", "transition", "require"}

// root reads everything. Elements come before those that name them.
func (r *reader) root(root *table) {
	for _, e := range root.Entries {
		if slices.Contains(topLevel, e.Key) {
			continue
		}
		advice := "a file has " + strings.Join(topLevel, ", ")
		if n := Nearest(e.Key, topLevel); n != "" {
			advice = "write " + n
		}
		r.fault(e.Pos, fmt.Sprintf("a design has no %q", e.Key), advice)
	}
	r.prop(root)
	r.remote(root)
	d := r.design
	if t := r.one(root, "supply"); t != nil {
		r.element(t, &d.Supply.Source, shape{what: "the supply", fields: d.Supply.fields()})
	}
	for _, t := range r.many(root, "input", "input") {
		var in Input
		r.element(t, &in.Source, shape{what: titled("input", t), fields: in.fields()})
		r.enter(r.names[SortInput], in.Name, &in.Source)
		d.Inputs = append(d.Inputs, in)
	}
	r.readOutputs(root)
	for _, t := range r.many(root, "track", "track") {
		var tr Track
		r.element(t, &tr.Source, shape{what: titled("track", t), fields: tr.fields()})
		r.stops(&tr)
		r.enter(r.names[SortTrack], tr.Name, &tr.Source)
		d.Tracks = append(d.Tracks, tr)
	}
	r.readRoutines(root)
	r.readStates(root)
	r.readTransitions(root)
	for _, t := range r.many(root, "require", "require") {
		var q Require
		r.element(t, &q.Source, shape{what: "the requirement", fields: q.fields()})
		d.Requires = append(d.Requires, q)
	}
}

// titled is an element in a sentence, with its name where it has one.
func titled(what string, t *table) string {
	if name := peek(t, "name"); name != "" {
		return fmt.Sprintf("%s %q", what, name)
	}
	return "this " + what
}

func (r *reader) prop(root *table) {
	d := r.design
	t := r.one(root, "prop")
	if t == nil {
		if root.ByKey["prop"] == nil {
			r.fault(root.Pos, "the design has no [prop]", "add [prop] with name and board")
		}
		t = &table{Pos: root.Pos} // for the defaults
		p := reader{design: d}
		p.element(t, &d.Prop.Source, shape{fields: d.Prop.fields()})
		return
	}
	r.element(t, &d.Prop.Source, shape{what: "the prop", fields: d.Prop.fields()})
}

func (r *reader) remote(root *table) {
	d := r.design
	t := r.one(root, "remote")
	if t == nil {
		if root.ByKey["remote"] == nil {
			r.fault(root.Pos, "the design has no [remote]", "a prop needs a stop button: add [remote] with pin and stop, and a [[remote.button]]")
		}
		return
	}
	for _, t := range r.many(t, "button", "remote.button") {
		var b Button
		r.element(t, &b.Source, shape{what: titled("button", t), fields: b.fields()})
		r.enter(r.names[SortButton], b.Name, &b.Source)
		d.Remote.Buttons = append(d.Remote.Buttons, b)
	}
	if len(d.Remote.Buttons) == 0 {
		r.fault(t.Pos, "the remote has no button", "a prop needs a stop button: add a [[remote.button]] with name and code")
	}
	r.element(t, &d.Remote.Source, shape{what: "the remote", fields: d.Remote.fields(), parts: []string{"button"}})
}
