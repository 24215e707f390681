package model

import (
	"math"
	"time"

	"propwright/model/ir"
)

// Boards lists the boards that a design can name, by their chip.
var Boards = []string{"atmega328p", "atmega2560", "atmega32u4", "portable32"}

// PixelOrders lists the orders in which a strip can take its colours.
var PixelOrders = []string{"grb", "rgb", "rbg", "gbr", "brg", "bgr"}

// Limits of what a file may say; each is far beyond what a prop needs.
const (
	mostDegrees = 3600
	mostPin     = 99
	mostMA      = 100_000
	mostPixels  = 2000
	mostBytes   = 255 // of one message

	// A hobby servo takes about 1000 to 2000 us, many a little more (common
	// practice, no published source).
	leastUs = 400
	mostUs  = 2600
)

func pin(p *int) field { return need("pin", wholeNumber(p, 0, 0, mostPin, "")) }

func note(p *string) field { return may("note", paragraphs(p)) }

func milliampere(key string, p *int) field { return may(key, wholeNumber(p, 0, 0, mostMA, "mA")) }

func pulseWidth(key string, p *int) field {
	return need(key, wholeNumber(p, 0, leastUs, mostUs, "us"))
}

func (p *Prop) fields() []field {
	return []field{
		need("name", slug(&p.Name)),
		may("label", oneLine(&p.Label)),
		need("board", oneOf(&p.Board, "", Boards, "board")),
		may("rest_within", duration(&p.RestWithin, 3*time.Second, time.Millisecond)),
		may("seed", wholeNumber(&p.Seed, 0, 0, math.MaxUint32, "")),
		note(&p.Note),
	}
}

func (m *Remote) fields() []field {
	return []field{
		pin(&m.Pin),
		need("stop", reference(&m.Stop, func(r *reader) *names { return &r.buttons })),
		note(&m.Note),
	}
}

func (b *Button) fields() []field {
	return []field{
		need("name", printed(&b.Name)),
		need("code", scalar(&b.Code, "", func(v *value) (string, error) {
			if v.kind != text {
				return "", wrongKind(v, "a code", `write it in quotes, for example "nec:0x04:0x18"`)
			}
			_, err := ir.ParseCode(v.text)
			return v.text, err
		}, quote)),
		note(&b.Note),
	}
}

func (s *Supply) fields() []field {
	return []field{
		may("volts", number(&s.Volts, 0.1, 60, "V")),
		milliampere("max_ma", &s.MaxMA),
		note(&s.Note),
	}
}

func (in *Input) fields() []field {
	return []field{
		need("name", slug(&in.Name)),
		pin(&in.Pin),
		may("pull", oneOf(&in.Pull, PullUp, []Pull{PullUp, PullNone}, "pull")),
		may("debounce", duration(&in.Debounce, 20*time.Millisecond, 0)),
		note(&in.Note),
	}
}

// fields are those of the output's kind; of a kind that is not known, those
// of every kind.
func (o *Output) fields() []field {
	fs := []field{
		need("name", slug(&o.Name)),
		need("kind", oneOf(&o.Kind, "", OutputKinds, "kind of output")),
		pin(&o.Pin),
	}
	of, known := o.fieldsOfKind()[o.Kind]
	if known {
		fs = append(fs, of()...)
	} else {
		fs = append(fs, everyKind(o.fieldsOfKind())...)
	}
	return append(fs, note(&o.Note))
}

func (o *Output) fieldsOfKind() map[OutputKind]func() []field {
	active := func() field {
		return may("active", oneOf(&o.Active, High, []Level{High, Low}, "level"))
	}
	return map[OutputKind]func() []field{
		KindServo: func() []field {
			return []field{
				need("min", measure(&o.Min, 0, ParseDegrees, -mostDegrees, mostDegrees)),
				need("max", measure(&o.Max, 0, ParseDegrees, -mostDegrees, mostDegrees)),
				may("rest", measure(&o.Rest, 0, ParseDegrees, -mostDegrees, mostDegrees)),
				pulseWidth("us_at_min", &o.UsAtMin),
				pulseWidth("us_at_max", &o.UsAtMax),
				may("max_speed", measure(&o.MaxSpeed, 0, ParseDegPerS, 0, 100_000)),
				may("max_accel", measure(&o.MaxAccel, 0, ParseDegPerS2, 0, 10_000_000)),
				milliampere("stall_ma", &o.StallMA),
			}
		},
		KindSpinner: func() []field {
			return []field{
				pulseWidth("stop_us", &o.StopUs),
				pulseWidth("full_us", &o.FullUs),
				need("rev_per_s", number(&o.RevPerS, 0.001, 100, "rev/s")),
				may("wires_pass", yesNo(&o.WiresPass)),
				may("max_turns", number(&o.MaxTurns, 0, 10_000, "")),
				milliampere("stall_ma", &o.StallMA),
			}
		},
		KindPixels: func() []field {
			return []field{
				need("count", wholeNumber(&o.Count, 0, 1, mostPixels, "")),
				may("order", oneOf(&o.Order, PixelOrders[0], PixelOrders, "order of colours")),
				milliampere("max_ma", &o.MaxMA),
				may("brightness", measure(&o.Brightness, 100, ParsePercent, 0, 100)),
			}
		},
		KindPulse: func() []field {
			return []field{active(), need("hold", duration(&o.Hold, 0, time.Millisecond))}
		},
		KindMessage: func() []field {
			return []field{need("baud", wholeNumber(&o.Baud, 0, 300, 1_000_000, ""))}
		},
		KindSwitch: func() []field { return []field{active()} },
	}
}

