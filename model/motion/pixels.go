package motion

import (
	"math"
	"time"

	"propwright/model"
)

// Light is what a pixel shows: red, green and blue, whole numbers of 0..255 each, scaled
// (see Scaled).
type Light [3]Range

// tail is how many pixels behind its head a chase can be seen.
const tail = 4

// A layer is what one pose or cue puts over a stretch of pixels.
type layer struct {
	moment
	first, last     int // both included
	effect          model.Effect
	colour, colour2 Light
	period, over    int      // in frames
	from            Light    // of the first pixel at the start
	voice           []uint16 // that it follows, frame by frame; nil: none
}

// strip is all layers of one output in order of their starts.
type strip []layer

// put puts a layer over the pixels at a moment.
func (s *strip) put(o *model.Output, a model.Action, m moment) {
	first, last := max(a.First, 0), a.Last
	if last < 0 || last >= o.Count {
		last = o.Count - 1
	}
	if first > last {
		return // nothing to see
	}
	*s = append(*s, layer{
		moment: m, first: first, last: last,
		effect: a.Effect, colour: lightOf(o, a.Colour), colour2: lightOf(o, a.Colour2),
		period: max(int(Frames(a.Period)/Frame), 1), over: int(Frames(a.Over) / Frame),
		from: s.after(first, m.begun()),
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

// at is what a pixel shows at a time.
func (s strip) at(pixel int, t time.Duration) Light {
	for n := len(s); n > 0; n-- {
		if s[n-1].time <= t {
			return s[:n].after(pixel, int(t/Frame)+1)
		}
	}
	return Light{}
}

// after is what a pixel shows, its topmost layer, when so many frames have begun.
func (s strip) after(pixel, frames int) Light {
	for i := len(s) - 1; i >= 0; i-- {
		if l := &s[i]; l.first <= pixel && pixel <= l.last {
			return l.at(pixel-l.first, max(frames-l.begun(), 0))
		}
	}
	return Light{}
}

// whole is the share that is all of it. The firmware mixes colours in 256ths.
const whole = 256

// at is what the i-th pixel of the stretch shows so many frames after the layer was put.
func (l *layer) at(i, age int) Light {
	up := partOf(age, l.over)
	if l.effect == model.EffectFade {
		return l.colour2.mixed(l.colour, whole-up)
	}
	return l.from.mixed(l.shows(i, age), up)
}

// shows is what the effect itself makes of the i-th pixel.
func (l *layer) shows(i, age int) Light {
	level := whole
	switch beat := age % l.period; {
	case l.voice != nil:
		level = l.loudness(age)
	case l.effect == model.EffectBreathe:
		t := 2 * partOf(beat, l.period)
		t = min(t, 2*whole-t)
		level = t * t * (3*whole - 2*t) / (whole * whole)
	case l.effect == model.EffectChase: // in 16ths of a pixel
		const pixel = 16
		n := (l.last - l.first + 1) * pixel
		behind := (beat*n/l.period - i*pixel + n) % n
		level = max(0, whole-behind*whole/(tail*pixel))
	case l.effect == model.EffectFlicker:
		var any Light
		for c := range any {
			any[c] = l.colour2[c].hull(l.colour[c])
		}
		return any
	}
	return l.colour2.mixed(l.colour, level)
}

func lightOf(o *model.Output, c model.Colour) Light {
	c = Scaled(o, c)
	return Light{exactly(float64(c.R)), exactly(float64(c.G)), exactly(float64(c.B))}
}

// partOf is how far a part is in something, as a share.
func partOf(part, of int) int {
	if part >= of {
		return whole
	}
	return part * whole / of
}

// mixed is the share k of the way from a to b, rounded.
func (a Light) mixed(b Light, k int) Light {
	for c := range a {
		a[c] = a[c].mix(b[c], float64(k)/whole)
		a[c] = Range{math.Floor(a[c].Lo + 0.5), math.Floor(a[c].Hi + 0.5)}
	}
	return a
}
