package model

import "fmt"

func (r *reader) readOutputs(root *table) {
	d := r.design
	of := map[int]*names{} // messages, by the output's index
	for _, t := range r.many(root, "output", "output") {
		o := Output{Kind: OutputKind(peek(t, "kind"))}
		sh := shape{what: titled("output", t), fields: o.fields()}
		kind := o.Kind.of()
		if o.Kind.Known() {
			sh.elsewhere = func(key string) string {
				return kindsWith(key, func(k *outputKind) []field { return k.fields(&o) })
			}
		}
		if kind.parts {
			sh.parts = []string{"message"}
		}
		have := r.element(t, &o.Source, sh)
		if kind.parts {
			of[len(d.Outputs)] = r.readMessages(t, &o)
		}
		if kind.check != nil {
			kind.check(r, &o, sh.what, have)
		}
		r.enter(r.names[SortOutput], o.Name, &o.Source)
		d.Outputs = append(d.Outputs, o)
	}
	r.byName = d.outputs()
	r.messages = map[*Output]*names{}
	for i := range d.Outputs {
		r.messages[&d.Outputs[i]] = of[i]
	}
}

// outputs gives every output by its name, and one with a faulty name also by the
// name that is meant, as reader.enter notes it; of two of one name the first.
func (d *Design) outputs() map[string]*Output {
	m := make(map[string]*Output, len(d.Outputs))
	for i := range d.Outputs {
		if o := &d.Outputs[i]; m[o.Name] == nil {
			m[o.Name] = o
		}
	}
	for i := range d.Outputs {
		if o := &d.Outputs[i]; !IsPrintedName(o.Name) && m[slugOf(o.Name)] == nil {
			m[slugOf(o.Name)] = o
		}
	}
	return m
}

func (r *reader) readMessages(t *table, o *Output) *names {
	ns := &names{what: "message", of: fmt.Sprintf(" of output %q", o.Name)}
	for _, t := range r.many(t, "message", "output.message") {
		var m Message
		r.element(t, &m.Source, shape{what: titled("message", t), fields: m.fields()})
		r.enter(ns, m.Name, &m.Source)
		o.Messages = append(o.Messages, m)
	}
	return ns
}
