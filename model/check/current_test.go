package check

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/motion"
)

func heron(t require.TestingT) *model.Design {
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	return d
}

// The heron's sums by hand. Its servos stall at 800 (neck), 700 (beak), 500
// (eyelid) and 900 mA (wing), the wheel at 700; a fifth of that is drawn by
// what stands still. A pixel that shows a colour draws 1 mA, and 20 mA for
// each channel that is fully on: common practice, no published source. At 60 %
// brightness 255 becomes 153; 600 mA for 24 pixels are 25 mA each, 24 mA of
// them for light.
func TestOverCurrentOfTheHeron(t *testing.T) {
	d := heron(t)
	assert.Empty(t, said(t, "over-current", d), "5 A")

	// Everything goes to rest at once: 3600 mA. The strip may come from its
	// brightest, the squall's white: 3·153·20/255 = 36 mA is more than the 24
	// that a pixel may take, so all three channels are 153·24/36 = 102, and 24
	// pixels draw 24·(1+24) = 600 mA.
	d.Supply.MaxMA = 4199
	var want []string
	for _, state := range []string{"roost", "watch", "wade"} {
		want = append(want, fmt.Sprintf(`on entering state %q everything together may draw 4200 mA, and the supply gives 4199 mA: "wing" 900, "neck" 800, "beak" 700, "wheel" 700, "water" 600, "eyelid" 500`, state))
	}
	assert.Equal(t, want, said(t, "over-current", d))
	d.Supply.MaxMA = 4200
	assert.Empty(t, said(t, "over-current", d))
	d.Supply.MaxMA = 0
	assert.Empty(t, said(t, "over-current", d), "nobody said what there is")
}

func TestWorstMomentOfTheHeron(t *testing.T) {
	for _, c := range []struct {
		state string
		sum   float64
		at    time.Duration
		draws []float64 // neck, beak, eyelid, wing, wheel, water
	}{
		// Beak and neck move together from 2.8 s on (2.6 s to 2.9 s, and from
		// 2.8 s), as they do from 500 ms on: neck until 600 ms. Eyelid, wing
		// and wheel stand still; the wheel comes to rest at once, because the
		// state has no over. #ffb040 at 60 % is 153, 106, 38: with 297·20/255
		// = 23.29 mA within its share, 24·24.29 = 583.06 mA; it comes up
		// within 500 ms, until when it may be as bright as the squall.
		{"greeting", 800 + 700 + 100 + 180 + 140 + 583.06, 500 * msec, []float64{800, 700, 100, 180, 140, 583.06}},
		// The wheel runs until 3.4 s. The beak moves at 1.9 s (to 2.2 s) and
		// 2.3 s (to 2.6 s), the neck from 1.4 s to 2.1 s. The chase is
		// #60c0ff over #001830: at 60 % 58, 115, 153 and 0, 14, 29. That is
		// 326 and 43, and 326·20/255 = 25.57 mA is over the share of 24: the
		// three become 54, 107, 143 (whole numbers), 304·20/255 = 23.84 mA;
		// 43 are 3.37 mA. One spot over 24 pixels: 24·(1+3.37) + 2.5·(23.84-3.37)
		// = 156.11 mA.
		{"striking", 800 + 700 + 100 + 180 + 700 + 156.11, 1900 * msec, []float64{800, 700, 100, 180, 700, 156.11}},
	} {
		t.Run(c.state, func(t *testing.T) {
			d := heron(t)
			for i := range d.States {
				if s := &d.States[i]; s.Name == c.state {
					sum, at, draws := newDraw(d, s, keptLights(d)).worst()
					assert.InDelta(t, c.sum, sum, 0.05)
					assert.Equal(t, c.at, at)
					assert.InDeltaSlice(t, c.draws, draws[:len(c.draws)], 0.01)
				}
			}
		})
	}
}

