package model

import (
	"fmt"
	"slices"
)

func (r *reader) readOutputs(root *table) {
	d := r.design
	of := map[int]*names{} // messages, by the output's index
	for _, t := range r.many(root, "output", "output") {
		o := Output{Kind: OutputKind(peek(t, "kind"))}
		sh := shape{what: titled("output", t), fields: o.fields()}
		if slices.Contains(OutputKinds, o.Kind) {
			sh.elsewhere = func(key string) string { return kindsWith(key, o.fieldsOfKind()) }
		}
		if o.Kind == KindMessage || !slices.Contains(OutputKinds, o.Kind) {
			sh.parts = []string{"message"}
		}
		have := r.element(t, &o.Source, sh)
		switch o.Kind {
		case KindServo:
			r.servo(&o, sh.what, have)
		case KindSpinner:
			if have["stop_us"] && have["full_us"] && o.StopUs == o.FullUs {
				r.fault(o.At("full_us"), fmt.Sprintf("stop_us and full_us are both %d", o.StopUs), "full_us is the pulse at full speed forward")
			}
		}
		if len(sh.parts) > 0 {
			of[len(d.Outputs)] = r.readMessages(t, &o, sh.what)
		}
		r.enter(&r.outputs, o.Name, &o.Source)
		d.Outputs = append(d.Outputs, o)
	}
	r.byName = d.outputs()
	r.messages = map[*Output]*names{}
	for i := range d.Outputs {
		r.messages[&d.Outputs[i]] = of[i]
	}
}

// outputs gives every output by its name; of two of one name the first.
func (d *Design) outputs() map[string]*Output {
	m := make(map[string]*Output, len(d.Outputs))
	for i := range d.Outputs {
		if o := &d.Outputs[i]; m[o.Name] == nil {
			m[o.Name] = o
		}
	}
	return m
}

func (r *reader) servo(o *Output, what string, have got) {
	if have["us_at_min"] && have["us_at_max"] && o.UsAtMin == o.UsAtMax {
		r.fault(o.At("us_at_max"), fmt.Sprintf("us_at_min and us_at_max are both %d", o.UsAtMin), "measure the pulse width at each end of the travel")
	}
	if !have["min"] || !have["max"] {
		return
	}
	if o.Min >= o.Max {
		r.fault(o.At("max"), fmt.Sprintf("max %v is not above min %v", o.Max, o.Min), "min is the smaller angle; where the pulses run the other way, let us_at_min be the larger")
		return
	}
	inside := o.Min <= o.Rest && o.Rest <= o.Max
	switch {
	case have["rest"] && !inside:
		r.fault(o.At("rest"), fmt.Sprintf("rest %v is outside of the travel %v to %v", o.Rest, o.Min, o.Max), "choose an angle inside of it")
	case !o.States("rest") && !inside:
		r.fault(o.Pos, fmt.Sprintf("%s has no rest, and 0deg is outside of its travel %v to %v", what, o.Min, o.Max), fmt.Sprintf(`add for example rest = "%v"`, o.Min))
	}
}

func (r *reader) readMessages(t *table, o *Output, what string) *names {
	ns := &names{what: "message", of: fmt.Sprintf(" of output %q", o.Name)}
	for _, t := range r.many(t, "message", "output.message") {
		var m Message
		r.element(t, &m.Source, shape{what: titled("message", t), fields: m.fields()})
		r.enter(ns, m.Name, &m.Source)
		o.Messages = append(o.Messages, m)
	}
	if len(o.Messages) == 0 && o.Kind == KindMessage {
		r.fault(o.Pos, what+" has no message", "add a [[output.message]] with name and bytes")
	}
	return ns
}

// kindsWith says which kinds of output have a key, or "".
func kindsWith(key string, of map[OutputKind]func() []field) string {
	var kinds []string
	for _, kind := range OutputKinds {
		if slices.ContainsFunc(of[kind](), func(f field) bool { return f.key == key }) {
			kinds = append(kinds, kindNoun(kind))
		}
	}
	return orList(kinds)
}
