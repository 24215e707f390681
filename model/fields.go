package model

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"propwright/model/board"
	"propwright/model/ir"
	"propwright/model/tomltree"
)

// Boards lists the boards that a design can name, by their chip.
var Boards = board.Names()

// PixelOrders lists the orders in which a strip can take its colours.
var PixelOrders = []string{"grb", "rgb", "rbg", "gbr", "brg", "bgr"}

// Meanings that several keys share.
const (
	pinOfBoard = "the board's pin: its number, or a name as A0"
	whoMoves   = "who moves"
)

// Limits of what a file may say; each is far beyond what a prop needs.
const (
	mostDegrees = 3600
	mostPin     = 99
	mostMA      = 100_000
	mostPixels  = 2000
	mostBytes   = 255 // of one message
	mostTrack   = 9999

	// LeastPulse and MostPulse bound a servo's pulse width, in microseconds. A hobby
	// servo takes about 1000 to 2000, many a little more (common practice, no published
	// source).
	LeastPulse = 400
	MostPulse  = 2600
)

func name(c codec, example string) field {
	return need("name", c, example, "what everything else calls it: small letters, digits and -")
}

func pin(p *int, use board.Use, meaning string) field {
	return need("pin", pinNumber(p, 0, use).unsaid(), "9", meaning)
}

// pinNumber takes the names that the core gives the board's analogue inputs as well;
// canonical is the number. To choose from are the pins that are free for the use.
func pinNumber(p *int, lo int64, use board.Use) codec {
	c := wholeNumber(p, 0, lo, mostPin, "")
	read := c.read
	c.read = func(r *reader, v *value) {
		b, known := board.ByName(r.design.Prop.Board)
		if v.Kind == tomltree.Text && known {
			if n, ok := b.Number(v.Text); ok {
				*p = n
				return
			}
			if len(b.Analog) > 0 && len(v.Text) > 1 && strings.ToUpper(v.Text)[0] == 'A' {
				r.fault(v.Pos, fmt.Sprintf("the %s has no pin %s", b.Name, v.Text), fmt.Sprintf("write a number, or a name from A0 to A%d", len(b.Analog)-1))
				return
			}
		}
		if v.Kind == tomltree.Text {
			n, err := strconv.Atoi(strings.TrimLeft(v.Text, "dD~#"))
			if !known {
			} else if i := slices.IndexFunc(b.Pins, func(p board.Pin) bool { return strings.EqualFold(fmt.Sprintf("P%c%d", p.Port, p.Bit), v.Text) }); i >= 0 {
				n, err = b.Pins[i].Number, nil
			}
			if err == nil {
				r.refuse(v.Pos, wrongKind(v, "a whole number", fmt.Sprintf("write %d, without quotes", n)))
				return
			}
		}
		read(r, v)
	}
	c.choices = func(r *reader) []string {
		b, known := board.ByName(r.design.Prop.Board)
		if !known {
			return nil
		}
		var names []string
		for _, n := range r.design.FreePins(use, *p) {
			names = append(names, cmp.Or(b.AnalogName(n), strconv.Itoa(n)))
		}
		return names
	}
	return c
}

func label(p *string, example, meaning string) field {
	return may("label", oneLine(p), example, meaning)
}

func note(p *string) field {
	return may("note", paragraphs(p), `"turn gently"`, "for people: it reaches charts and code; Ctrl-J: a new line")
}

func milliampere(key string, p *int, example, meaning string) field {
	return limit(key, wholeNumber(p, 0, 0, mostMA, "mA"), example, meaning)
}

func (p *Prop) fields(*reader) []field {
	return []field{
		name(propName(&p.Name), `"harbour-heron"`),
		label(&p.Label, `"Harbour Heron"`, "what people read"),
		need("board", boardName(&p.Board), `"atmega328p"`, "the chip on the board"),
		may("rest_within", duration(&p.RestWithin, 3*time.Second, time.Millisecond), `"3s"`, "after the stop button nothing moves or sounds beyond this time"),
		may("seed", wholeNumber(&p.Seed, 0, 0, math.MaxUint32, "").unsaid(), "1", "fixes what chance draws, for tests; else it is drawn at power-up"),
		may("live", yesNo(&p.Live), "true", "it tells over its serial line what goes on, for propwright live"),
		note(&p.Note),
	}
}

// boardName is a board's chip. One that is called as the trade does is advised of it.
func boardName(p *string) codec {
	c := oneOf(p, "", Boards, "board")
	for _, name := range Boards {
		if b, ok := board.ByName(name); ok && b.Usual != "" {
			c.forms = append(c.forms, name+" is on boards called "+b.Usual)
		}
	}
	read := c.read
	c.read = func(r *reader, v *value) {
		if chip := board.Called(v.Text); chip != "" && v.Kind == tomltree.Text && !slices.Contains(Boards, v.Text) {
			*p = v.Text
			r.refuse(v.Pos, &ValueError{
				Wrong:  fmt.Sprintf("%q is not a board's chip", v.Text),
				Advice: fmt.Sprintf("write %q, the chip on it", chip), Instead: chip,
			})
			return
		}
		read(r, v)
	}
	return c
}