func TestDrawOfServos(t *testing.T) {
	d := mended(t, "over-current") // two servos of 700 mA
	greet := &d.States[2]
	r := &d.Routines[0]
	move := func(at time.Duration, output string, to model.Degrees, over time.Duration) model.Cue {
		return model.Cue{At: at, Output: output, Action: model.Action{To: to, Over: over}}
	}
	for _, c := range []struct {
		name string
		cues []model.Cue
		want string
	}{
		{"one after the other", []model.Cue{move(0, "neck", 20, time.Second), move(1100*msec, "wing", 20, time.Second)}, "840 at 0s"},
		{"not surely still", []model.Cue{move(0, "neck", 20, time.Second), move(time.Second, "wing", 20, time.Second)}, "1400 at 1s"},
		{"together", []model.Cue{move(0, "neck", 20, time.Second), move(980*msec, "wing", 20, time.Second)}, "1400 at 980ms"},
		// From wherever the neck is, perhaps just on its way to the far end: 60° at
		// 200°/s, and what it takes to brake and to become so fast.
		{"stretched", []model.Cue{move(0, "neck", 20, 20*msec), move(300*msec, "wing", 20, time.Second)}, "1400 at 300ms"},
		{"stretched to its end", []model.Cue{move(0, "neck", 20, 20*msec), move(640*msec, "wing", 20, time.Second)}, "840 at 0s"},
		{"where it is already", []model.Cue{move(0, "neck", 20, time.Second), move(2*time.Second, "neck", 20, time.Second), move(2*time.Second, "wing", 20, time.Second)}, "840 at 0s"},
		{"cut short", []model.Cue{move(0, "neck", 20, 3*time.Second), move(time.Second, "neck", 0, 600*msec), move(1700*msec, "wing", 20, time.Second)}, "840 at 0s"},
		{"nothing", nil, "280 at 0s"},
	} { // a tenth of a second after a move's end it is surely still
		r.Cues, r.Length = c.cues, 0
		sum, at, _ := newDraw(d, greet, keptLights(d)).worst()
		assert.Equal(t, c.want, fmt.Sprintf("%.0f at %v", sum, at), c.name)
	}

	// The pose moves the neck until the routine does.
	greet.Pose, greet.Over = []model.Pose{{Output: "neck", Action: model.Action{To: -20, Over: 3 * time.Second}}}, 0
	r.Cues = []model.Cue{move(0, "neck", 20, time.Second), move(2*time.Second, "wing", 20, time.Second)}
	sum, at, _ := newDraw(d, greet, keptLights(d)).worst()
	assert.Equal(t, "840 at 0s", fmt.Sprintf("%.0f at %v", sum, at))
	greet.Pose = nil

	// A spinner that the routine turns later stands still until then; in the
	// next round it is still turning.
	wheel := model.Output{Name: "wheel", Kind: model.KindSpinner, RevPerS: 1, StopUs: 1500, FullUs: 2000, StallMA: 500}
	two := *d
	two.Outputs = append(d.Outputs[:len(d.Outputs):len(d.Outputs)], wheel)
	turn := model.Cue{At: 2400 * msec, Output: "wheel", Action: model.Action{Speed: 0.5}}
	greet.Over = time.Second
	r.Cues, r.Length = []model.Cue{move(0, "neck", -20, time.Second), move(time.Second, "neck", 20, time.Second), turn}, 3*time.Second
	sum, at, _ = newDraw(&two, greet, keptLights(&two)).worst()
	assert.Equal(t, "940 at 0s", fmt.Sprintf("%.0f at %v", sum, at)) // 700 + 140 + 100
	r.Loop = true
	sum, at, _ = newDraw(&two, greet, keptLights(&two)).worst()
	assert.Equal(t, "1340 at 3s", fmt.Sprintf("%.0f at %v", sum, at)) // 700 + 140 + 500
	rest := model.Cue{At: time.Second, Output: "wheel"}
	r.Cues = []model.Cue{rest, move(1200*msec, "neck", 20, 500*msec), move(1700*msec, "neck", -20, 300*msec), turn}
	sum, at, _ = newDraw(&two, greet, keptLights(&two)).worst()
	assert.Equal(t, "940 at 1.2s", fmt.Sprintf("%.0f at %v", sum, at), "it comes to rest in every round")
	greet.Over, r.Length = 0, 0

	// The round's end and the next one's begin meet.
	r.Cues = []model.Cue{move(time.Second, "neck", 20, time.Second), move(2100*msec, "wing", 20, 400*msec), move(2400*msec, "neck", 0, 600*msec)}
	r.Cues = append(r.Cues, move(0, "wing", -20, 500*msec))
	sum, at, _ = newDraw(d, greet, keptLights(d)).worst()
	assert.Equal(t, "1400 at 2.4s", fmt.Sprintf("%.0f at %v", sum, at))
	r.Loop, r.Cues = false, nil

	greet.Drift = []model.Drift{{Output: "neck"}, {Output: "wing"}}
	sum, _, _ = newDraw(d, greet, keptLights(d)).worst()
	assert.EqualValues(t, 1400, sum, "drifts can coincide")
}

// At no moment does a strip draw more, by the colours that motion plays, than
// is counted.
func TestStripDrawsNoMoreThanIsCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := mended(t, "over-current")
		for i := range d.Outputs { // only the strip is to draw anything
			d.Outputs[i].StallMA = 0
		}
		o := model.Output{Name: "eyes", Kind: model.KindPixels, Brightness: 100}
		o.Count = rapid.IntRange(1, 8).Draw(t, "count")
		o.MaxMA = rapid.IntRange(0, 300).Draw(t, "max_ma")
		d.Outputs = append(d.Outputs, o)
		look := func() model.Action {
			a := model.Action{
				Effect: rapid.SampledFrom([]model.Effect{model.EffectSolid, model.EffectFade, model.EffectBreathe, model.EffectChase}).Draw(t, "effect"),
				Period: time.Duration(rapid.IntRange(1, 20).Draw(t, "period")) * motion.Frame,
				Over:   time.Duration(rapid.IntRange(0, 20).Draw(t, "over")) * motion.Frame,
				First:  rapid.IntRange(0, o.Count-1).Draw(t, "first"),
				Last:   -1,
			}
			for _, c := range []*uint8{&a.Colour.R, &a.Colour.G, &a.Colour.B, &a.Colour2.R, &a.Colour2.G, &a.Colour2.B} {
				*c = rapid.Uint8().Draw(t, "channel")
			}
			return a
		}
		r := &d.Routines[0]
		r.Cues, r.Length = nil, 0
		for range rapid.IntRange(1, 3).Draw(t, "cues") {
			r.Cues = append(r.Cues, model.Cue{At: time.Duration(rapid.IntRange(0, 20).Draw(t, "at")) * motion.Frame, Output: "eyes", Action: look()})
		}
		d.States[1].Pose = append(d.States[1].Pose, model.Pose{Output: "eyes", Action: look()})

		_, _, draws := newDraw(d, &d.States[2], keptLights(d)).worst()
		// Colours that are mixed are rounded, which the check leaves out.
		counted := draws[len(draws)-1] + float64(3*o.Count)*20/255

		s := motion.New(d, nil)
		require.NoError(t, s.Enter("watch", 0))
		require.NoError(t, s.Enter("greet", 3*time.Second))
		for at := 3 * time.Second; at < 4*time.Second; at += motion.Frame {
			drawn := 0.0
			for i := range o.Count {
				drawn++
				for _, c := range s.Pixel("eyes", i, at) {
					drawn += 20 * c.Hi / 255
				}
			}
			require.LessOrEqual(t, drawn, counted+1e-6, "at %v", at)
		}
	})
}
