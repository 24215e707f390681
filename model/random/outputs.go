package random

import (
	"propwright/model"

	"pgregory.net/rapid"
)

// pins of the ATmega328P that an output may take; 0 and 1 are the UART's, 2
// is the receiver's, 18 and 19 are for inputs.
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
		if o.Kind == model.KindMessage && uart { // the chip has one
			o.Kind = model.KindSwitch
		}
		switch o.Kind {
		case model.KindServo:
			g.servo(&o)
		case model.KindSpinner:
			o.StopUs = rapid.IntRange(1400, 1600).Draw(g.T, "stop_us")
			o.FullUs = rapid.SampledFrom([]int{1000, 2000}).Draw(g.T, "full_us")
			o.RevPerS = model.RevPerS(rapid.IntRange(1, 8).Draw(g.T, "quarter turns")) / 4
			o.WiresPass = g.flip("wires pass")
			o.MaxTurns = float64(rapid.IntRange(0, 12).Draw(g.T, "max half turns")) / 2
			o.StallMA = rapid.IntRange(0, 1500).Draw(g.T, "stall_ma")
		case model.KindPixels:
			o.Count = rapid.IntRange(1, 30).Draw(g.T, "count")
			o.Order = rapid.SampledFrom([]string{"rgb", "rbg", "grb", "gbr", "brg", "bgr"}).Draw(g.T, "order")
			o.MaxMA = rapid.IntRange(0, 2000).Draw(g.T, "max_ma")
			o.Brightness = model.Percent(rapid.IntRange(0, 100).Draw(g.T, "brightness"))
		case model.KindPulse:
			o.Active = g.level()
			o.Hold = g.ms(1, 500, "hold")
		case model.KindMessage:
			uart = true
			o.Pin = 1
			o.Baud = rapid.SampledFrom([]int{9600, 19200, 115200}).Draw(g.T, "baud")
			for _, m := range g.names(rapid.IntRange(1, 3).Draw(g.T, "messages"), "message") {
				o.Messages = append(o.Messages, model.Message{
					Name:  m,
					Bytes: rapid.SliceOfN(rapid.Byte(), 1, 10).Draw(g.T, "bytes"),
					Note:  g.note(),
				})
			}
		case model.KindSwitch:
			o.Active = g.level()
		}
		g.design.Outputs = append(g.design.Outputs, o)
	}
}

func (g *drawer) level() model.Level {
	return rapid.SampledFrom([]model.Level{model.High, model.Low}).Draw(g.T, "level")
}

func (g *drawer) servo(o *model.Output) {
	o.Min = model.Degrees(rapid.IntRange(-180, 0).Draw(g.T, "min half degrees")) / 2
	o.Max = model.Degrees(rapid.IntRange(1, 180).Draw(g.T, "max half degrees")) / 2
	o.Rest = g.within(o, "rest")
	o.UsAtMin = rapid.IntRange(500, 1400).Draw(g.T, "us_at_min")
	o.UsAtMax = rapid.IntRange(1600, 2500).Draw(g.T, "us_at_max")
	if g.flip("mirrored") {
		o.UsAtMin, o.UsAtMax = o.UsAtMax, o.UsAtMin
	}
	o.MaxSpeed = model.DegPerS(rapid.IntRange(0, 400).Draw(g.T, "max_speed"))
	o.MaxAccel = model.DegPerS2(rapid.IntRange(0, 4000).Draw(g.T, "max_accel"))
	o.StallMA = rapid.IntRange(0, 1500).Draw(g.T, "stall_ma")
}

// within draws an angle that the servo's linkage can take.
func (g *drawer) within(o *model.Output, what string) model.Degrees {
	return model.Degrees(rapid.IntRange(int(2*o.Min), int(2*o.Max)).Draw(g.T, what)) / 2
}

// speed draws a speed that the spinner can turn at.
func (g *drawer) speed(o *model.Output, what string) model.RevPerS {
	most := int(8 * o.RevPerS)
	return model.RevPerS(rapid.IntRange(-most, most).Draw(g.T, what)) / 8
}

func (g *drawer) colour(what string) model.Colour {
	return model.Colour{
		R: rapid.Byte().Draw(g.T, what+" red"),
		G: rapid.Byte().Draw(g.T, what+" green"),
		B: rapid.Byte().Draw(g.T, what+" blue"),
	}
}

// action draws what a cue, or a pose as a table, may ask of o.
func (g *drawer) action(o *model.Output) (a model.Action) {
	switch o.Kind {
	case model.KindServo:
		a.To = g.within(o, "to")
		a.Over = g.ms(0, 2000, "over")
		a.Ease = rapid.SampledFrom(model.Eases).Draw(g.T, "ease")
	case model.KindSpinner:
		a.Speed = g.speed(o, "speed")
		a.Over = g.ms(0, 2000, "over")
	case model.KindPixels:
		a.Effect = rapid.SampledFrom(model.Effects).Draw(g.T, "effect")
		a.Colour = g.colour("colour")
		a.Colour2 = g.colour("colour2")
		switch a.Effect {
		case model.EffectSolid, model.EffectFade:
			a.Over = g.ms(0, 2000, "over")
		default:
			a.Period = g.ms(1, 5000, "period")
		}
		a.First = rapid.IntRange(0, o.Count-1).Draw(g.T, "first")
		a.Last = -1
		if g.flip("last is said") {
			a.Last = rapid.IntRange(a.First, o.Count-1).Draw(g.T, "last")
		}
	case model.KindPulse:
		a.Fire = true
	case model.KindMessage:
		a.Send = rapid.SampledFrom(o.Messages).Draw(g.T, "send").Name
	case model.KindSwitch:
		a.Set = g.flip("set")
	}
	return a
}

// bare draws what a pose's bare value asks of o, as Read gives it.
func (g *drawer) bare(o *model.Output) (a model.Action) {
	switch o.Kind {
	case model.KindServo:
		a.To = g.within(o, "pose")
		a.Ease = model.EaseSmooth
	case model.KindSpinner:
		a.Speed = g.speed(o, "pose")
	case model.KindPixels:
		a.Effect = model.EffectSolid
		a.Colour = g.colour("pose")
		a.Last = -1
	case model.KindSwitch:
		a.Set = g.flip("pose")
	}
	return a
}