// everyKind joins the fields of all kinds, each key once and none needed.
func everyKind(of map[OutputKind]func() []field) []field {
	var fs []field
	seen := map[string]bool{}
	for _, kind := range OutputKinds {
		for _, f := range of[kind]() {
			if !seen[f.key] {
				seen[f.key] = true
				f.need = false
				fs = append(fs, f)
			}
		}
	}
	return fs
}

func (m *Message) fields() []field {
	return []field{
		need("name", printed(&m.Name)),
		need("bytes", hexBytes(&m.Bytes)),
		note(&m.Note),
	}
}

func (t *Track) fields() []field {
	return []field{
		need("name", slug(&t.Name)),
		may("file", oneLine(&t.File)),
		need("length", duration(&t.Length, 0, time.Millisecond)),
		need("play", t.play()),
		may("latency", duration(&t.Latency, 0, 0)),
		note(&t.Note),
	}
}

func (p *Play) fields() []field {
	return []field{
		need("output", reference(&p.Output, func(r *reader) *names { return &r.outputs })),
		may("value", oneLine(&p.Value)),
	}
}

func (rt *Routine) fields() []field {
	return []field{
		need("name", slug(&rt.Name)),
		may("loop", yesNo(&rt.Loop)),
		may("length", duration(&rt.Length, 0, time.Millisecond)),
		note(&rt.Note),
	}
}

// fields are those of the cue's output o, nil where it is not known or the
// cue plays a track.
func (c *Cue) fields(o *Output) []field {
	fs := []field{
		need("at", duration(&c.At, 0, 0)),
		may("output", reference(&c.Output, func(r *reader) *names { return &r.outputs })),
		may("track", reference(&c.Track, func(r *reader) *names { return &r.tracks })),
	}
	if c.Track == "" || c.Output != "" {
		fs = append(fs, c.Action.fields(o)...)
	}
	return append(fs, note(&c.Note))
}

// fields are those that o takes; of an output that is not known, all.
func (a *Action) fields(o *Output) []field {
	if o != nil {
		if of, known := a.fieldsOfKind(o)[o.Kind]; known {
			return of()
		}
	}
	return everyKind(a.fieldsOfKind(o))
}

func (a *Action) fieldsOfKind(o *Output) map[OutputKind]func() []field {
	over := func() field { return may("over", duration(&a.Over, 0, 0)) }
	return map[OutputKind]func() []field{
		KindServo: func() []field {
			return []field{
				need("to", measure(&a.To, 0, ParseDegrees, -mostDegrees, mostDegrees)),
				over(),
				may("ease", oneOf(&a.Ease, EaseSmooth, Eases, "ease")),
			}
		},
		KindSpinner: func() []field {
			return []field{need("speed", speed(&a.Speed, o)), over()}
		},
		KindPixels: func() []field {
			return []field{
				may("effect", oneOf(&a.Effect, EffectSolid, Effects, "effect")),
				need("colour", colour(&a.Colour)),
				may("colour2", colour(&a.Colour2)),
				may("period", duration(&a.Period, 0, time.Millisecond)),
				over(),
				may("first", wholeNumber(&a.First, 0, 0, lastPixel(o), "")),
				may("last", wholeNumber(&a.Last, -1, -1, lastPixel(o), "")),
			}
		},
		KindPulse: func() []field { return []field{need("fire", yesNo(&a.Fire))} },
		KindMessage: func() []field {
			return []field{need("send", reference(&a.Send, func(r *reader) *names { return r.messages[o] }))}
		},
		KindSwitch: func() []field { return []field{need("set", yesNo(&a.Set))} },
	}
}

// speed is a speed that the spinner can turn at, either way.
func speed(p *RevPerS, o *Output) codec {
	most := RevPerS(100)
	if o != nil && o.RevPerS > 0 {
		most = o.RevPerS
	}
	return measure(p, 0, ParseRevPerS, -most, most)
}

func lastPixel(o *Output) int64 {
	if o == nil || o.Count == 0 {
		return mostPixels - 1
	}
	return int64(o.Count - 1)
}

// fields are those of a state; output finds an output by name.
func (s *State) fields(output func(string) *Output) []field {
	return []field{
		need("name", slug(&s.Name)),
		need("kind", oneOf(&s.Kind, "", StateKinds, "kind of state")),
		may("label", oneLine(&s.Label)),
		may("start", yesNo(&s.Start)),
		may("plays", reference(&s.Plays, func(r *reader) *names { return &r.routines })),
		may("pose", poses(&s.Pose, output)),
		may("over", duration(&s.Over, 0, 0)),
		may("drift", drifts(&s.Drift, output)),
		note(&s.Note),
	}
}

// fields are those of a drift of o, nil where it is not known.
func (dr *Drift) fields(o *Output) []field {
	return []field{
		need("output", reference(&dr.Output, func(r *reader) *names { return &r.outputs })),
		need("between", between(&dr.Between, o)),
		need("every", span(&dr.Every, time.Millisecond)),
		need("over", span(&dr.Over, 0)),
	}
}

func (t *Transition) fields() []field {
	return []field{
		need("from", froms(&t.From)),
		need("on", triggers(&t.On)),
		may("to", target(&t.To)),
		may("ignore", yesNo(&t.Ignore)),
		may("defer", yesNo(&t.Defer)),
		note(&t.Note),
	}
}

func (q *Require) fields() []field {
	return []field{need("that", requirement(&q.That)), note(&q.Note)}
}
