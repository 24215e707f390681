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
	Default string // what holds where it is not stated
	Need    bool   // the file must state it
	// Choices are the values to choose from, nil where there is no such list:
	// kinds, words, true and false, names of other elements.
	Choices []string
}

// Keys lists an element's keys in canonical order, nil where the design has
// no such element. A key that is present but not of the element's kind any
// more is left out.
func (d *Design) Keys(e Elem) []KeyValue {
	if !d.Has(e) {
		return nil
	}
	c := d.opened(e)
	s, fields := c.fieldsAt(e, c.named())
	kvs := make([]KeyValue, len(fields))
	for i, f := range fields {
		kv := &kvs[i]
		kv.Key, kv.Need = f.key, f.need
		kv.Choices = d.choices(e, f.key)
		if f.written(s) {
			kv.Value = shown(f)
		}
	}
	for i, f := range fields { // last: it spoils the copy
		f.clear()
		kvs[i].Default = shown(f)
	}
	return kvs
}

// Value is the value of one key of an element, "" where it is not stated.
func (d *Design) Value(e Elem, key string) string {
	if !d.Has(e) {
		return ""
	}
	s, fields := d.fieldsAt(e, d.named())
	for _, f := range fields {
		if f.key == key && f.written(s) {
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
		return nil, &ValueError{fmt.Sprintf("there is no such %s", e.Sort.Noun()), ""}
	}
	c := d.opened(e)
	r := c.named()
	s, fields := c.fieldsAt(e, r)
	i := slices.IndexFunc(fields, func(f field) bool { return f.key == key })
	if i < 0 {
		keys := make([]string, len(fields))
		for i, f := range fields {
			keys[i] = f.key
		}
		return nil, &ValueError{fmt.Sprintf("%s has no key %q", d.Title(e), key), "its keys are " + strings.Join(keys, ", ")}
	}
	f := fields[i]
	if strings.TrimSpace(value) == "" {
		if f.need {
			return nil, &ValueError{fmt.Sprintf("%s needs %s", d.Title(e), withArticle(key)), adviseKey(key)}
		}
		f.clear()
		s.unstate(key)
		c.settle(d, e, key)
		return c, nil
	}
	if err := readValue(r, f, value); err != nil {
		return nil, err
	}
	s.state(key)
	if e.Sort == SortDrift && key == "output" {
		if o := r.output(c.Name(e)); o != nil && !o.Kind.Drifts() {
			return nil, &ValueError{fmt.Sprintf("output %q is %s and cannot drift", o.Name, o.Kind.Noun()), "only a servo or a spinner drifts"}
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

// unstate notes that the file does not state a key any more; its comments
// stay with the element.
func (s *Source) unstate(key string) {
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

// fieldsAt gives an element's fields, which write into d, and its source.
func (d *Design) fieldsAt(e Elem, r *reader) (*Source, []field) {
	switch e.Sort {
	case SortProp:
		return &d.Prop.Source, d.Prop.fields()
	case SortRemote:
		return &d.Remote.Source, d.Remote.fields()
	case SortButton:
		b := &d.Remote.Buttons[e.Index]
		return &b.Source, b.fields()
	case SortSupply:
		return &d.Supply.Source, d.Supply.fields()
	case SortInput:
		in := &d.Inputs[e.Index]
		return &in.Source, in.fields()
	case SortOutput:
		o := &d.Outputs[e.Index]
		return &o.Source, o.fields()
	case SortMessage:
		m := &d.Outputs[e.Index].Messages[e.Part]
		return &m.Source, m.fields()
	case SortTrack:
		t := &d.Tracks[e.Index]
		return &t.Source, t.fields()
	case SortRoutine:
		rt := &d.Routines[e.Index]
		return &rt.Source, rt.fields()
	case SortCue:
		c := &d.Routines[e.Index].Cues[e.Part]
		return &c.Source, c.fields(r.output(c.Output))
	case SortState:
		s := &d.States[e.Index]
		return &s.Source, s.fields(r.output)
	case SortPose:
		p := &d.States[e.Index].Pose[e.Part]
		return &p.Source, p.Action.fields(r.output(p.Output))
	case SortDrift:
		dr := &d.States[e.Index].Drift[e.Part]
		return &dr.Source, dr.fields(r.output(dr.Output))
	case SortTransition:
		t := &d.Transitions[e.Index]
		return &t.Source, t.fields()
	default:
		q := &d.Requires[e.Index]
		return &q.Source, q.fields()
	}
}

// named is a reader that knows the names of a design that stands.
func (d *Design) named() *reader {
	r := &reader{design: d, byName: d.outputs(), messages: map[*Output]*names{}}
	r.buttons.what, r.inputs.what, r.outputs.what = "button", "input", "output"
	r.tracks.what, r.routines.what, r.states.what = "track", "routine", "state"
	for i := range d.Remote.Buttons {
		r.buttons.note(d.Remote.Buttons[i].Name)
	}
	for i := range d.Inputs {
		r.inputs.note(d.Inputs[i].Name)
	}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		r.outputs.note(o.Name)
		ns := &names{what: fmt.Sprintf("message of %q", o.Name)}
		for j := range o.Messages {
			ns.note(o.Messages[j].Name)
		}
		r.messages[o] = ns
	}
	for i := range d.Tracks {
		r.tracks.note(d.Tracks[i].Name)
	}
	for i := range d.Routines {
		r.routines.note(d.Routines[i].Name)
	}
	for i := range d.States {
		r.states.note(d.States[i].Name)
	}
	return r
}

// note adds a name that stands nowhere in a file.
func (n *names) note(name string) {
	if n.line == nil {
		n.line = map[string]int{}
	}
	if _, twice := n.line[name]; !twice {
		n.line[name] = 0
		n.list = append(n.list, name)
	}
}

// choices lists what a key's value can be, nil where there is no list.
func (d *Design) choices(e Elem, key string) []string {
	of := func(s Sort, parent int) []string {
		list := make([]string, d.Len(s, parent))
		for i := range list {
			if s.Parent() == "" {
				list[i] = d.Name(Elem{Sort: s, Index: i})
			} else {
				list[i] = d.Name(Elem{s, parent, i})
			}
		}
		return list
	}
	switch key {
	case "board":
		return Boards
	case "stop":
		return of(SortButton, 0)
	case "pull":
		return texts([]Pull{PullUp, PullNone})
	case "active":
		return texts([]Level{High, Low})
	case "order":
		return PixelOrders
	case "ease":
		return texts(Eases)
	case "effect":
		return texts(Effects)
	case "output":
		if e.Sort == SortDrift {
			return slices.DeleteFunc(of(SortOutput, 0), func(name string) bool { return !d.Output(name).Kind.Drifts() })
		}
		return of(SortOutput, 0)
	case "track":
		return of(SortTrack, 0)
	case "plays":
		return of(SortRoutine, 0)
	case "wires_pass", "loop", "start", "ignore", "defer", "fire", "set":
		return []string{"false", "true"}
	case "kind":
		if e.Sort == SortState {
			return texts(StateKinds)
		}
		return texts(OutputKinds)
	case "to":
		if e.Sort == SortTransition {
			return append(of(SortState, 0), Back)
		}
	case "send":
		if e.Sort == SortCue {
			if o, ok := d.Find(SortOutput, d.Routines[e.Index].Cues[e.Part].Output); ok {
				return of(SortMessage, o.Index)
			}
		}
	}
	return nil
}
