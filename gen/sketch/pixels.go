package sketch

import (
	"cmp"
	"fmt"
	"strings"

	"propwright/model"
	"propwright/model/motion"
)

var pixelsKind = outputKind{
	wire: func(b *builder, o *model.Output, p place) {
		b.numberOf[o.Name] = len(b.Strips)
		b.Strips = append(b.Strips, strip{o.Name, p, b.PixelBytes, o.Count, primaries(o)})
		b.PixelBytes += 3 * o.Count
		b.timed(p, o)
	},
	cue: func(b *builder, o *model.Output, a model.Action, c *cue) bool {
		c.What = "PW_CUE_LIGHT"
		if a.Toggle {
			c.What, b.TogglesLight = "PW_CUE_TOGGLE_LIGHT", true
		}
		c.Output, c.Value, c.Frames = b.layer(o, a), b.light(o, a), frames(a.Over)
		return true
	},
	takes: func(f *firmware) share {
		n, strips := len(f.Layers), len(f.Strips)
		if n == 0 {
			strips = 0
		}
		s := share{tables: []table{{"pw_lights", 9, len(f.Lights)}, {"pw_layers", 5, n}, {"pw_strips", 4, strips}}}
		if n > 0 {
			s.code = 1171 + bytesIf(f.Stacked, 457) + bytesIf(f.UsesBreathe, 140) + bytesIf(f.UsesChase, 310) +
				bytesIf(f.UsesFlicker, 99) + bytesIf(f.TogglesLight, 208)
			s.variables = []variable{{"layers", f.layerBytes() * n}, {"pixels", f.PixelBytes}, {"work_strip", 1}, {"work_pixel", 2}, {"order", bytesIf(f.Stacked, n)}}
		}
		return s
	},
}

// lights are the strips of a firmware.
type lights struct {
	Strips       []strip
	Layers       []layer
	Lights       []light
	PixelBytes   int
	Stacked      bool // a strip has several layers
	UsesFade     bool
	UsesBreathe  bool
	UsesChase    bool
	UsesFlicker  bool
	TogglesLight bool
}

// layerBytes returns the SRAM of a layer.
func (l *lights) layerBytes() int {
	if l.UsesBreathe || l.UsesChase || l.UsesFlicker {
		return 22
	}
	return 20
}

type strip struct {
	Name      string
	P         place
	FirstByte int
	Count     int
	Primaries string // where red, green and blue are among a pixel's bytes
}

// Upper returns its name as C constants have it.
func (s strip) Upper() string { return upper(s.Name) }

type layer struct {
	Strip, First, Last int
	Remark             string
}

type light struct {
	Effect, Colour, Colour2 string
	Period                  int
	Remark                  string
}

var effectNames = map[model.Effect]string{
	model.EffectSolid: "PW_SOLID", model.EffectFade: "PW_FADE", model.EffectBreathe: "PW_BREATHE",
	model.EffectChase: "PW_CHASE", model.EffectFlicker: "PW_FLICKER",
}

// stacked reports whether layers of light can lie on each other or out of the
// strips' order; else strip n's layer is layer n.
func (b *builder) stacked() bool {
	for i, l := range b.Layers {
		if l.Strip != i {
			return true
		}
	}
	return len(b.Layers) != len(b.Strips)
}

// layer finds or adds the stretch of a strip that an action names.
func (b *builder) layer(o *model.Output, a model.Action) int {
	l := layer{Strip: b.numberOf[o.Name]}
	l.First, l.Last = o.Stretch(a)
	l.Remark = fmt.Sprintf("%s %d..%d", o.Name, l.First, l.Last)
	n, ok := b.layerOf[l]
	if !ok {
		n = len(b.Layers)
		b.layerOf[l] = n
		b.Layers = append(b.Layers, l)
	}
	return n
}

// light finds or adds the light that an action shows.
func (b *builder) light(o *model.Output, a model.Action) int {
	e := cmp.Or(a.Effect, model.EffectSolid)
	switch e {
	case model.EffectFade:
		b.UsesFade = true
	case model.EffectBreathe:
		b.UsesBreathe = true
	case model.EffectChase:
		b.UsesChase = true
	case model.EffectFlicker:
		b.UsesFlicker = true
	}
	return b.lit(o, a, effectNames[e], string(e))
}

// voiceLight finds or adds the light of an action that follows a voice.
func (b *builder) voiceLight(o *model.Output, a model.Action) int {
	return b.lit(o, a, "PW_VOICE", "voice")
}

func (b *builder) lit(o *model.Output, a model.Action, effect, called string) int {
	l := light{
		Effect: effect, Colour: wire(o, a.Colour), Colour2: wire(o, a.Colour2),
		Period: max(frames(a.Period), 1), Remark: fmt.Sprint(called, " ", a.Colour),
	}
	n, ok := b.lightOf[l]
	if !ok {
		n = len(b.Lights)
		b.lightOf[l] = n
		b.Lights = append(b.Lights, l)
	}
	return n
}

func primaries(o *model.Output) string {
	order := cmp.Or(o.Order, "grb")
	return fmt.Sprintf("{%d, %d, %d}", strings.Index(order, "r"), strings.Index(order, "g"), strings.Index(order, "b"))
}

func wire(o *model.Output, c model.Colour) string {
	w := motion.Wire(o, c)
	return fmt.Sprintf("{%d, %d, %d}", w[0], w[1], w[2])
}
