package random

import (
	"propwright/model"

	"pgregory.net/rapid"
)

// A drawing is how outputs of one kind are drawn.
type drawing struct {
	output func(g *drawer, o *model.Output)
	action func(g *drawer, o *model.Output) model.Action
	bare   func(g *drawer, o *model.Output, a *model.Action) // nil: it holds nothing in a pose
	drift  func(g *drawer, o *model.Output, what string) float64
	order  func(g *drawer, o *model.Output, a *model.Action) // from action's; nil: the same
}

var drawings = map[model.OutputKind]drawing{
	model.KindServo: {
		output: func(g *drawer, o *model.Output) {
			o.Min = model.Degrees(rapid.IntRange(-180, 0).Draw(g.T, "min half degrees")) / 2
			o.Max = model.Degrees(rapid.IntRange(1, 180).Draw(g.T, "max half degrees")) / 2
			o.Rest = g.within(o, "rest")
			o.UsAtMin = rapid.IntRange(500, 1400).Draw(g.T, "us_at_min")
			o.UsAtMax = rapid.IntRange(1600, 2500).Draw(g.T, "us_at_max")
			if g.flip("mirrored") {
				o.UsAtMin, o.UsAtMax = o.UsAtMax, o.UsAtMin
			}
			o.MaxSpeed = model.DegPerS(limit(400).Draw(g.T, "max_speed"))
			o.MaxAccel = model.DegPerS2(limit(4000).Draw(g.T, "max_accel"))
			o.StallMA = rapid.IntRange(0, 1500).Draw(g.T, "stall_ma")
		},
		action: func(g *drawer, o *model.Output) model.Action {
			return model.Action{
				To:   g.within(o, "to"),
				Over: g.ms(0, 2000, "over"),
				Ease: rapid.SampledFrom(model.Eases).Draw(g.T, "ease"),
			}
		},
		bare:  func(g *drawer, o *model.Output, a *model.Action) { a.To = g.within(o, "pose") },
		drift: func(g *drawer, o *model.Output, what string) float64 { return float64(g.within(o, what)) },
		order: func(g *drawer, o *model.Output, a *model.Action) {
			if g.flip("by") {
				a.To, a.By = 0, model.Degrees(rapid.SampledFrom([]int{-200, -11, -1, 1, 7, 30}).Draw(g.T, "by half degrees"))/2
			}
		},
	},
	model.KindSpinner: {
		output: func(g *drawer, o *model.Output) {
			o.StopUs = rapid.IntRange(1400, 1600).Draw(g.T, "stop_us")
			o.FullUs = rapid.SampledFrom([]int{1000, 2000}).Draw(g.T, "full_us")
			o.RevPerS = model.RevPerS(rapid.IntRange(1, 8).Draw(g.T, "quarter turns")) / 4
			o.WiresPass = g.flip("wires pass")
			o.MaxTurns = float64(rapid.IntRange(0, 12).Draw(g.T, "max half turns")) / 2
			o.StallMA = rapid.IntRange(0, 1500).Draw(g.T, "stall_ma")
		},
		action: func(g *drawer, o *model.Output) model.Action {
			return model.Action{Speed: g.speed(o, "speed"), Over: g.ms(0, 2000, "over")}
		},
		bare:  func(g *drawer, o *model.Output, a *model.Action) { a.Speed = g.speed(o, "pose") },
		drift: func(g *drawer, o *model.Output, what string) float64 { return float64(g.speed(o, what)) },
	},
	model.KindPixels: {
		output: func(g *drawer, o *model.Output) {
			o.Count = rapid.IntRange(1, 30).Draw(g.T, "count")
			o.Order = rapid.SampledFrom([]string{"rgb", "rbg", "grb", "gbr", "brg", "bgr"}).Draw(g.T, "order")
			o.MaxMA = rapid.IntRange(0, 2000).Draw(g.T, "max_ma")
			o.Brightness = model.Percent(rapid.IntRange(0, 100).Draw(g.T, "brightness"))
		},
		action: func(g *drawer, o *model.Output) (a model.Action) {
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
			return a
		},
		bare: func(g *drawer, _ *model.Output, a *model.Action) { a.Colour = g.colour("pose") },
		order: func(g *drawer, _ *model.Output, a *model.Action) {
			a.Toggle = g.flip("toggle")
			a.Colour.R, a.Colour2.R = a.Colour.R|1, a.Colour2.R|1
		},
	},
	model.KindPulse: {
		output: func(g *drawer, o *model.Output) {
			o.Active = g.level()
			o.Hold = g.ms(1, 500, "hold")
		},
		action: func(*drawer, *model.Output) model.Action { return model.Action{Fire: true} },
	},
	model.KindMessage: {
		output: func(g *drawer, o *model.Output) {
			o.Pin = txd
			o.Baud = rapid.SampledFrom([]int{9600, 19200, 115200}).Draw(g.T, "baud")
			for _, m := range g.names(rapid.IntRange(1, 3).Draw(g.T, "messages"), "message") {
				o.Messages = append(o.Messages, model.Message{
					Name:  m,
					Bytes: rapid.SliceOfN(rapid.Byte(), 1, 10).Draw(g.T, "bytes"),
					Note:  g.note(),
				})
			}
		},
		action: func(g *drawer, o *model.Output) model.Action {
			return model.Action{Send: rapid.SampledFrom(o.Messages).Draw(g.T, "send").Name}
		},
	},
	model.KindSound: {
		order: func(g *drawer, _ *model.Output, a *model.Action) {
			if g.flip("louder or softer") {
				*a = model.Action{Louder: rapid.SampledFrom([]int{-3, -1, 1, 2}).Draw(g.T, "louder")}
			}
		},
		output: func(g *drawer, o *model.Output) {
			o.Chip = rapid.SampledFrom(model.SoundChips).Draw(g.T, "chip")
			switch o.Chip {
			case model.Triggers:
				o.Pins, o.Pin = []int{o.Pin}, 0
				o.Hold = g.ms(1, 500, "hold")
			case model.YX5200:
				o.Volume = rapid.IntRange(0, 30).Draw(g.T, "volume")
				fallthrough
			default:
				if _, taken := g.design.Find(model.SortInput, o.Name); !taken && g.flip("busy") {
					o.BusyPin = o.Pin
				}
				o.Pin = txd
			}
		},
		action: func(g *drawer, o *model.Output) model.Action {
			if o.Chip == model.YX5200 && g.flip("volume") {
				return model.Action{Volume: rapid.IntRange(1, 30).Draw(g.T, "volume")}
			}
			return model.Action{Stop: true}
		},
	},
	model.KindSwitch: {
		order: func(g *drawer, _ *model.Output, a *model.Action) {
			if g.flip("toggle") {
				*a = model.Action{Toggle: true}
			}
		},
		output: func(g *drawer, o *model.Output) { o.Active = g.level() },
		action: func(g *drawer, _ *model.Output) model.Action { return model.Action{Set: g.flip("set")} },
		bare:   func(g *drawer, _ *model.Output, a *model.Action) { a.Set = g.flip("pose") },
	},
}

func (g *drawer) level() model.Level {
	return rapid.SampledFrom([]model.Level{model.High, model.Low}).Draw(g.T, "level")
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

// limit draws a servo's limit, 0 where there is none. The firmware does not count
// lower ones.
func limit(most int) *rapid.Generator[int] {
	return rapid.OneOf(rapid.Just(0), rapid.IntRange(20, most))
}
