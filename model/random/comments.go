package random

import (
	"strings"

	"propwright/model"

	"pgregory.net/rapid"
)

// comment draws one line as model.Comments holds it: without trailing blanks.
func (g *drawer) comment(what string) string {
	s := rapid.StringOfN(rapid.RuneFrom([]rune("aZ0 \"\\#'=[]ä漢🦩")), 0, 8, -1).Draw(g.T, what)
	return strings.TrimRight(s, " ")
}

// at leaves comments at an element and at the keys it is sure to have.
func (g *drawer) at(s *model.Source, keys ...string) {
	switch rapid.IntRange(0, 6).Draw(g.T, "comment where") {
	case 0:
		s.Above = []string{g.comment("above"), g.comment("above")}
	case 1:
		s.Beside = g.comment("beside")
	case 2:
		key := rapid.SampledFrom(keys).Draw(g.T, "key")
		s.Keys = map[string]model.Key{key: {Comments: model.Comments{
			Above:  []string{g.comment("above")},
			Beside: g.comment("beside"),
		}}}
	}
}

func (g *drawer) comments() {
	d := g.design
	if g.flip("head") {
		d.Head = []string{g.comment("head"), g.comment("head")}
	}
	if g.flip("tail") {
		d.Tail = []string{g.comment("tail"), g.comment("tail")}
	}
	g.at(&d.Prop.Source, "name", "board", "rest_within")
	g.at(&d.Remote.Source, "pin", "stop")
	for i := range d.Remote.Buttons {
		g.at(&d.Remote.Buttons[i].Source, "name", "code")
	}
	for i := range d.Inputs {
		g.at(&d.Inputs[i].Source, "name", "pin", "pull")
	}
	for i := range d.Events {
		g.at(&d.Events[i].Source, "name")
	}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		switch {
		case o.Bus != 0:
			g.at(&o.Source, "name", "kind", "bus", "channel")
		case len(o.Pins) > 0:
			g.at(&o.Source, "name", "kind", "pins")
		default:
			g.at(&o.Source, "name", "kind", "pin")
		}
		for j := range o.Messages {
			g.at(&o.Messages[j].Source, "name", "bytes")
		}
	}
	for i := range d.Tracks {
		g.at(&d.Tracks[i].Source, "name", "play", "latency")
	}
	for i := range d.Routines {
		r := &d.Routines[i]
		g.at(&r.Source, "name", "loop")
		for j := range r.Cues {
			g.at(&r.Cues[j].Source, "at", "note")
		}
	}
	for i := range d.States {
		g.at(&d.States[i].Source, "name", "kind", "over", "label")
	}
	for i := range d.Transitions {
		g.at(&d.Transitions[i].Source, "from", "on", "note")
	}
	for i := range d.Requires {
		g.at(&d.Requires[i].Source, "that", "note")
	}
}
