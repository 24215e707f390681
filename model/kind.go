package model

import (
	"slices"
	"time"
)

// An outputKind is all that this package knows of one kind of output. Each
// kind is one value in a file of its own, kind_servo.go and so on; a new kind
// is a new file, its value in the list below and its members in Output and
// Action.
type outputKind struct {
	kind    OutputKind
	noun    string // in a sentence
	purpose string // what a maker chooses it for
	called  string // a name that suits one
	// gist is what matters most of an output beside its kind; nil: nothing.
	gist func(o *Output) string

	fields  func(o *Output) []field // its keys beside name, kind, pin and note
	first   func(o *Output)         // sets what an output begins with where that is not the default
	stays   func(o, was *Output)    // takes over from an output of another kind what both have
	check   func(r *reader, o *Output, what string, have got)
	parts   bool // messages belong to it
	expands bool // a PWM expander can drive it

	action      func(a *Action, o *Output) []field // the keys of what a cue or a pose asks of it
	firstAction func(a *Action, o *Output)         // from RestAction's
	idleAction  func(a *Action)                    // from FirstAction's, for a state in which nothing happens; nil: the same
	showAction  func(a *Action, o *Output)         // from FirstAction's, to be noticed; nil: the same
	checkAction func(r *reader, s *Source, a *Action, o *Output, have got)
	// order gives the keys that an order has beside those of a cue, and which of these
	// the order can do without; nil: it has the cue's.
	order      func(a *Action, o *Output) (more []field, instead string)
	checkOrder func(r *reader, s *Source, a *Action, o *Output, have got) // nil: as checkAction
	firstOrder func(a *Action)                                            // from FirstAction's; nil: the same
	noOrders   bool                                                       // checkOrder refuses them all

	says func(a *Action) string // an action in a word or two
	// lit reports whether an action leaves the output on; nil: it is not on or off.
	lit func(a *Action) bool
	// lasts is how long a cue takes; nil: its Over.
	lasts func(o *Output) time.Duration
	pose  string // the key that a bare value in a pose gives; "": it holds nothing in a pose
	// scale is the least and the most that an action can ask for; nil: its
	// values are not on a scale.
	scale func(o *Output) (lo, hi float64)
	drift *driftKind // nil: it does not drift
	// follow is where a cue sends it that follows a track's loudness; nil: it cannot.
	follow func(c *Cue, o *Output) []field
	track  bool // a track can be played on it
}

// A driftKind says how outputs of a kind drift.
type driftKind struct {
	end     func(p *float64, o *Output) codec // one end of `between`; o is nil where it is not known
	example string                            // of `between`, as TOML
	first   func(o *Output) [2]float64        // half of its way
}

// outputKinds lists the kinds in the order the documentation gives them.
var outputKinds = []*outputKind{&servo, &spinner, &pixels, &pulse, &message, &onOff, &sound}

// OutputKinds lists the kinds in the order the documentation gives them.
var OutputKinds = func() []OutputKind {
	var list []OutputKind
	for _, k := range outputKinds {
		list = append(list, k.kind)
	}
	return list
}()

// unknownKind is for a name that is not a kind's, and for an output that the
// design does not have: it has the keys of all kinds, none needed.
var unknownKind = outputKind{
	noun: "of no known kind",
	fields: func(o *Output) []field {
		return everyKind(func(k *outputKind) []field { return k.fields(o) })
	},
	action: func(a *Action, o *Output) []field {
		return everyKind(func(k *outputKind) []field { return k.action(a, o) })
	},
	order: func(a *Action, o *Output) (more []field, instead string) {
		return everyKind(func(k *outputKind) []field {
			if k.order == nil {
				return nil
			}
			more, _ := k.order(a, o)
			return more
		}), ""
	},
	parts:   true,
	expands: true,
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

// PoseKey is the key that a pose's bare value gives for outputs of the kind, ""
// where they have no value in a pose.
func (k OutputKind) PoseKey() string { return k.of().pose }

// HasMessages reports whether messages belong to outputs of the kind.
func (k OutputKind) HasMessages() bool { return k.of().parts }

// Purpose says what a maker chooses the kind for, for example "a strip of lights".
func (k OutputKind) Purpose() string { return k.of().purpose }

// Called is a name that suits an output of the kind, for example "neck".
func (k OutputKind) Called() string { return k.of().called }

// Gist is an output's kind and what matters most of it, for example "servo
// -30..45".
func (o *Output) Gist() string {
	if gist := o.ofKind().gist; gist != nil {
		return string(o.Kind) + " " + gist(o)
	}
	return string(o.Kind)
}

// Says is what an action asks of the output in a word or two, for example
// "20deg" or "on"; "" where that is clear from the output alone.
func (o *Output) Says(a Action) string {
	if says := o.ofKind().says; says != nil {
		return says(&a)
	}
	return ""
}

// Lit reports whether an action leaves an output on. Of one that is not on or off it is
// false, and so is ok.
func (o *Output) Lit(a Action) (lit, ok bool) {
	k := o.ofKind()
	return k.lit != nil && k.lit(&a), k.lit != nil
}

// Expands reports whether a PWM expander can drive outputs of the kind.
func (k OutputKind) Expands() bool { return k.of().expands }

// Scale is the least and the most that can be asked of an output whose values
// are on a scale; others have none, and both are 0.
func (o *Output) Scale() (lo, hi float64) {
	if scale := o.ofKind().scale; scale != nil {
		return scale(o)
	}
	return 0, 0
}

// PlaysTracks reports whether a track can be played on outputs of the kind.
func (k OutputKind) PlaysTracks() bool { return k.of().track }

// kindsWith says for which kinds of output there is a key, or "".
func kindsWith(key string, forKind func(*Output) []field) string {
	var kinds []string
	for _, k := range outputKinds {
		if slices.ContainsFunc(forKind(&Output{Kind: k.kind}), func(f field) bool { return f.key == key }) {
			kinds = append(kinds, k.noun)
		}
	}
	return orList(kinds)
}

// Keys that several kinds have.

func pulseWidth(key string, p *int, example, meaning string) field {
	return need(key, wholeNumber(p, 0, LeastPulse, MostPulse, "us"), example, meaning)
}

func stall(o *Output) field {
	return milliampere("stall_ma", &o.StallMA, "700", "the current when the servo is held fast")
}

func active(o *Output) field {
	return may("active", oneOf(&o.Active, High, []Level{High, Low}, "level"), `"low"`, "the level that means on")
}

// activeStays keeps the level that means active.
func activeStays(o, was *Output) {
	if was.Active != "" {
		o.Active = was.Active
	}
}

// over is the time within which an output gets where a cue or a pose sends it.
func over(a *Action) field {
	return may("over", duration(&a.Over, 0, 0).unsaid(), `"800ms"`, "within this time; without it, as fast as the mechanism stands")
}

// toggle is the key of what is off where it is on.
func toggle(a *Action) field {
	return may("toggle", yesNo(&a.Toggle), "true", "true: off where it is on, else on")
}

// checkToggle refuses toggle = false.
func checkToggle(r *reader, s *Source, a *Action, have got) {
	if have["toggle"] && !a.Toggle {
		r.fault(s.At("toggle"), "toggle = false toggles nothing", "write toggle = true, or leave it out")
	}
}

// angle is an angle of a servo.
func angle(p *Degrees) codec { return measure(p, 0, -mostDegrees, mostDegrees) }
