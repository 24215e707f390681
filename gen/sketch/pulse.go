package sketch

import (
	"propwright/model"
	"propwright/model/machine"
)

// pulse is a pulse output or a switch.
type pulse struct {
	Name   string
	P      place
	Active model.Level
	Hold   uint32
}

// Upper returns its name as C constants have it.
func (p pulse) Upper() string { return upper(p.Name) }

var pulseKind = outputKind{
	wire: func(b *builder, o *model.Output, p place) {
		b.numberOf[o.Name] = len(b.Pulses)
		b.Pulses = append(b.Pulses, pulse{o.Name, p, o.Active, machine.Millis(o.Hold)})
		b.output(p, o, o.Active == model.Low)
	},
	cue: func(b *builder, o *model.Output, a model.Action, c *cue) bool {
		c.What, c.Output = "PW_CUE_PULSE", b.numberOf[o.Name]
		return a.Fire
	},
	takes: func(f *firmware) share {
		n := len(f.Pulses)
		return share{bytesIf(n > 0, 149), []variable{{"pulses", 3 * n}}, []table{{"pw_pulse_hold", 2, n}}}
	},
}

// pulses are the pulse outputs of a firmware.
type pulses struct{ Pulses []pulse }
