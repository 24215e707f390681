package motion_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/motion"
	"propwright/model/random"
)

// From when a Rest says that a dormant state is still, nothing that a Stage plays
// changes any more, whatever was played before.
func TestRestIsStill(t *testing.T) {
	stilled := 0
	rapid.Check(t, func(t *rapid.T) {
		d := random.Design(t)
		rest := motion.NewRest(d)
		before := rapid.SampledFrom(d.States).Draw(t, "before")
		state := rapid.SampledFrom(d.States).Draw(t, "state")
		settling := rest.In(&state)
		if state.Kind != model.Dormant || len(settling.Restless) > 0 || state.Plays != "" {
			return
		}
		stilled++
		draw := func(lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, "drawn") }
		s := motion.New(d, draw)
		require.NoError(t, s.Enter(before.Name, 0))
		at := time.Duration(rapid.IntRange(1, 4000).Draw(t, "left")) * time.Millisecond
		require.NoError(t, s.Enter(state.Name, at))
		still := at + settling.Still
		for later := time.Duration(0); later <= 3*time.Second; later += 70 * time.Millisecond {
			for i := range d.Outputs {
				o := &d.Outputs[i]
				switch motion.FormOf(o) {
				case motion.OnScale:
					require.Equal(t, s.Value(o.Name, still), s.Value(o.Name, still+later), "%s\n%s", o.Name, d.Format())
				case motion.InLights:
					for n := range o.Count {
						require.Equal(t, s.Pixel(o.Name, n, still), s.Pixel(o.Name, n, still+later), "%s\n%s", o.Name, d.Format())
					}
				case motion.OnOff:
					require.Equal(t, s.Active(o.Name, still), s.Active(o.Name, still+later), "%s\n%s", o.Name, d.Format())
				}
			}
		}
	})
	assert.NotZero(t, stilled)
}

// What a strip showed before goes out where a dormant state's pose names other lights of it,
// and is kept elsewhere.
func TestLightsLeftOutOfAPose(t *testing.T) {
	light := func(e model.Effect, last int) []model.Pose {
		return []model.Pose{{Output: "eyes", Action: model.Action{Effect: e, Colour: model.Colour{B: 200}, Last: last, Period: time.Second}}}
	}
	for kind, out := range map[model.StateKind]bool{model.Dormant: true, model.Ambient: false} {
		d := &model.Design{
			Outputs: []model.Output{{Name: "eyes", Kind: model.KindPixels, Count: 8, Brightness: 100}},
			States: []model.State{
				{Name: "watch", Kind: model.Ambient, Pose: light(model.EffectBreathe, -1)},
				{Name: "next", Kind: kind, Pose: light(model.EffectSolid, 3)},
			},
		}
		s := motion.New(d, nil)
		require.NoError(t, s.Enter("watch", 0))
		require.NoError(t, s.Enter("next", time.Second))
		assert.Equal(t, 200.0, s.Pixel("eyes", 3, 1500*time.Millisecond)[2].Lo, kind)
		assert.Equal(t, out, s.Pixel("eyes", 4, 1500*time.Millisecond) == motion.Light{}, kind)
	}
}

// A light that goes on changing beside a steady one is found, one that a steady light
// covers is not.
func TestRestlessLights(t *testing.T) {
	light := func(e model.Effect, first, last int) model.Cue {
		return model.Cue{Output: "eyes", Action: model.Action{Effect: e, First: first, Last: last, Period: time.Second}}
	}
	for _, c := range []struct {
		cues []model.Cue
		want int
	}{
		{[]model.Cue{light(model.EffectBreathe, 0, -1)}, 1},
		{[]model.Cue{light(model.EffectBreathe, 0, 3), light(model.EffectSolid, 4, -1)}, 1},
		{[]model.Cue{light(model.EffectBreathe, 0, 3), light(model.EffectSolid, 0, -1)}, 0},
		{[]model.Cue{light(model.EffectBreathe, 0, -1), light(model.EffectSolid, 0, 7)}, 0},
		{[]model.Cue{light(model.EffectChase, 0, 3), light(model.EffectFlicker, 4, 7)}, 2},
	} {
		d := &model.Design{
			Outputs:  []model.Output{{Name: "eyes", Kind: model.KindPixels, Count: 8, Brightness: 100}},
			Routines: []model.Routine{{Name: "glow", Cues: c.cues, Length: time.Second}},
			States:   []model.State{{Name: "roost", Kind: model.Dormant, Plays: "glow"}},
		}
		assert.Len(t, motion.NewRest(d).In(&d.States[0]).Restless, c.want, "%v", c.cues)
	}
}
