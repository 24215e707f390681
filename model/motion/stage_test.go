package motion

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
)

const ms = time.Millisecond

// prop is a design with one output of each kind.
func prop() *model.Design {
	return &model.Design{
		Outputs: []model.Output{
			{Name: "beak", Kind: model.KindServo, Min: -30, Max: 45, Rest: 5, UsAtMin: 1100, UsAtMax: 1850, MaxSpeed: 200},
			{Name: "reel", Kind: model.KindSpinner, StopUs: 1500, FullUs: 1900, RevPerS: 2},
			{Name: "eyes", Kind: model.KindPixels, Count: 8, Order: "grb", Brightness: 100},
			{Name: "horn", Kind: model.KindPulse, Hold: 150 * ms},
			{Name: "voice", Kind: model.KindMessage, Messages: []model.Message{{Name: "one", Bytes: []byte{0x7e, 1}}, {Name: "two", Bytes: []byte{0x7e, 2}}}},
			{Name: "lamp", Kind: model.KindSwitch},
		},
		Tracks: []model.Track{
			{Name: "call", Play: model.Play{Output: "voice", Value: "one"}, Latency: 120 * ms},
			{Name: "hoot", Play: model.Play{Output: "horn"}, Latency: 120 * ms},
			{Name: "hum", Play: model.Play{Output: "lamp"}},
		},
	}
}

// play returns the stage of the prop with one performing state "act" that
// plays the cues, entered at 1 s.
func play(t *testing.T, loop bool, cues ...model.Cue) *Stage {
	t.Helper()
	d := prop()
	d.Routines = []model.Routine{{Name: "act", Loop: loop, Cues: cues}}
	d.States = []model.State{
		{Name: "roost", Kind: model.Dormant, Over: 100 * ms},
		{Name: "act", Kind: model.Performing, Plays: "act"},
		{Name: "watch", Kind: model.Ambient, Over: 100 * ms},
	}
	s := New(d, nil)
	require.NoError(t, s.Enter("act", time.Second))
	return s
}

func cue(at time.Duration, output string, a model.Action) model.Cue {
	return model.Cue{At: at, Output: output, Action: a}
}

func TestPowerUp(t *testing.T) {
	s := New(prop(), nil)
	// 5° lie 35/75 of the way from 1100 to 1850 µs.
	assert.Equal(t, exactly(1450), s.Us("beak", 0))
	assert.Equal(t, exactly(1500), s.Us("reel", 0))
	assert.Equal(t, Light{}, s.Pixel("eyes", 0, 0))
	assert.False(t, s.Active("lamp", 0))
	assert.False(t, s.Active("horn", 0))
	assert.Empty(t, s.Sent("voice", time.Hour))
	assert.Zero(t, s.Us("tail", 0))
	assert.Zero(t, s.Value("tail", 0))
}

// tick is half a microsecond of the beak, in degrees.
const tick = 0.05

func TestServoMoves(t *testing.T) {
	for _, c := range []struct {
		name string
		move model.Action
		at   time.Duration // after the cue
		want float64       // degrees
	}{
		{"starts where it is", model.Action{To: 45, Over: 800 * ms, Ease: model.EaseLinear}, 0, 5},
		{"linear", model.Action{To: 45, Over: 800 * ms, Ease: model.EaseLinear}, 200 * ms, 15},
		{"smooth", model.Action{To: 45, Over: 800 * ms, Ease: model.EaseSmooth}, 200 * ms, 5 + 40*53.0/512},
		{"in", model.Action{To: 45, Over: 800 * ms, Ease: model.EaseIn}, 200 * ms, 5 + 40*0.0625},
		{"out", model.Action{To: 45, Over: 800 * ms, Ease: model.EaseOut}, 200 * ms, 5 + 40*0.4375},
		{"is there", model.Action{To: 45, Over: 800 * ms, Ease: model.EaseOut}, 800 * ms, 45},
		{"stays", model.Action{To: 45, Over: 800 * ms, Ease: model.EaseOut}, time.Hour, 45},
		{"not beyond max", model.Action{To: 90, Over: 800 * ms}, time.Second, 45},
		{"not beyond min", model.Action{To: -90, Over: 800 * ms}, time.Second, -30},
		// 40° at 200°/s: 200 ms.
		{"as fast as it stands", model.Action{To: 45, Ease: model.EaseLinear}, 100 * ms, 25},
		{"asked for too fast", model.Action{To: 45, Over: 100 * ms, Ease: model.EaseLinear}, 100 * ms, 25},
		{"no plan, whatever its ease", model.Action{To: 45, Ease: model.EaseSmooth}, 100 * ms, 25},
		{"no plan, is there", model.Action{To: 45, Ease: model.EaseSmooth}, 200 * ms, 45},
		// 790 ms are 40 frames of 20 ms.
		{"whole frames", model.Action{To: 45, Over: 790 * ms, Ease: model.EaseLinear}, 400 * ms, 25},
	} {
		s := play(t, false, cue(100*ms, "beak", c.move))
		// The frame of a cue's own time is the first of its move.
		got := s.Value("beak", time.Second+100*ms+c.at-Frame)
		assert.True(t, got.Exact(), c.name)
		assert.InDelta(t, c.want, got.Lo, tick, c.name)
	}
}

