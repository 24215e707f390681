package motion

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
)

func drawVoice(t *rapid.T) *Voice {
	return &Voice{
		Levels:  rapid.SliceOfN(rapid.Uint8Max(model.MostLevel), 0, 100).Draw(t, "levels"),
		Gain:    uint16(rapid.IntRange(437, Loudest).Draw(t, "gain")),
		Attack:  share(time.Duration(rapid.IntRange(0, 5000).Draw(t, "attack")) * time.Millisecond),
		Release: share(time.Duration(rapid.IntRange(0, 5000).Draw(t, "release")) * time.Millisecond),
	}
}

// What is followed is never louder than the loudest moment so far, goes up only after what is
// louder and dies away in the end.
func TestCourse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := drawVoice(t)
		course := v.Course()
		require.GreaterOrEqual(t, len(course), len(v.Levels))
		was, most := uint16(0), uint16(0)
		for n, level := range course {
			loud := uint16(0)
			if n < len(v.Levels) {
				loud = uint16(min(uint32(v.Levels[n])*uint32(v.Gain), Loudest))
			}
			most = max(most, loud)
			require.LessOrEqual(t, level, most)
			require.GreaterOrEqual(t, level, min(was, loud))
			require.LessOrEqual(t, level, max(was, loud))
			was = level
		}
		require.Zero(t, was)
	})
}

// Without time constants a sound is followed as it is, and with some as a first-order
// lag goes after a step: 63 % of it after its time constant.
func TestTimeConstants(t *testing.T) {
	at := &Voice{Levels: []uint8{0, 15, 7, 0}, Gain: Loudest / 15, Attack: share(0), Release: share(0)}
	assert.Equal(t, []uint16{0, Loudest, 7 * 4369, 0}, at.Course())
	for _, constant := range []time.Duration{60 * time.Millisecond, 200 * time.Millisecond, time.Second} {
		v := &Voice{Levels: make([]uint8, 1000), Gain: Loudest / 15, Attack: share(constant), Release: share(constant)}
		for n := range v.Levels[:500] {
			v.Levels[n] = model.MostLevel
		}
		course, frames := v.Course(), int(constant/Frame)
		assert.InDelta(t, 0.632*Loudest, float64(course[frames-1]), 0.03*Loudest, "%v up", constant)
		assert.InDelta(t, 0.368*Loudest, float64(course[500+frames-1]), 0.03*Loudest, "%v down", constant)
	}
}

// A servo that follows stays within its limits and its way, whatever is followed and
// whenever it begins, and is at rest in silence when Settle says so.
func TestServoFollows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := &model.Output{Name: "beak", Kind: model.KindServo, Min: -40, Max: 40, UsAtMin: 1100, UsAtMax: 1900,
			MaxSpeed: model.DegPerS(rapid.IntRange(20, 400).Draw(t, "speed")), MaxAccel: model.DegPerS2(rapid.IntRange(100, 4000).Draw(t, "accel"))}
		v := drawVoice(t)
		v.Follow.Quiet = model.Degrees(rapid.IntRange(-40, 40).Draw(t, "quiet"))
		loud := model.Degrees(rapid.IntRange(-40, 40).Draw(t, "loud"))
		s := newServo(o)
		begin := moment{time: time.Duration(rapid.IntRange(0, 100).Draw(t, "begin")) * time.Millisecond, entered: rapid.Bool().Draw(t, "entered")}
		if rapid.Bool().Draw(t, "on the move") {
			s.move(float64(rapid.IntRange(-40, 40).Draw(t, "to")), 0, model.EaseSmooth, moment{})
		}
		s.follow(v, loud, begin)
		l := LimitsOf(o)
		s.at(0)
		was := s.motor.Width()
		end := begin.time + v.Takes() + Settle(o, v.Follow.Quiet, 0, model.EaseSmooth, Range{-40, 40})
		for at := time.Duration(0); at <= end; at += Frame {
			s.at(at)
			is := s.motor.Width()
			require.GreaterOrEqual(t, is, l.Lowest)
			require.LessOrEqual(t, is, l.Highest)
			require.LessOrEqual(t, abs(int32(is)-int32(was)), l.Fastest/speedUnit+1)
			was = is
		}
		if len(v.Levels) > 0 {
			require.Equal(t, Pulse(o, float64(v.Follow.Quiet)), was)
			require.True(t, s.motor.Still())
		}
	})
}

// What follows when a state is left stays where it was sent last.
func TestLeavingEndsFollowing(t *testing.T) {
	d := prop()
	d.Outputs[0].MaxSpeed, d.Tracks[0].Length = 0, time.Second
	d.Tracks[0].Loudness = strings.Repeat("f", 10) + strings.Repeat("0", 10)
	follow := func(output string, a model.Action) model.Cue {
		return model.Cue{At: 120 * ms, Output: output, Action: a, Follow: model.Follow{Track: "call", Quiet: 5, Gain: 1}}
	}
	d.Routines = []model.Routine{{Name: "act", Cues: []model.Cue{
		{Track: "call"}, follow("beak", model.Action{To: 40}),
		follow("eyes", model.Action{Effect: model.EffectSolid, Colour: model.Colour{R: 255}, Last: -1}),
	}}}
	d.States = []model.State{{Name: "roost", Kind: model.Dormant}, {Name: "act", Kind: model.Performing, Plays: "act"}, {Name: "watch", Kind: model.Ambient}}
	for _, leaves := range []bool{false, true} {
		s := New(d, nil)
		require.NoError(t, s.Enter("act", time.Second))
		if leaves {
			require.NoError(t, s.Enter("watch", 1250*ms))
		}
		loud := map[bool]float64{false: 5, true: 40}[leaves]
		assert.InDelta(t, loud, s.Value("beak", 3*time.Second).Lo, 0.2)
		assert.Equal(t, leaves, s.Pixel("eyes", 0, 3*time.Second)[0].Lo > 200)
		assert.InDelta(t, 40, s.Value("beak", 1250*ms).Lo, 0.2, "what is past is as it was")
	}
}

// What a cue says of following reaches the voice, each to its place.
func TestVoiceOfACue(t *testing.T) {
	d := &model.Design{Tracks: []model.Track{{Name: "call", Length: 200 * time.Millisecond, Loudness: "0123456789"}}}
	r := &model.Routine{Cues: []model.Cue{
		{Track: "call"},
		{At: 60 * time.Millisecond, Output: "beak", Follow: model.Follow{Track: "call", Gain: 2, Release: 200 * time.Millisecond}},
	}}
	v, at, ok := newVoice(d, r, &r.Cues[1])
	assert.True(t, ok)
	assert.Equal(t, 60*time.Millisecond, at)
	assert.Equal(t, []int{3, 2 * Loudest / 15, 256, 24}, []int{v.First, int(v.Gain), int(v.Attack), int(v.Release)})
}
