package model

import (
	"cmp"
	"fmt"
	"time"
)

// KindPixels is a strip of WS2812-class addressable LEDs.
const KindPixels OutputKind = "pixels"

var pixels = outputKind{
	kind:    KindPixels,
	noun:    "pixels",
	purpose: "a strip of lights",
	called:  "eyes",
	gist:    func(o *Output) string { return fmt.Sprintf("×%d", o.Count) },
	fields: func(o *Output) []field {
		return []field{
			need("count", wholeNumber(&o.Count, 0, 1, mostPixels, ""), "24", "how many lights the strip has"),
			may("order", oneOf(&o.Order, PixelOrders[0], PixelOrders, "order of colours").anyCase(), `"rgb"`, "the order of the colours on the wire"),
			milliampere("max_ma", &o.MaxMA, "500", "the most current for the whole strip"),
			may("brightness", measure(&o.Brightness, 100, 0, 100), `"60%"`, "how bright the strip may be, as 60%"),
		}
	},
	first: func(o *Output) { o.Count = 8 },

	action: func(a *Action, o *Output) []field {
		return []field{
			may("effect", oneOf(&a.Effect, EffectSolid, Effects, "effect"), `"breathe"`, "solid, fade (colour to colour2), breathe, chase, flicker"),
			need("colour", colour(&a.Colour), `"#2040ff"`, "as #2040ff or orange"),
			may("colour2", colour(&a.Colour2), `"#000020"`, "the other colour; black unless it is said"),
			may("period", duration(&a.Period, 0, time.Millisecond), `"4s"`, "how long one breath, round or flicker takes"),
			over(a),
			may("first", wholeNumber(&a.First, 0, 0, lastPixel(o), ""), "0", "the first light, counted from 0"),
			may("last", wholeNumber(&a.Last, -1, -1, lastPixel(o), ""), "7", "the last light; -1 is the strip's end"),
		}
	},
	follow: func(c *Cue, o *Output) []field {
		return []field{
			need("colour", colour(&c.Colour), `"#ff8000"`, "the colour at the loudest, as #ff8000 or orange"),
			may("colour2", colour(&c.Colour2), `"#200000"`, "the colour in silence; black unless it is said"),
			may("first", wholeNumber(&c.First, 0, 0, lastPixel(o), ""), "0", "the first light, counted from 0"),
			may("last", wholeNumber(&c.Last, -1, -1, lastPixel(o), ""), "7", "the last light; -1 is the strip's end"),
		}
	},
	firstAction: func(a *Action, o *Output) { a.Colour = Colour{0xff, 0xff, 0xff} },
	checkAction: checkLight,
	order:       func(a *Action, o *Output) ([]field, string) { return []field{toggle(a)}, "" },
	firstOrder:  func(a *Action) { a.Toggle = true },
	checkOrder: func(r *reader, s *Source, a *Action, o *Output, have got) {
		checkLight(r, s, a, o, have)
		checkToggle(r, s, a, have)
		if !s.States("colour") {
			r.fault(s.Pos, fmt.Sprintf("the order to %q has no colour", o.Name), `add for example colour = "#ffffff"`)
		}
		if a.Toggle && a.dark() && have["colour"] {
			r.fault(s.At("colour"), "what is toggled is dark, and would never be on", "choose the colour that it has when it is on")
		}
	},

	idleAction: func(a *Action) {
		a.Effect, a.Colour, a.Period = EffectBreathe, Colour{0x20, 0x40, 0xff}, 2*time.Second
	},
	showAction: func(a *Action, _ *Output) {
		a.Effect, a.Colour, a.Period = EffectBreathe, Colour{0xff, 0xb0, 0x40}, 500*time.Millisecond
	},
	lit: func(a *Action) bool {
		end := a.Colour
		if a.Effect == EffectFade || a.Effect.Cycles() && end == (Colour{}) {
			end = a.Colour2
		}
		return end != Colour{}
	},
	says: func(a *Action) string {
		light := fmt.Sprint(cmp.Or(a.Effect, EffectSolid), " ", a.Colour)
		if a.Toggle {
			return light + " or off"
		}
		return light
	},
	pose: "colour",
}

// checkLight checks that what is shown is whole.
func checkLight(r *reader, s *Source, a *Action, _ *Output, have got) {
	cycles := a.Effect.Cycles()
	if cycles && !s.States("period") {
		r.fault(s.At("effect"), fmt.Sprintf("effect %q has no period", a.Effect), `add for example period = "4s"`)
	}
	if a.Last >= 0 && a.First > a.Last && (have["first"] || have["last"]) {
		r.fault(s.At("first"), fmt.Sprintf("first %d comes after last %d", a.First, a.Last), "first is the smaller one; pixels count from 0")
	}
}

// dark reports whether a toggle takes a light to be off.
func (a *Action) dark() bool {
	if a.Effect == EffectFade {
		return a.Colour2 == Colour{}
	}
	return a.Colour == Colour{}
}

func lastPixel(o *Output) int64 {
	if o == nil || o.Count <= 0 {
		return mostPixels - 1
	}
	return int64(o.Count - 1)
}

// Stretch is the first and the last pixel that an action is for; of an output that is not
// a strip both are the same for all actions.
func (o *Output) Stretch(a Action) (first, last int) {
	if a.Last < 0 || a.Last >= o.Count {
		a.Last = max(o.Count-1, 0)
	}
	return a.First, a.Last
}
