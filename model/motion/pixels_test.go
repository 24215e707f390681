package motion

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"propwright/model"
)

func TestEffects(t *testing.T) {
	red := model.Colour{R: 200}
	low := model.Colour{R: 40}
	all := func(a model.Action) model.Action { a.Last = -1; return a }
	for _, c := range []struct {
		name  string
		cue   model.Action
		pixel int
		at    time.Duration
		want  Range // red
	}{
		{"solid at once", all(model.Action{Colour: red}), 0, 0, exactly(200)},
		{"solid half up", all(model.Action{Colour: red, Over: 400 * ms}), 0, 200 * ms, exactly(100)},
		{"solid up", all(model.Action{Effect: model.EffectSolid, Colour: red, Over: 400 * ms}), 7, 400 * ms, exactly(200)},
		{"fade begins at colour", all(model.Action{Effect: model.EffectFade, Colour: red, Colour2: low, Over: 400 * ms}), 0, 0, exactly(200)},
		{"fade on the way", all(model.Action{Effect: model.EffectFade, Colour: red, Colour2: low, Over: 400 * ms}), 0, 100 * ms, exactly(160)},
		{"fade stays", all(model.Action{Effect: model.EffectFade, Colour: red, Colour2: low, Over: 400 * ms}), 0, time.Hour, exactly(40)},
		{"fade at once", all(model.Action{Effect: model.EffectFade, Colour: red, Colour2: low}), 0, 0, exactly(40)},
		{"breathe begins at colour2", all(model.Action{Effect: model.EffectBreathe, Colour: red, Colour2: low, Period: 800 * ms}), 0, 0, exactly(40)},
		{"breathe, t = 0.25", all(model.Action{Effect: model.EffectBreathe, Colour: red, Colour2: low, Period: 800 * ms}), 0, 100 * ms, exactly(40 + 160*0.15625)},
		{"breathe's top", all(model.Action{Effect: model.EffectBreathe, Colour: red, Colour2: low, Period: 800 * ms}), 0, 400 * ms, exactly(200)},
		{"breathe, t = 0.5 going down", all(model.Action{Effect: model.EffectBreathe, Colour: red, Colour2: low, Period: 800 * ms}), 0, 600 * ms, exactly(120)},
		{"breathe, third period", all(model.Action{Effect: model.EffectBreathe, Colour: red, Colour2: low, Period: 800 * ms}), 0, 2000 * ms, exactly(200)},
		{"breathe half up", all(model.Action{Effect: model.EffectBreathe, Colour: red, Period: 800 * ms, Over: 800 * ms}), 0, 400 * ms, exactly(100)},
		// Eight pixels in 800 ms: at 500 ms the head is at 5.
		{"chase's head", all(model.Action{Effect: model.EffectChase, Colour: red, Colour2: low, Period: 800 * ms}), 5, 500 * ms, exactly(200)},
		{"chase, one behind", all(model.Action{Effect: model.EffectChase, Colour: red, Colour2: low, Period: 800 * ms}), 4, 500 * ms, exactly(160)},
		{"chase, four behind", all(model.Action{Effect: model.EffectChase, Colour: red, Colour2: low, Period: 800 * ms}), 1, 500 * ms, exactly(40)},
		{"chase, ahead", all(model.Action{Effect: model.EffectChase, Colour: red, Colour2: low, Period: 800 * ms}), 6, 500 * ms, exactly(40)},
		{"chase, round the end", all(model.Action{Effect: model.EffectChase, Colour: red, Colour2: low, Period: 800 * ms}), 7, 860 * ms, exactly(40 + 160*0.6)},
		{"chase in a stretch", model.Action{Effect: model.EffectChase, Colour: red, Colour2: low, Period: 400 * ms, First: 4, Last: 7}, 5, 100 * ms, exactly(200)},
		{"flicker", all(model.Action{Effect: model.EffectFlicker, Colour: low, Colour2: red, Period: 100 * ms}), 0, 300 * ms, Range{40, 200}},
		{"flicker half up", all(model.Action{Effect: model.EffectFlicker, Colour: low, Colour2: red, Period: 100 * ms, Over: 400 * ms}), 0, 200 * ms, Range{20, 100}},
		{"beside the stretch", model.Action{Colour: red, First: 4, Last: 7}, 3, 0, Range{}},
		{"a stretch beyond the strip", model.Action{Colour: red, First: 6, Last: 99}, 7, 0, exactly(200)},
		{"a stretch of nothing", model.Action{Colour: red, First: 9, Last: -1}, 7, 0, Range{}},
		{"between two frames", all(model.Action{Colour: red, Over: 400 * ms}), 0, 219 * ms, exactly(100)},
		// A period of one frame shows only how it begins.
		{"no period", all(model.Action{Effect: model.EffectBreathe, Colour: red, Colour2: low}), 0, 10 * ms, exactly(40)},
		{"a period of three frames", all(model.Action{Effect: model.EffectBreathe, Colour: red, Period: 41 * ms}), 0, 90 * ms, exactly(200 * 20. / 27)},
	} {
		s := play(t, false, cue(0, "eyes", c.cue))
		got := s.Pixel("eyes", c.pixel, time.Second+c.at)
		assert.InDelta(t, c.want.Lo, got[0].Lo, 2, c.name) // shares are in 256ths
		assert.InDelta(t, c.want.Hi, got[0].Hi, 2, c.name)
		assert.Zero(t, got[1], c.name)
	}
}

func TestLayers(t *testing.T) {
	s := play(t, false,
		cue(0, "eyes", model.Action{Colour: model.Colour{R: 100, G: 40}, Last: -1}),
		cue(100*ms, "eyes", model.Action{Colour: model.Colour{B: 200}, First: 2, Last: 5, Over: 200 * ms}),
		cue(200*ms, "eyes", model.Action{Colour: model.Colour{G: 240}, First: 4, Last: 7, Over: 200 * ms}),
		cue(1000*ms, "eyes", model.Action{Colour: model.Colour{}, Last: -1}),
	)
	at := func(pixel int, at time.Duration) model.Colour {
		l := s.Pixel("eyes", pixel, time.Second+at)
		return model.Colour{R: uint8(l[0].Lo + 0.5), G: uint8(l[1].Lo + 0.5), B: uint8(l[2].Lo + 0.5)}
	}
	assert.Equal(t, model.Colour{R: 100, G: 40}, at(4, 50*ms))
	assert.Equal(t, model.Colour{R: 50, G: 20, B: 100}, at(2, 199*ms), "half of the second")
	assert.Equal(t, model.Colour{R: 45, G: 41, B: 90}, at(7, 200*ms), "a frame from what the third's first pixel showed")
	assert.Equal(t, model.Colour{B: 200}, at(3, 900*ms), "the second is still there where the third is not")
	assert.Equal(t, model.Colour{G: 240}, at(4, 900*ms), "the third is on top")
	assert.Equal(t, model.Colour{R: 100, G: 40}, at(1, 900*ms), "the first is below")
	for pixel := range 8 {
		assert.Equal(t, model.Colour{}, at(pixel, 1000*ms), "all covered")
	}
}

func TestColoursAreScaledBeforeTheyAreMixed(t *testing.T) {
	s := play(t, false, cue(0, "eyes", model.Action{Colour: model.Colour{R: 255}, Last: -1, Over: 400 * ms}))
	s.outputs["eyes"].Brightness = 50
	// 127.5 rounds to 128, half of which is 64.
	assert.Equal(t, exactly(64), s.Pixel("eyes", 0, 1200*ms)[0])
}
