package sketch

import "propwright/model"

var switchKind = outputKind{
	wire: func(b *builder, o *model.Output, p place) {
		b.numberOf[o.Name] = len(b.Switches)
		b.Switches = append(b.Switches, pulse{o.Name, p, o.Active, 0})
		b.output(p, o, o.Active == model.Low)
	},
	cue: func(b *builder, o *model.Output, a model.Action, c *cue) bool {
		c.What, c.Output = "PW_CUE_SET", b.numberOf[o.Name]
		switch {
		case a.Toggle:
			c.What, b.TogglesSwitch = "PW_CUE_TOGGLE", true
		case a.Set:
			c.Value = 1
		}
		return true
	},
	takes: func(f *firmware) share {
		return share{code: bytesIf(len(f.Switches) > 0, 150) + bytesIf(f.TogglesSwitch, 128)}
	},
}

// switches are those of a firmware.
type switches struct {
	Switches      []pulse
	TogglesSwitch bool
}
