// Package random draws designs for property tests.
//
// It knows the design file's rules, so that what it draws has no faults, and
// nothing else: a drawn design may break any rule of model/check. Names may
// be C keywords, labels and notes hold any UTF-8 text, and no two candidates
// for one event have the same rank unless Size.Ambiguous asks for it.
package random

import (
	"fmt"
	"time"

	"propwright/model"
	"propwright/model/ir"

	"pgregory.net/rapid"
)

// Range is a least and a most, both included.
type Range struct{ Lo, Hi int }

func (r Range) draw(t *rapid.T, what string) int { return rapid.IntRange(r.Lo, r.Hi).Draw(t, what) }

// Size says how large a drawn design may be.
type Size struct {
	States      Range // at least 1; the first is dormant
	Buttons     Range // at least 1; the first is the stop button
	Inputs      Range
	Events      Range
	Outputs     Range // at most 15, for want of pins
	Tracks      Range // drawn where an output can play them
	Routines    Range
	Transitions Range
	Requires    Range
	Comments    bool // comments at elements and keys
	Expander    bool // outputs may be on a PWM expander, whose bus takes the pins of inputs
	Ambiguous   bool // two candidates for one event may have the same rank
}

// Usual is a design that a test can look through.
var Usual = Size{
	States:      Range{1, 6},
	Buttons:     Range{1, 5},
	Inputs:      Range{0, 2},
	Events:      Range{0, 2},
	Outputs:     Range{0, 6},
	Tracks:      Range{0, 2},
	Routines:    Range{0, 4},
	Transitions: Range{0, 12},
	Requires:    Range{0, 2},
	Comments:    true,
}

// Design draws a faultless design of the Usual size.
func Design(t *rapid.T) *model.Design { return Usual.Design(t) }

// Design draws a faultless design of size s.
func (s Size) Design(t *rapid.T) *model.Design {
	d := &model.Design{File: "random.prop.toml"}
	g := &drawer{T: t, size: s, design: d}
	g.prop()
	g.inputs()
	g.events()
	g.outputs()
	g.tracks()
	g.routines()
	g.states()
	g.transitions()
	g.requires()
	g.codes()
	if s.Comments {
		g.comments()
	}
	return d
}

// drawer holds what the parts of one design share.
type drawer struct {
	*rapid.T
	size   Size
	design *model.Design

	choices int // that transitions lead to
}

// keywords are names that a generator of C or Go has to take care of.
var keywords = []string{"int", "while", "for", "register", "auto", "break", "func", "go", "setup", "loop", "main", "true", "null", "delay"}

// names draws n different slugs, none of which is `any` or `back`. Buttons and
// messages may be numbers.
func (g *drawer) names(n int, what string) []string {
	first := "[a-z]"
	if what == "button" || what == "message" {
		first = "[a-z0-9]"
	}
	slug := rapid.Custom(func(t *rapid.T) string {
		if rapid.IntRange(0, 3).Draw(t, "a keyword if 0") == 0 {
			return rapid.SampledFrom(keywords).Draw(t, "keyword")
		}
		return rapid.StringMatching(first+`[a-z0-9]{0,4}(-[a-z0-9]{1,3})?`).Draw(t, "slug")
	})
	seen := map[string]bool{model.Any: true, model.Back: true}
	names := make([]string, 0, n)
	for len(names) < n {
		name := slug.Draw(g.T, what)
		for i := 0; seen[name]; i++ {
			name = fmt.Sprintf("%s%d", what, len(names)+i)
		}
		seen[name] = true
		names = append(names, name)
	}
	return names
}

// line draws any text of one line, without control characters.
func (g *drawer) line(what string) string {
	return rapid.StringOfN(rapid.RuneFrom([]rune("aZ09 \"\\#'=[]äß漢🦩\u200d\ufeff€")), 0, 10, -1).Draw(g.T, what)
}

// note draws any text, with line breaks and tabs.
func (g *drawer) note() string {
	return rapid.StringOfN(rapid.RuneFrom([]rune("aZ09 \"\\#'*/ä漢🦩\n\t")), 0, 8, -1).Draw(g.T, "note")
}

func (g *drawer) flip(what string) bool { return rapid.Bool().Draw(g.T, what) }

// ms draws a time of lo to hi milliseconds.
func (g *drawer) ms(lo, hi int, what string) time.Duration {
	return time.Duration(rapid.IntRange(lo, hi).Draw(g.T, what)) * time.Millisecond
}

func (g *drawer) span(lo, hi int, what string) model.Span {
	s := model.Span{Lo: g.ms(lo, hi, what+" lo")}
	s.Hi = s.Lo
	if g.flip(what + " is a range") {
		s.Hi += g.ms(0, hi-lo, what+" hi")
	}
	return s
}