func TestMoveStartsFromWhereTheServoIs(t *testing.T) {
	s := play(t, false,
		cue(0, "beak", model.Action{To: 45, Over: 800 * ms, Ease: model.EaseLinear}),
		cue(400*ms, "beak", model.Action{To: 5, Over: 400 * ms, Ease: model.EaseLinear}))
	// The first frame after a state's entry has none of a move's time gone by.
	assert.InDelta(t, 24, s.Value("beak", 1400*ms-Frame).Lo, tick)
	assert.InDelta(t, 14.5, s.Value("beak", 1600*ms-Frame).Lo, tick, "half of the way from 24")
	assert.InDelta(t, 20, s.Value("beak", 1300*ms).Lo, tick, "the past can be asked for")
}

func TestServoWidth(t *testing.T) {
	o := prop().Output("beak")
	for deg, us := range map[float64]float64{-30: 1100, 45: 1850, 0: 1400, 7.5: 1475} {
		assert.InDelta(t, us, Width(o, exactly(deg)).Lo, 1e-9, deg)
	}
	// A servo that is mounted the other way round.
	o.UsAtMin, o.UsAtMax = 1850, 1100
	assert.Equal(t, Range{1475, 1550}, Width(o, Range{0, 7.5}))
	// No travel: no division by it.
	o.Min, o.Max = 10, 10
	assert.Equal(t, exactly(1850), Width(o, exactly(10)))
}

func TestSpinner(t *testing.T) {
	s := play(t, false,
		cue(0, "reel", model.Action{Speed: 1, Over: 400 * ms}),
		cue(time.Second, "reel", model.Action{Speed: -3, Over: 300 * ms}),
		cue(2*time.Second, "reel", model.Action{}))
	for at, want := range map[time.Duration]float64{
		0: 1500, 200 * ms: 1600, 400 * ms: 1700, 999 * ms: 1700,
		1100 * ms: 1500, // a third of the way from 1 to -2, beyond which it cannot go
		1300 * ms: 1100,
		2000 * ms: 1500, // no over: at once
	} {
		assert.InDelta(t, want, s.Us("reel", time.Second+at).Lo, 1e-9, at)
	}
	o := prop().Output("reel")
	o.RevPerS = 0
	assert.Equal(t, exactly(1500), Width(o, exactly(0)))
}

func TestPulseMessageSwitchTrack(t *testing.T) {
	s := play(t, false,
		cue(500*ms, "horn", model.Action{Fire: true}),
		cue(500*ms, "lamp", model.Action{Set: true}),
		cue(900*ms, "lamp", model.Action{}),
		cue(300*ms, "voice", model.Action{Send: "two"}),
		cue(950*ms, "horn", model.Action{}), // fire = false
		model.Cue{At: 200 * ms, Track: "call"},
		model.Cue{At: 50 * ms, Track: "hoot"},
		model.Cue{At: 950 * ms, Track: "hum"},
		model.Cue{At: 0, Track: "no such track"},
	)
	type edge struct {
		at time.Duration
		on bool
	}
	for _, e := range []edge{{0, true}, {149 * ms, true}, {150 * ms, false}, {499 * ms, false}, {500 * ms, true}, {649 * ms, true}, {650 * ms, false}, {960 * ms, false}} {
		assert.Equal(t, e.on, s.Active("horn", time.Second+e.at), "horn at %v", e.at)
	}
	for _, e := range []edge{{0, false}, {499 * ms, false}, {500 * ms, true}, {899 * ms, true}, {900 * ms, false}, {950 * ms, true}} {
		assert.Equal(t, e.on, s.Active("lamp", time.Second+e.at), "lamp at %v", e.at)
	}
	assert.Equal(t, []Sent{
		{At: 1080 * ms, Message: "one", Bytes: []byte{0x7e, 1}},
		{At: 1300 * ms, Message: "two", Bytes: []byte{0x7e, 2}},
	}, s.Sent("voice", time.Hour))
	assert.Len(t, s.Sent("voice", 1299*ms), 1)
}

