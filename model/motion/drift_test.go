package motion

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
)

// idleProp watches with a drifting beak, and acts.
func idleProp() *model.Design {
	d := prop()
	d.Routines = []model.Routine{{Name: "act", Cues: []model.Cue{cue(0, "beak", model.Action{To: -20, Over: 500 * ms})}}}
	d.States = []model.State{
		{Name: "watch", Kind: model.Ambient, Over: 400 * ms,
			Pose: []model.Pose{{Output: "beak", Action: model.Action{To: 10}}},
			Drift: []model.Drift{{Output: "beak", Between: [2]float64{20, 30},
				Every: model.Span{Lo: 2 * time.Second, Hi: 6 * time.Second},
				Over:  model.Span{Lo: 800 * ms, Hi: 1500 * ms}}}},
		{Name: "still", Kind: model.Ambient},
		{Name: "act", Kind: model.Performing, Plays: "act"},
	}
	return d
}

func TestDriftIsARangeWhereNothingIsDrawn(t *testing.T) {
	s := New(idleProp(), nil)
	require.NoError(t, s.Enter("watch", 0))
	assert.Equal(t, exactly(10), s.Value("beak", 1999*ms), "its pose first")
	assert.Equal(t, Range{10, 30}, s.Value("beak", 2*time.Second), "from its pose to the farther end")
	assert.Equal(t, Range{1500, 1700}, s.Us("beak", 20*time.Second))
	require.NoError(t, s.Enter("still", 21*time.Second))
	assert.Equal(t, Range{10, 30}, s.Value("beak", 22*time.Second), "it keeps a value nobody knows")
	require.NoError(t, s.Enter("act", 23*time.Second))
	assert.Equal(t, Range{-20, 30}, s.Value("beak", 23*time.Second+499*ms), "on the way from there")
	assert.Equal(t, Range{-20, 30}, s.Value("beak", 23*time.Second+500*ms), "it may have had to brake first")
	settled := Settle(s.design.Output("beak"), -20, 500*ms, model.EaseSmooth, Range{-20, 30})
	assert.Equal(t, exactly(-20), s.Value("beak", 23*time.Second+settled), "and known again")
}

func TestDriftGoesOnAfterAnOrder(t *testing.T) {
	s := New(idleProp(), nil)
	require.NoError(t, s.Enter("watch", 0))
	order := []model.Order{{Output: "beak", Action: model.Action{To: -20, Over: 500 * ms}}}
	require.NoError(t, s.Order(order, 500*ms))
	assert.Equal(t, exactly(-20), s.Value("beak", 1999*ms), "it has not drifted yet")
	assert.Equal(t, Range{-20, 30}, s.Value("beak", 2*time.Second))
	require.NoError(t, s.Order(order, 10*time.Second))
	assert.Equal(t, Range{-20, 30}, s.Value("beak", 20*time.Second), "nobody knows whether it has drifted since")
}

func TestDriftMovesAsDrawn(t *testing.T) {
	// Draws in this order: every, then for each move a place, over and every.
	draws := []float64{float64(3 * time.Second), 25, float64(time.Second), float64(2 * time.Second)}
	draw := func(lo, hi float64) float64 {
		d := hi
		if len(draws) > 0 {
			d, draws = draws[0], draws[1:]
		}
		require.True(t, lo <= d && d <= hi)
		return d
	}
	s := New(idleProp(), draw)
	require.NoError(t, s.Enter("watch", 0))
	// A frame's way at the fastest: a move begins with a frame and has gone on by
	// one then.
	const frame = 15.0 / 8 * 15 * 0.02
	assert.InDelta(t, 10, s.Value("beak", 3*time.Second).Lo, 1e-9+frame)
	assert.InDelta(t, 17.5, s.Value("beak", 3500*ms).Lo, frame)
	assert.InDelta(t, 25, s.Value("beak", 5*time.Second).Lo, 1e-9)
	assert.InDelta(t, 27.5, s.Value("beak", 5750*ms).Lo, frame)
	assert.InDelta(t, 30, s.Value("beak", 6500*ms).Lo, 1e-9)
}

