package motion

import (
	"math"
	"time"

	"propwright/model"
)

// Light is what a pixel shows: red, green and blue, 0..255 each, scaled (see
// Scaled).
type Light [3]Range

// tail is how many pixels behind its head a chase can be seen.
const tail = 4

// A layer is what one pose or cue puts over a stretch of pixels.
type layer struct {
	start           time.Duration
	first, last     int // both included
	effect          model.Effect
	colour, colour2 Light
	period, over    time.Duration // in whole frames
	from            Light         // of the first pixel at the start
	voice           []uint16      // that it follows, frame by frame; nil: none
	waits           time.Duration // until the first of those
}

// strip is all layers of one output in order of their starts.
type strip []layer

// put puts a layer over the pixels at a time.
func (s *strip) put(o *model.Output, a model.Action, at time.Duration) {
	first, last := max(a.First, 0), a.Last
	if last < 0 || last >= o.Count {
		last = o.Count - 1
	}
	if first > last {
		return // nothing to see
	}
	*s = append(*s, layer{
		start: at, first: first, last: last,
		effect: a.Effect, colour: lightOf(o, a.Colour), colour2: lightOf(o, a.Colour2),
		period: max(Frames(a.Period), Frame), over: Frames(a.Over),
		from: s.at(first, at),
	})
}

// lit reports whether a toggle takes the newest light over a pixel to be on.
func (s strip) lit(pixel int) bool {
	for i := len(s) - 1; i >= 0; i-- {
		if l := &s[i]; l.first <= pixel && pixel <= l.last {
			if l.effect == model.EffectFade {
				return l.colour2 != Light{}
			}
			return l.colour != Light{}
		}
	}
	return false
}

// at is what a pixel shows: its topmost layer.
func (s strip) at(pixel int, t time.Duration) Light {
	for i := len(s) - 1; i >= 0; i-- {
		if l := &s[i]; l.start <= t && l.first <= pixel && pixel <= l.last {
			return l.at(pixel-l.first, t-l.start)
		}
	}
	return Light{}
}

// at is what the i-th pixel of the stretch shows τ after the layer was put.
func (l *layer) at(i int, τ time.Duration) Light {
	up := 1.0
	if τ < l.over {
		up = float64(τ) / float64(l.over)
	}
	if l.effect == model.EffectFade {
		return mixLight(l.colour, l.colour2, up)
	}
	return mixLight(l.from, l.shows(i, τ), up)
}

// shows is what the effect itself makes of the i-th pixel.
func (l *layer) shows(i int, τ time.Duration) Light {
	if l.voice != nil {
		return mixLight(l.colour2, l.colour, l.loudness(τ))
	}
	φ := float64(τ%l.period) / float64(l.period)
	switch l.effect {
	case model.EffectBreathe:
		t := 2 * φ
		if φ >= 0.5 {
			t = 2 - 2*φ
		}
		return mixLight(l.colour2, l.colour, t*t*(3-2*t))
	case model.EffectChase:
		n := float64(l.last - l.first + 1)
		behind := math.Mod(φ*n-float64(i)+n, n)
		return mixLight(l.colour2, l.colour, max(0, 1-behind/tail))
	case model.EffectFlicker:
		var any Light
		for c := range any {
			any[c] = l.colour2[c].hull(l.colour[c])
		}
		return any
	default:
		return l.colour
	}
}

func lightOf(o *model.Output, c model.Colour) Light {
	c = Scaled(o, c)
	return Light{exactly(float64(c.R)), exactly(float64(c.G)), exactly(float64(c.B))}
}

func mixLight(a, b Light, k float64) Light {
	for c := range a {
		a[c] = a[c].mix(b[c], k)
	}
	return a
}
