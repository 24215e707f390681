package model

import "slices"

// An outputKind is all that this package knows of one kind of output. Each
// kind is one value in a file of its own, kind_servo.go and so on; a new kind
// is a new file, its value in the list below and its members in Output and
// Action.
type outputKind struct {
	kind OutputKind
	noun string // in a sentence

	fields func(o *Output) []field // its keys beside name, kind, pin and note
	first  func(o *Output)         // sets what an output begins with where that is no default
	stays  func(o, was *Output)    // takes over from an output of another kind what both have
	check  func(r *reader, o *Output, what string, have got)
	parts  bool // messages belong to it

	action      func(a *Action, o *Output) []field // the keys of what a cue or a pose asks of it
	firstAction func(a *Action, o *Output)
	checkAction func(r *reader, s *Source, a *Action, have got)

	pose  string     // the key that a bare value in a pose gives; "": it holds nothing in a pose
	drift *driftKind // nil: it does not drift
	track bool       // a track can be played on it
}

// A driftKind says how outputs of a kind drift.
type driftKind struct {
	end     func(p *float64, o *Output) codec // one end of `between`; o is nil where it is not known
	example string                            // of `between`
	first   func(o *Output) [2]float64        // half of its way
}

// outputKinds lists the kinds in the order the documentation gives them.
var outputKinds = []*outputKind{&servo, &spinner, &pixels, &pulse, &message, &onOff}

// OutputKinds lists the kinds in the order the documentation gives them.
var OutputKinds = func() []OutputKind {
	var list []OutputKind
	for _, k := range outputKinds {
		list = append(list, k.kind)
	}
	return list
}()

// unknownKind stands for a kind that is none, and for that of an output which
// is not there: it has the keys of all kinds, none needed.
var unknownKind = outputKind{
	noun: "of no known kind",
	fields: func(o *Output) []field {
		return everyKind(func(k *outputKind) []field { return k.fields(o) })
	},
	action: func(a *Action, o *Output) []field {
		return everyKind(func(k *outputKind) []field { return k.action(a, o) })
	},
	parts: true,
}

// everyKind joins the fields of all kinds, each key once and none needed.
func everyKind(of func(*outputKind) []field) []field {
	var fs []field
	seen := map[string]bool{}
	for _, k := range outputKinds {
		for _, f := range of(k) {
			if !seen[f.key] {
				seen[f.key] = true
				f.need = false
				fs = append(fs, f)
			}
		}
	}
	return fs
}

// of is what is known of a kind.
func (k OutputKind) of() *outputKind {
	for _, known := range outputKinds {
		if known.kind == k {
			return known
		}
	}
	return &unknownKind
}

// ofKind is what is known of an output's kind; o may be nil.
func (o *Output) ofKind() *outputKind {
	if o == nil {
		return &unknownKind
	}
	return o.Kind.of()
}

// Known reports whether there is such a kind.
func (k OutputKind) Known() bool { return k.of() != &unknownKind }

// Noun is the kind in a sentence, for example "a servo".
func (k OutputKind) Noun() string { return k.of().noun }

// Drifts reports whether outputs of the kind can drift.
func (k OutputKind) Drifts() bool { return k.of().drift != nil }

// Poses reports whether outputs of the kind can have a value in a pose.
func (k OutputKind) Poses() bool { return k.of().pose != "" }

// PlaysTracks reports whether a track can be played on outputs of the kind.
func (k OutputKind) PlaysTracks() bool { return k.of().track }

// kindsWith says which kinds of output have a key, or "".
func kindsWith(key string, of func(*outputKind) []field) string {
	var kinds []string
	for _, k := range outputKinds {
		if slices.ContainsFunc(of(k), func(f field) bool { return f.key == key }) {
			kinds = append(kinds, k.noun)
		}
	}
	return orList(kinds)
}

// Keys that several kinds have.

func pulseWidth(key string, p *int) field {
	return need(key, wholeNumber(p, 0, leastUs, mostUs, "us"))
}

func stall(o *Output) field { return milliampere("stall_ma", &o.StallMA) }

func active(o *Output) field {
	return may("active", oneOf(&o.Active, High, []Level{High, Low}, "level"))
}

// activeStays keeps the level that means active.
func activeStays(o, was *Output) {
	if was.Active != "" {
		o.Active = was.Active
	}
}

// over is the time within which an output gets where a cue or a pose sends it.
func over(a *Action) field { return may("over", duration(&a.Over, 0, 0)) }

// angle is an angle of a servo.
func angle(p *Degrees) codec { return measure(p, 0, ParseDegrees, -mostDegrees, mostDegrees) }