// Whatever a design asks for and a drift draws, a servo stays within its
// linkage's travel and its mechanism's speed and acceleration, but for the
// rounding of its pulses to half microseconds, and where it is drawn to is in the
// range that is known without drawing.
func TestServoKeepsTheLimitsOfItsLinkage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(-120, 120)
		d := idleProp()
		o := d.Output("beak")
		o.Min = model.Degrees(rapid.Float64Range(-90, 0).Draw(t, "min"))
		o.Max = model.Degrees(rapid.Float64Range(0, 90).Draw(t, "max"))
		o.Rest = model.Degrees(angle.Draw(t, "rest"))
		o.MaxSpeed = model.DegPerS(rapid.Float64Range(1, 600).Draw(t, "speed"))
		o.MaxAccel = model.DegPerS2(rapid.Float64Range(10, 10_000).Draw(t, "acceleration"))
		tick := float64(o.Max-o.Min) / 2 / math.Abs(float64(o.UsAtMax-o.UsAtMin)) // degrees of half a microsecond
		act := &d.Routines[0]
		act.Cues = nil
		act.Loop = rapid.Bool().Draw(t, "loop")
		for range rapid.IntRange(1, 5).Draw(t, "cues") {
			act.Cues = append(act.Cues, cue(
				time.Duration(rapid.IntRange(0, 2000).Draw(t, "at"))*ms, "beak", model.Action{
					To:   model.Degrees(angle.Draw(t, "to")),
					Over: time.Duration(rapid.IntRange(0, 1000).Draw(t, "over")) * ms,
					Ease: rapid.SampledFrom(model.Eases).Draw(t, "ease"),
				}))
		}
		watch := &d.States[0]
		watch.Drift[0].Between = [2]float64{angle.Draw(t, "lo"), angle.Draw(t, "hi")}
		watch.Drift[0].Every = model.Span{Lo: 100 * ms, Hi: 900 * ms}
		watch.Drift[0].Over = model.Span{Lo: 0, Hi: 500 * ms}

		drawn := New(d, func(lo, hi float64) float64 {
			return rapid.Float64Range(min(lo, hi), max(lo, hi)).Draw(t, "draw")
		})
		known := New(d, nil)
		at := time.Duration(0)
		for range rapid.IntRange(1, 4).Draw(t, "states") {
			state := rapid.SampledFrom([]string{"watch", "act", "still"}).Draw(t, "state")
			require.NoError(t, drawn.Enter(state, at))
			require.NoError(t, known.Enter(state, at))
			at += time.Duration(rapid.IntRange(1, 3000).Draw(t, "stay")) * ms
		}
		// A generator counts speeds in 1/32 of half a microsecond a frame, and
		// goes by one such unit where a limit is below it.
		unit := tick / speedUnit
		place, way := float64(min(max(o.Rest, o.Min), o.Max)), 0.0
		for now := time.Duration(0); now < at; now += Frame {
			v := drawn.Value("beak", now)
			if !v.Exact() || v.Lo < float64(o.Min)-1e-9 || v.Lo > float64(o.Max)+1e-9 {
				t.Fatalf("%v at %v, outside %v..%v", v, now, o.Min, o.Max)
			}
			step := v.Lo - place
			if most := max(float64(o.MaxSpeed)*Frame.Seconds(), unit) + tick; math.Abs(step) > most+1e-9 {
				t.Fatalf("%v° a frame at %v, above %v", step, now, most)
			}
			if most := max(float64(o.MaxAccel)*Frame.Seconds()*Frame.Seconds(), unit) + 2*tick; math.Abs(step-way) > most+1e-9 {
				t.Fatalf("from %v to %v° a frame at %v, a change of more than %v", way, step, now, most)
			}
			if k := known.Value("beak", now); !k.Holds(v.Lo, tick) {
				t.Fatalf("%v at %v, outside what is known: %v", v.Lo, now, k)
			}
			place, way = v.Lo, step
		}
	})
}