func (m *Remote) fields(*reader) []field {
	return []field{
		pin(&m.Pin, board.UseReceiver, "the pin of the infrared receiver"),
		need("stop", reference(&m.Stop, SortButton), `"BUTTON"`, "the button that must always bring the prop to rest"),
		may("repeat", oneOf(&m.Repeat, RepeatProtocol, []Repeat{RepeatProtocol, RepeatFrame}, "way to repeat"), `"frame"`, "frame: a button kept down sends its whole frame again"),
		note(&m.Note),
	}
}

func (b *Button) fields(*reader) []field {
	code := word(&b.Code, "", func(v *value) (string, error) {
		if v.Kind != tomltree.Text {
			return "", wrongKind(v, "a code", `write it in quotes, for example "nec:0x04:0x18"`)
		}
		_, err := ir.ParseCode(v.Text)
		return v.Text, err
	}, tomltree.Quote).hold(text("a code as PROTOCOL:ADDRESS:COMMAND"))
	code.forms = codeForms
	return []field{
		name(printed(&b.Name), `"wake"`),
		need("code", code, `"nec:0x04:0x18"`, "what the button sends, as nec:0x04:0x18; F3 and l learn it"),
		may("learned", noYes(&b.Unlearned), "false", "false: the code is made up, until the remote's own is learned"),
		note(&b.Note),
	}
}

// codeForms gives the least and the greatest code of each protocol.
var codeForms = func() []string {
	var forms []string
	for _, p := range ir.Protocols() {
		least, greatest := p.Codes()
		forms = append(forms, fmt.Sprintf("%s to %s", least, greatest))
	}
	return forms
}()

func (s *Supply) fields(*reader) []field {
	return []field{
		may("volts", number(&s.Volts, 0.1, 60, "V"), "6", "what the supply of the servos and lights gives"),
		milliampere("max_ma", &s.MaxMA, "3000", "the most current that the supply gives"),
		note(&s.Note),
	}
}

func (in *Input) fields(*reader) []field {
	return []field{
		name(slug(&in.Name), `"tail-switch"`),
		pin(&in.Pin, board.UseInput, pinOfBoard),
		may("pull", oneOf(&in.Pull, PullUp, []Pull{PullUp, PullNone}, "pull"), `"none"`, "up: the switch pulls the pin low; none: it drives the pin high"),
		may("debounce", duration(&in.Debounce, 20*time.Millisecond, 0), `"50ms"`, "a change shorter than this is none"),
		note(&in.Note),
	}
}

func (e *Event) fields(*reader) []field {
	return []field{
		name(eventName(&e.Name), `"crowd-near"`),
		note(&e.Note),
	}
}

// fields are those of the output's kind; of a kind that is not known, those
// of every kind.
func (o *Output) fields(*reader) []field {
	fs := []field{
		name(slug(&o.Name), `"neck"`),
		need("kind", oneOf(&o.Kind, "", OutputKinds, "kind of output"), `"servo"`, "what is on the pin; it decides which keys there are"),
	}
	k := o.Kind.of()
	if o.Chip != Triggers { // which has `pins`
		pin := pin(&o.Pin, o.Use(), pinOfBoard)
		pin.need = o.Bus == 0
		fs = append(fs, pin)
	}
	if k.expands {
		channel := channel(o)
		channel.need = o.Bus != 0
		fs = append(fs, may("bus", bus(&o.Bus), `"i2c:0x40"`, "in place of a pin: a PWM expander (PCA9685), as i2c:0x40"), channel)
	}
	fs = append(fs, k.fields(o)...)
	return append(fs, note(&o.Note))
}

func (m *Message) fields(*reader) []field {
	return []field{
		name(printed(&m.Name), `"one"`),
		need("bytes", hexBytes(&m.Bytes), `"7E 02 0A"`, "what is sent, in hexadecimal: 7E 02 0A"),
		note(&m.Note),
	}
}

func (t *Track) fields(r *reader) []field {
	return []field{
		name(slug(&t.Name), `"call"`),
		may("file", oneLine(&t.File), `"call.wav"`, "the sound's file, in the design's folder: check looks at it"),
		need("length", duration(&t.Length, 0, time.Millisecond), `"3.2s"`, "how long the sound lasts"),
		need("play", t.play(r), `{ output = "OUTPUT" }`, "the output that starts it, with a message or a track number"),
		may("stop", t.stop(r), `{ output = "OUTPUT" }`, "what silences it when its routine is left before its end"),
		may("latency", duration(&t.Latency, 0, 0), `"120ms"`, "from the trigger to the first sound"),
		may("loudness", loudness(&t.Loudness), `"07fb20"`, "in place of the file's: a digit from 0 to f for each 20 ms"),
		note(&t.Note),
	}
}