func TestLoopRestartsAtItsLength(t *testing.T) {
	s := play(t, true,
		cue(0, "voice", model.Action{Send: "one"}),
		cue(300*ms, "horn", model.Action{Fire: true})) // ends at 450 ms
	sent := s.Sent("voice", 3*time.Second)
	require.Len(t, sent, 5)
	for i, m := range sent {
		assert.Equal(t, time.Second+time.Duration(i)*450*ms, m.At)
	}
}

func TestRoutineOfNoLengthEnds(t *testing.T) {
	s := play(t, true, cue(0, "voice", model.Action{Send: "one"}))
	assert.Len(t, s.Sent("voice", time.Hour), 1)
}

func TestLastCueAtTheVeryEndIsPlayed(t *testing.T) {
	s := play(t, false, cue(300*ms, "voice", model.Action{Send: "one"}), cue(301*ms, "voice", model.Action{Send: "two"}))
	require.NoError(t, s.Enter("watch", 1300*ms))
	assert.Len(t, s.Sent("voice", time.Hour), 1)
}

func TestEnteringKeepsOrRests(t *testing.T) {
	busy := []model.Cue{
		cue(0, "beak", model.Action{To: 45}),
		cue(0, "reel", model.Action{Speed: 2}),
		cue(0, "eyes", model.Action{Colour: model.Colour{R: 200}, Last: -1}),
		cue(0, "lamp", model.Action{Set: true}),
	}
	t.Run("ambient keeps, but stops the spinner", func(t *testing.T) {
		s := play(t, false, busy...)
		require.NoError(t, s.Enter("watch", 2*time.Second))
		assert.Equal(t, exactly(45), s.Value("beak", 3*time.Second))
		assert.Equal(t, exactly(1), s.Value("reel", 2050*ms))
		assert.Equal(t, exactly(0), s.Value("reel", 2100*ms))
		assert.Equal(t, exactly(200), s.Pixel("eyes", 7, 3*time.Second)[0])
		assert.True(t, s.Active("lamp", 3*time.Second))
	})
	t.Run("dormant goes to rest", func(t *testing.T) {
		s := play(t, false, busy...)
		require.NoError(t, s.Enter("roost", 2*time.Second))
		// 40°/(200°/s): longer than the state's 100 ms. The plan for those begins
		// slowly, which costs a frame.
		assert.InDelta(t, 25, s.Value("beak", 2100*ms).Lo, 4)
		assert.InDelta(t, 5, s.Value("beak", 2220*ms).Lo, tick)
		assert.Equal(t, exactly(0), s.Value("reel", 2100*ms))
		assert.Equal(t, exactly(120), s.Pixel("eyes", 7, 2050*ms)[0], "two frames of five")
		assert.Equal(t, Light{}, s.Pixel("eyes", 7, 2100*ms))
		assert.False(t, s.Active("lamp", 2*time.Second))
		assert.True(t, s.Active("lamp", 2*time.Second-1))
	})
}

func TestPoseTakesTheStatesOverUnlessItSaysItsOwn(t *testing.T) {
	d := prop()
	d.Outputs[0].MaxSpeed = 0
	at := model.Source{Keys: map[string]model.Key{"over": {}}}
	d.States = []model.State{{Name: "watch", Kind: model.Ambient, Over: 400 * ms, Pose: []model.Pose{
		{Output: "beak", Action: model.Action{To: 45, Ease: model.EaseLinear}},
		{Output: "reel", Action: model.Action{Speed: 2, Over: 200 * ms}},
		{Output: "eyes", Action: model.Action{Colour: model.Colour{B: 80}, Last: -1}, Source: at, Table: true},
	}}}
	s := New(d, nil)
	require.NoError(t, s.Enter("watch", 0))
	assert.InDelta(t, 15, s.Value("beak", 100*ms).Lo, 1e-9)
	assert.InDelta(t, 1, s.Value("reel", 100*ms).Lo, 1e-9)
	assert.Equal(t, exactly(80), s.Pixel("eyes", 0, 0)[2], "over = 0 is said")
}

func TestEnterErrors(t *testing.T) {
	s := play(t, false)
	assert.ErrorContains(t, s.Enter("nowhere", time.Hour), `no state "nowhere"`)
	s.Value("beak", 3*time.Second)
	assert.ErrorContains(t, s.Enter("watch", 2*time.Second), "at 3s already")
}
