package model

import (
	"math"
	"slices"
	"time"

	"propwright/model/board"
	"propwright/model/ir"
	"propwright/model/tomltree"
)

// Boards lists the boards that a design can name, by their chip.
var Boards = board.Names()

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

func (p *Prop) fields() []field {
	return []field{
		need("name", propName(&p.Name)),
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
		need("stop", reference(&m.Stop, SortButton)),
		note(&m.Note),
	}
}

func (b *Button) fields() []field {
	return []field{
		need("name", printed(&b.Name)),
		need("code", scalar(&b.Code, "", func(v *value) (string, error) {
			if v.Kind != tomltree.Text {
				return "", wrongKind(v, "a code", `write it in quotes, for example "nec:0x04:0x18"`)
			}
			_, err := ir.ParseCode(v.Text)
			return v.Text, err
		}, tomltree.Quote)),
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
	fs = append(fs, o.Kind.of().fields(o)...)
	return append(fs, note(&o.Note))
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
		need("output", reference(&p.Output, SortOutput)),
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
		may("output", reference(&c.Output, SortOutput)),
		may("track", reference(&c.Track, SortTrack)),
	}
	if c.Track == "" || c.Output != "" {
		fs = append(fs, c.Action.fields(o)...)
	}
	return append(fs, note(&c.Note))
}

// fields are those that o takes; of an output that is not known, all.
func (a *Action) fields(o *Output) []field { return o.ofKind().action(a, o) }

// fields are those of a state; output finds an output by name.
func (s *State) fields(output func(string) *Output) []field {
	return []field{
		need("name", slug(&s.Name)),
		need("kind", oneOf(&s.Kind, "", StateKinds, "kind of state")),
		may("label", oneLine(&s.Label)),
		may("start", yesNo(&s.Start)),
		may("plays", reference(&s.Plays, SortRoutine)),
		may("pose", poses(&s.Pose, output)),
		may("over", duration(&s.Over, 0, 0)),
		may("drift", drifts(&s.Drift, output)),
		note(&s.Note),
	}
}

// fields are those of a drift of o, nil where it is not known.
func (dr *Drift) fields(o *Output) []field {
	output := reference(&dr.Output, SortOutput)
	output.choices = func(r *reader) []string {
		return slices.DeleteFunc(slices.Clone(r.names[SortOutput].list), func(name string) bool { return !r.output(name).Kind.Drifts() })
	}
	return []field{
		need("output", output),
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
