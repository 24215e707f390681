package random

import (
	"propwright/model"

	"pgregory.net/rapid"
)

// pins of the ATmega328P that an output may take; 0 and 1 are the UART's, 2
// is the receiver's, 18 and 19 are for inputs.
const txd = 1

var pins = []int{3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17}

func (g *drawer) outputs() {
	uart := false
	for i, name := range g.names(min(len(pins), g.size.Outputs.draw(g.T, "outputs")), "output") {
		o := model.Output{
			Name: name,
			Kind: rapid.SampledFrom(model.OutputKinds).Draw(g.T, "kind"),
			Pin:  pins[i],
			Note: g.note(),
		}
		if uart && (o.Kind == model.KindMessage || o.Kind == model.KindSound) { // the chip has one
			o.Kind = model.KindSwitch
		}
		drawings[o.Kind].output(g, &o)
		if g.size.Expander && o.Kind.Expands() && o.Active != model.Low && g.flip("on an expander") {
			o.Pin, o.Bus, o.Channel = 0, model.Bus(rapid.IntRange(0x40, 0x41).Draw(g.T, "address")), i
		}
		uart = uart || o.Pin == txd
		g.design.Outputs = append(g.design.Outputs, o)
	}
}

// action draws what a cue, or a pose as a table, may ask of o.
func (g *drawer) action(o *model.Output) model.Action { return drawings[o.Kind].action(g, o) }

// bare draws what a pose's bare value asks of o, as Read gives it.
func (g *drawer) bare(o *model.Output) model.Action {
	a := model.RestAction(o)
	drawings[o.Kind].bare(g, o, &a)
	return a
}
