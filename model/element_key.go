package model

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// A KeyValue is one key of an element as a person sees and types it: texts
// without their quotes, lists of texts with commas between, all else as in
// the file.
type KeyValue struct {
	Key     string
	Value   string // "" where the file need not state the key
	Default string // what holds where it is not stated, "" also where that is not known
	Need    bool   // the file must state it
	// Choices are the values to choose from, nil where there is no such list:
	// kinds, words, true and false, names of other elements, triggers. With List
	// they are what each of a list can be.
	Choices []string
	List    bool
	Heads   []string // words after which choices stand as in a list
	Meaning string   // what the key is for, in a line
	Forms   []string // how values are written, where that needs more than a word
}

// Keys lists an element's keys in canonical order, nil where the design has
// no such element. A key that is present but not of the element's kind any
// more is left out.
func (d *Design) Keys(e Elem) []KeyValue {
	if !d.Has(e) {
		return nil
	}
	parent, i := e.Place()
	r := &reader{design: d}
	s, fields := d.sourceAt(e), e.Sort.row().list.fieldsApart(d, parent, i, r)
	kvs := make([]KeyValue, len(fields))
	for i, f := range fields {
		kv := &kvs[i]
		kv.Key, kv.Need, kv.List, kv.Meaning, kv.Forms = f.key, f.need, f.list, f.meaning, f.forms
		if f.words != nil {
			kv.Forms, kv.Heads = f.words.forms, f.words.heads
		}
		if f.choices != nil {
			kv.Choices = f.choices(r)
		}
		if f.written(s) {
			kv.Value = shown(f)
		}
	}
	for i, f := range fields { // last: it clears the copy
		kvs[i].Default = f.first()
	}
	return kvs
}

// first clears the field and gives what holds then, as KeyValue.Default.
func (f *field) first() string {
	f.clear()
	if f.unknown {
		return ""
	}
	return shown(*f)
}

// Value is the value of one key of an element, "" where it is not stated.
func (d *Design) Value(e Elem, key string) string {
	if !d.Has(e) {
		return ""
	}
	for _, f := range d.fieldsAt(e, &reader{design: d}) {
		if f.key == key && f.written(d.sourceAt(e)) {
			return shown(f)
		}
	}
	return ""
}

// With is the design with one key of an element given another value, as
// KeyValue has it or as the file would: quotes may be left out, and so may
// the brackets of a list of texts. An empty text takes the key away.
//
// The value alone is checked, as Read checks it, with the names that it
// mentions; whether it fits the other keys is for Read of the whole to say.
// The error is a *ValueError. The design itself is never changed.
func (d *Design) With(e Elem, key, value string) (*Design, error) {
	if !d.Has(e) {
		return nil, &ValueError{Wrong: fmt.Sprintf("there is no such %s", e.Sort.Noun())}
	}
	c := d.opened(e)
	r := &reader{design: c}
	s, fields := c.sourceAt(e), c.fieldsAt(e, r)
	i := slices.IndexFunc(fields, func(f field) bool { return f.key == key })
	if i < 0 {
		keys := make([]string, len(fields))
		for i, f := range fields {
			keys[i] = f.key
		}
		return nil, &ValueError{Wrong: fmt.Sprintf("%s has no key %q", d.Title(e), key), Advice: "its keys are " + strings.Join(keys, ", ")}
	}
	f := fields[i]
	if strings.TrimSpace(value) == "" {
		if f.need {
			return nil, &ValueError{Wrong: fmt.Sprintf("%s needs %s", d.Title(e), withArticle(key)), Advice: f.shows("add")}
		}
		f.clear()
		s.Unstate(key)
		c.settle(d, e, key)
		return c, nil
	}
	if err := readValue(r, f, value); err != nil {
		return nil, err
	}
	s.state(key)
	if e.Sort == SortDrift && key == "output" {
		if o := r.output(c.Name(e)); o != nil && !o.Kind.Drifts() {
			return nil, &ValueError{Wrong: fmt.Sprintf("output %q is %s and cannot drift", o.Name, o.Kind.Noun()), Advice: "only a servo or a spinner drifts"}
		}
	}
	c.settle(d, e, key)
	return c, nil
}

// bareKey is the key that a bare value gives in a pose of o.
func bareKey(o *Output) string {
	if o != nil {
		var p Pose
		if f := p.bareField(o); f != nil {
			return f.key
		}
	}
	return ""
}

// state notes that the file states a key.
func (s *Source) state(key string) {
	if s.States(key) {
		return
	}
	keys := make(map[string]Key, len(s.Keys)+1)
	maps.Copy(keys, s.Keys)
	keys[key] = Key{}
	s.Keys = keys
}

// Unstate notes that the file does not state a key any more; its comments
// stay with the element.
func (s *Source) Unstate(key string) {
	if !s.States(key) {
		return
	}
	k := s.Keys[key]
	keys := maps.Clone(s.Keys)
	delete(keys, key)
	if len(keys) == 0 {
		keys = nil
	}
	s.Keys = keys
	s.Above = slices.Concat(s.Above, k.Comments.All())
}

// fieldsAt gives an element's fields, which write into d.
func (d *Design) fieldsAt(e Elem, r *reader) []field {
	parent, i := e.Place()
	return e.Sort.row().list.fieldsOf(d, parent, i, r)
}

// sourceAt gives an element's source, which is in d.
func (d *Design) sourceAt(e Elem) *Source {
	parent, i := e.Place()
	return e.Sort.row().list.source(d, parent, i)
}
