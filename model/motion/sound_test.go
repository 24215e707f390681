package motion

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
)

// What a track has started is silenced when its routine is left before the
// track's end, and not after it.
func TestSoundIsStopped(t *testing.T) {
	for _, c := range []struct {
		name   string
		leave  time.Duration // after the routine's start
		silent bool
	}{
		{"in the middle", 700 * ms, true},
		{"before it begins", 100 * ms, false},
		{"just before its end", 200*ms + 849*ms, true}, // 20 ms and 830 ms
		{"at its end", 200*ms + 850*ms, false},
	} {
		d := prop()
		d.Tracks = []model.Track{{
			Name: "call", Length: 830 * ms, Latency: 20 * ms,
			Play: model.Play{Output: "voice", Value: "one"}, Stop: model.Play{Output: "voice", Value: "two"},
		}}
		d.Routines = []model.Routine{{Name: "act", Length: 3 * time.Second, Cues: []model.Cue{{At: 220 * ms, Track: "call"}}}}
		d.States = []model.State{{Name: "roost", Kind: model.Dormant}, {Name: "act", Kind: model.Performing, Plays: "act"}}
		s := New(d, nil)
		require.NoError(t, s.Enter("roost", 0))
		require.NoError(t, s.Enter("act", time.Second))
		require.NoError(t, s.Enter("roost", time.Second+c.leave))
		var said []string
		for _, sent := range s.Sent("voice", time.Hour) {
			said = append(said, sent.Message)
		}
		var want []string
		if c.leave >= 200*ms {
			want = append(want, "one")
		}
		if c.silent {
			want = append(want, "two")
		}
		assert.Equal(t, want, said, c.name)
		var heard []Heard
		if c.leave >= 200*ms {
			from := time.Second + 220*ms
			heard = append(heard, Heard{"call", from, min(from+830*ms, time.Second+c.leave)})
		}
		assert.Equal(t, heard, s.Heard(time.Hour), c.name)
	}
}

// A sound is over where its own routine, or an order, has the board silenced; what follows
// it falls silent too.
func TestSoundIsSilenced(t *testing.T) {
	two := model.Action{Send: "two"}
	for _, c := range []struct {
		name  string
		cues  []model.Cue
		loop  bool
		order time.Duration // 0: none
		over  time.Duration // from the track's trigger, at 200 ms
	}{
		{"by nothing", nil, false, 0, 820 * ms},
		{"by another message", []model.Cue{{At: 500 * ms, Output: "voice", Action: model.Action{Send: "one"}}}, false, 0, 820 * ms},
		{"by a cue", []model.Cue{{At: 500 * ms, Output: "voice", Action: two}}, false, 0, 300 * ms},
		{"by a cue of its own time", []model.Cue{{At: 200 * ms, Output: "voice", Action: two}}, false, 0, ms},
		{"by a cue after its end", []model.Cue{{At: 1100 * ms, Output: "voice", Action: two}}, false, 0, 820 * ms},
		{"before it begins", []model.Cue{{At: 100 * ms, Output: "voice", Action: two}}, false, 0, 820 * ms},
		{"in the next round", []model.Cue{{At: 100 * ms, Output: "voice", Action: two}}, true, 0, 700 * ms},
		{"by an order", nil, false, 600 * ms, 400 * ms},
	} {
		d := prop()
		d.Tracks = []model.Track{{
			Name: "call", Length: 800 * ms, Latency: 20 * ms, Loudness: strings.Repeat("f", 40),
			Play: model.Play{Output: "voice", Value: "one"}, Stop: model.Play{Output: "voice", Value: "two"},
		}}
		cues := append([]model.Cue{
			{At: 220 * ms, Track: "call"},
			{Output: "beak", Action: model.Action{To: 30}, Follow: model.Follow{Track: "call", Gain: 1}},
		}, c.cues...)
		d.Routines = []model.Routine{{Name: "act", Loop: c.loop, Length: 800 * ms, Cues: cues}}
		if !c.loop {
			d.Routines[0].Length = 3 * time.Second
		}
		s := Alone(d, &d.Routines[0])
		if c.order > 0 {
			require.NoError(t, s.Order([]model.Order{{Output: "voice", Action: two}}, c.order))
		}
		to := 200*ms + c.over
		assert.Equal(t, []Heard{{"call", min(220*ms, to), to}}, s.Heard(min(to, time.Second-ms)), c.name)
		for _, call := range Sheet(d, &d.Routines[0]) {
			if call.Voice != nil && c.order == 0 {
				assert.Len(t, call.Voice.Levels, max(0, int((c.over-20*ms)/Frame)), c.name)
			}
		}
	}
}

// A stop that silences two sounds is due while either may go on, however short the second
// is: in a loop too, where the second is the next round's first.
func TestStopOfTwoSounds(t *testing.T) {
	d := prop()
	stop := model.Play{Output: "voice", Value: "two"}
	d.Tracks = []model.Track{
		{Name: "long", Length: 5 * time.Second, Play: model.Play{Output: "voice", Value: "one"}, Stop: stop},
		{Name: "short", Length: 40 * ms, Play: model.Play{Output: "voice", Value: "one"}, Stop: stop},
	}
	for _, cues := range [][]model.Cue{
		{{At: 100 * ms, Track: "long"}, {At: 300 * ms, Track: "short"}},
		{{At: 0, Track: "short"}, {At: 700 * ms, Track: "long"}},
	} {
		d.Routines = []model.Routine{{Name: "act", Loop: true, Length: 800 * ms, Cues: cues}}
		s := Alone(d, &d.Routines[0])
		at := 1500 * ms
		require.NoError(t, s.Enter("playing", at))
		for _, h := range s.Heard(3 * time.Second) {
			if h.From < at {
				assert.LessOrEqual(t, h.To, at, h.Track)
			}
		}
		d.Routines[0].Loop, d.Routines[0].Length = false, 9*time.Second
		over := map[string]time.Duration{"long": 5 * time.Second, "short": 4800 * ms}
		if cues[0].Track == "short" {
			over["short"] = 40 * ms
		}
		for _, c := range Sheet(d, &d.Routines[0]) {
			assert.Equal(t, over[c.Track], c.Sound.Over, c.Track)
		}
	}
}

// The firmware waits for the end of a sound for two hours at the most; a longer one is
// always stopped.
func TestVeryLongSound(t *testing.T) {
	d := prop()
	d.Tracks = []model.Track{{
		Name: "call", Length: 100 * time.Hour,
		Play: model.Play{Output: "voice", Value: "one"}, Stop: model.Play{Value: "two"},
	}}
	calls := Sheet(d, &model.Routine{Cues: []model.Cue{{Track: "call"}}})
	require.Len(t, calls, 1)
	require.NotNil(t, calls[0].Sound)
	assert.Equal(t, Endless, calls[0].Sound.Over)
	assert.Equal(t, model.Play{Output: "voice", Value: "two"}, calls[0].Sound.Stop)
}