func (p *Play) fields() []field {
	return []field{
		need("output", reference(&p.Output, SortOutput), `"OUTPUT"`, "a sound, pulse, message or switch output"),
		may("value", oneLine(&p.Value), `"MESSAGE"`, "the message that a message output sends"),
		may("track", wholeNumber(&p.Track, 0, 1, mostTrack, ""), "3", "the number by which a sound board knows the track"),
	}
}

func (rt *Routine) fields(*reader) []field {
	return []field{
		name(slug(&rt.Name), `"greet"`),
		may("loop", yesNo(&rt.Loop), "true", "true: it begins again at its end"),
		may("length", duration(&rt.Length, 0, time.Millisecond), `"3.2s"`, "how long one round takes, where that is longer than its cues"),
		note(&rt.Note),
	}
}

func (c *Cue) fields(r *reader) []field { return c.fieldsFor(r.output(c.Output)) }

// fieldsFor are those of the cue's output o, nil where it is not known or the
// cue plays a track.
func (c *Cue) fieldsFor(o *Output) []field {
	fs := []field{
		need("at", duration(&c.At, 0, 0), `"0s"`, "when, in the routine's time"),
		may("output", reference(&c.Output, SortOutput), `"OUTPUT"`, whoMoves),
		may("track", reference(&c.Track, SortTrack), `"TRACK"`, "the sound that plays, in place of an output"),
	}
	follow := may("follow", reference(&c.Follow.Track, SortTrack), `"TRACK"`, "the track with whose loudness the output goes")
	switch {
	case c.Track != "" && c.Output == "":
	case o.ofKind().follow == nil:
		fs = append(fs, c.Action.fields(o)...)
	case c.Follow.Track == "":
		fs = append(append(fs, c.Action.fields(o)...), follow)
	default:
		fs = append(append(fs, follow), c.follows(o)...)
	}
	return append(fs, note(&c.Note))
}

// fields are those that o takes; of an output that is not known, all.
func (a *Action) fields(o *Output) []field { return o.ofKind().action(a, o) }

func (p *Pose) fields(r *reader) []field { return p.Action.fields(r.output(p.Output)) }

func (s *State) fields(r *reader) []field {
	return []field{
		name(slug(&s.Name), `"watch"`),
		need("kind", oneOf(&s.Kind, "", StateKinds, "kind of state"), `"dormant"`, "dormant: at rest; ambient: idling; performing: plays to its end"),
		label(&s.Label, `"Looking out"`, "what card, chart and tour call the state"),
		may("start", yesNo(&s.Start), "true", "true: power-up enters this state"),
		may("plays", reference(&s.Plays, SortRoutine).dropping("plays"), `"ROUTINE"`, "the routine that the state plays"),
		may("pose", poses(&s.Pose, r), `{ OUTPUT = "0deg" }`, "where the outputs go, each by its name"),
		may("over", duration(&s.Over, 0, 0), `"1s"`, "within this time the pose is reached"),
		may("drift", drifts(&s.Drift, r), `[{ output = "OUTPUT", between = ["-40deg", "40deg"], every = "2s..6s", over = "800ms..1.5s" }]`,
			"its idle moves; below they stand one by one"),
		note(&s.Note),
	}
}

func (dr *Drift) fields(r *reader) []field {
	o := r.output(dr.Output) // nil where it is not known
	output := reference(&dr.Output, SortOutput)
	output.holds = text("the name of an output that drifts: a servo or a spinner")
	output.choices = func(r *reader) []string {
		return slices.DeleteFunc(slices.Clone(r.namesIn(scope{sort: SortOutput}).list), func(name string) bool { return !r.output(name).Kind.Drifts() })
	}
	return []field{
		need("output", output, `"OUTPUT"`, whoMoves),
		need("between", between(&dr.Between, o), o.driftsAs().example, "the two values that it moves between"),
		need("every", span(&dr.Every, time.Millisecond), `"2s..6s"`, "how long from move to move: 2s..6s"),
		need("over", span(&dr.Over, 0), `"800ms..1.5s"`, "how long a move takes: a time, or a range as 800ms..1.5s"),
	}
}

func (t *Transition) fields(r *reader) []field {
	return []field{
		need("from", froms(&t.From), `"STATE"`, "states it leads from, any, or any KIND"),
		need("on", triggers(&t.On), `"press BUTTON"`, "what it waits for, any of several"),
		may("to", target(&t.To), `"STATE"`, "the state it leads to, or back; any_of, in_turn: one of several"),
		may("do", orders(&t.Do, r), `{ output = "OUTPUT", by = "5deg" }`, "in place of to: what outputs do, and the state stays"),
		may("ignore", yesNo(&t.Ignore), "true", "true: nothing happens, and that is meant"),
		may("defer", yesNo(&t.Defer), "true", "true: only when the routine has ended"),
		note(&t.Note),
	}
}

func (q *Require) fields(*reader) []field {
	return []field{
		need("that", requirement(&q.That), `"reachable STATE"`, "what is to stay true, whatever is changed"),
		note(&q.Note),
	}
}
