package model

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"propwright/model/tomltree"
)

// An Order is what a transition asks of one output where it leads to no state: a
// cue without a time. In the words of UML 2.5.1, 14.2.3.8, such a transition is an
// internal one, and its orders are its effect.
//
// Of a track there is none. What has been begun by an order goes on when the state is
// left, as a lamp does that is switched on; a sound is to end with what plays it, and
// counts to rest until then, which is what a state with a routine says.
type Order struct {
	Source
	Output string
	Action
	Said string // in a wired design, what the written one asks of a sound board, in words
}

// fields are the output and the keys that an order of its kind has.
func (or *Order) fields(r *reader) []field { return or.fieldsFor(r.output(or.Output)) }

// TakesOrders reports whether a transition can ask something of an output: not of a
// spinner, which would turn nobody knows how far, nor of trigger pins, which play tracks
// only.
func (o *Output) TakesOrders() bool { return !o.ofKind().noOrders && o.Chip != Triggers }

// fieldsFor are those of an order to o, nil where it is not known.
func (or *Order) fieldsFor(o *Output) []field {
	output := need("output", reference(&or.Output, SortOutput), `"OUTPUT"`, whoMoves)
	return append([]field{output}, or.Action.orderFields(o)...)
}

// orderFields are the keys of an action that a transition can order.
func (a *Action) orderFields(o *Output) []field {
	fs := a.fields(o)
	k := o.ofKind()
	if k.order == nil {
		return fs
	}
	more, instead := k.order(a, o)
	for i := range fs {
		if fs[i].key == instead {
			fs[i].need = !slices.ContainsFunc(more, func(f field) bool { return !f.unset() })
		}
	}
	return append(fs, more...)
}

// orders is one order or a list of them; outputs knows the outputs.
func orders(p *[]Order, outputs *reader) codec {
	return codec{
		clear: func() { *p = nil },
		unset: func() bool { return len(*p) == 0 },
		read: func(r *reader, v *value) {
			items := []*value{v}
			if v.Kind == tomltree.Array {
				if items = v.Items; len(items) == 0 {
					r.fault(v.Pos, "the list asks nothing of any output", `write do = { output = "OUTPUT", … }, or ignore = true where silence is meant`)
				}
			}
			for _, item := range items {
				if item.Kind != tomltree.TableValue {
					r.refuse(item.Pos, wrongKind(item, "a table", `write do = { output = "OUTPUT", … }`))
					continue
				}
				if e := item.Table.ByKey["track"]; e != nil {
					r.fault(e.Pos, "an order cannot play a track", `have a state play it: write to = "STATE" in place of do, a performing state whose routine plays the track, and lead from there with on = "done" and to = "back"`)
					continue
				}
				or := Order{Output: peek(item.Table, "output")}
				forKind := func(o *Output) []field { return (&Order{}).fieldsFor(o) }
				fields := or.fields(r)
				for i := range fields[1:] {
					fields[1+i].need = false // see checkOrder
				}
				have := r.element(item.Table, &or.Source, shape{what: "the order", fields: fields, forKind: forKind})
				if have["output"] {
					r.checkOrder(&or, r.output(or.Output), have)
				}
				*p = append(*p, or)
			}
		},
		write: func() string {
			items := make([]string, len(*p))
			for i := range *p {
				or := &(*p)[i]
				items[i] = inlineFields(&or.Source, or.fields(outputs))
			}
			return oneOrListed(items)
		},
		forms: []string{`{ output = "OUTPUT", … }`, `[{ output = "OUTPUT", … }, { output = "OUTPUT", … }]`},
		holds: text("a table with an output and what is asked of it, as in a cue, or a list of them"),

		list: true, choices: orderChoices, words: orderWords(p, outputs),
	}
}

// checkOrder checks what is ordered of an output that there is.
func (r *reader) checkOrder(or *Order, o *Output, have got) {
	k := o.ofKind()
	if k.checkOrder != nil {
		k.checkOrder(r, &or.Source, &or.Action, o, have)
		return
	}
	for _, f := range or.fieldsFor(o) {
		if f.need && !or.States(f.key) {
			r.fault(or.Pos, fmt.Sprintf("the order to %q has no %s", o.Name, f.key), f.shows("add"))
		}
	}
	r.checkAction(&or.Source, &or.Action, o, have)
}

// oneOrder checks that an order has exactly one of the keys that say what.
func (r *reader) oneOrder(s *Source, o *Output, keys ...string) bool {
	var stated []string
	for _, key := range keys {
		if s.States(key) {
			stated = append(stated, key)
		}
	}
	switch len(stated) {
	case 1:
		return true
	case 0:
		r.fault(s.Pos, fmt.Sprintf("nothing is asked of %q", o.Name), "add "+orList(keys))
	default:
		r.fault(s.At(stated[1]), fmt.Sprintf("%q is asked for %s", o.Name, strings.Join(stated, " and ")), "keep one of them")
	}
	return false
}

// Does says what a transition asks of the outputs, in words; "" where it leads to a
// state or ignores its trigger.
func (d *Design) Does(t *Transition) string {
	words := make([]string, len(t.Do))
	for i := range t.Do {
		or := &t.Do[i]
		words[i] = or.Output
		if o := d.Output(or.Output); o != nil {
			words[i] = strings.TrimSpace(or.Output + " " + cmp.Or(or.Said, o.Says(or.Action)))
		}
	}
	return strings.Join(words, ", ")
}

// OrdersText is what a transition asks of outputs as a file has it, "" for nothing.
func (d *Design) OrdersText(t *Transition) string {
	if len(t.Do) == 0 {
		return ""
	}
	return orders(&t.Do, &reader{design: d}).write()
}

// ParseOrders reads what OrdersText writes; each order states the keys that the text
// has. The error is a *ValueError.
func (d *Design) ParseOrders(text string) (os []Order, err error) {
	r := &reader{design: d}
	if text != "" {
		err = readValue(r, field{key: "do", codec: orders(&os, r)}, text)
	}
	for i := range os {
		os[i].Source = os[i].Bare()
	}
	return os, err
}

// Leads says what a transition comes to: where it leads as Transition.To has it, what
// it does, or "ignore".
func (d *Design) Leads(t *Transition) string {
	if t.Ignore {
		return "ignore"
	}
	return cmp.Or(t.To, d.Does(t))
}