func (g *drawer) prop() {
	d := g.design
	d.Prop = model.Prop{
		Name:       g.names(1, "prop")[0],
		Label:      g.line("label"),
		Board:      "atmega328p",
		RestWithin: g.ms(1, 10_000, "rest within"),
		Seed:       rapid.Uint32().Draw(g.T, "seed"),
		Note:       g.note(),
	}
	d.Remote = model.Remote{Pin: 2, Repeat: rapid.SampledFrom([]model.Repeat{model.RepeatProtocol, model.RepeatFrame}).Draw(g.T, "repeat"), Note: g.note()}
	for _, name := range g.names(max(1, g.size.Buttons.draw(g.T, "buttons")), "button") {
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: name, Unlearned: rapid.Bool().Draw(g.T, "not learned"), Note: g.note()})
	}
	d.Remote.Stop = d.Remote.Buttons[0].Name
	if g.flip("supply") {
		d.Supply = model.Supply{
			Volts: float64(rapid.IntRange(30, 120).Draw(g.T, "decivolts")) / 10,
			MaxMA: rapid.IntRange(0, 10_000).Draw(g.T, "supply's max_ma"),
			Note:  g.note(),
		}
	}
}

// codes gives the buttons codes of one protocol, as one remote has them.
func (g *drawer) codes() {
	p := rapid.SampledFrom(ir.Protocols()).Draw(g.T, "protocol").Name
	for i := range g.design.Remote.Buttons {
		code := fmt.Sprintf("%s:0x%02X:0x%02X", p, i>>7, i&0x7f)
		if p == "raw" {
			code = fmt.Sprintf("raw:0x%02X:0x%08X", 110, uint32(i+1)*0x9E3779B9)
		}
		g.design.Remote.Buttons[i].Code = code
	}
}

func (g *drawer) inputs() {
	for i, name := range g.names(g.size.Inputs.draw(g.T, "inputs"), "input") {
		g.design.Inputs = append(g.design.Inputs, model.Input{
			Name:     name,
			Pin:      19 - i,
			Pull:     rapid.SampledFrom([]model.Pull{model.PullUp, model.PullNone}).Draw(g.T, "pull"),
			Debounce: g.ms(0, 50, "debounce"),
			Note:     g.note(),
		})
	}
}

func (g *drawer) events() {
	for _, name := range g.names(g.size.Events.draw(g.T, "events"), "event") {
		// Alone it may be a trigger's word.
		g.design.Events = append(g.design.Events, model.Event{Name: "my-" + name, Note: g.note()})
	}
}

func (g *drawer) tracks() {
	var players []*model.Output
	for i := range g.design.Outputs {
		if o := &g.design.Outputs[i]; o.Kind.PlaysTracks() {
			players = append(players, o)
		}
	}
	if len(players) == 0 {
		return
	}
	for _, name := range g.names(g.size.Tracks.draw(g.T, "tracks"), "track") {
		o := rapid.SampledFrom(players).Draw(g.T, "player")
		tr := model.Track{
			Name:     name,
			File:     g.line("file"),
			Length:   g.ms(1, 9_000, "length"),
			Play:     model.Play{Output: o.Name},
			Latency:  g.ms(0, 300, "latency"),
			Loudness: rapid.StringOfN(rapid.RuneFrom([]rune("0123456789abcdef")), 1, 60, -1).Draw(g.T, "loudness"),
			Note:     g.note(),
		}
		switch {
		case o.Kind.HasMessages():
			tr.Play.Value = rapid.SampledFrom(o.Messages).Draw(g.T, "message").Name
		case o.Kind == model.KindSound:
			tr.Play.Track = rapid.SampledFrom(model.Plays(o)).Draw(g.T, "number").Track
		}
		if rapid.Bool().Draw(g.T, "can be stopped") {
			o := rapid.SampledFrom(players).Draw(g.T, "silencer")
			tr.Stop.Output = o.Name
			switch {
			case o.Kind.HasMessages():
				tr.Stop.Value = rapid.SampledFrom(o.Messages).Draw(g.T, "stop").Name
				if tr.Stop.Output == tr.Play.Output && rapid.Bool().Draw(g.T, "bare") {
					tr.Stop.Output = ""
				}
			case o.Kind == model.KindSound:
				tr.Stop.Track = rapid.SampledFrom(model.Plays(o)).Draw(g.T, "silence").Track
			case o.Kind == model.KindSwitch:
				tr.Stop.Value = rapid.SampledFrom([]string{"", "on", "off"}).Draw(g.T, "stop")
			}
		}
		g.design.Tracks = append(g.design.Tracks, tr)
	}
}

func (g *drawer) requires() {
	for range g.size.Requires.draw(g.T, "requires") {
		s := rapid.SampledFrom(g.design.States).Draw(g.T, "required state")
		g.design.Requires = append(g.design.Requires, model.Require{That: "reachable " + s.Name, Note: g.note()})
	}
}
