package editor

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs/odd"
)

// presses is how many keys names stand for.
func (s *scene) presses(names ...string) int {
	n := 0
	for _, name := range names {
		n += len(s.events(name))
	}
	return n
}

// times are when the cues of a routine come, in file order.
func (s *scene) times(routine string) []time.Duration {
	var at []time.Duration
	for _, c := range s.design().Routine(routine).Cues {
		at = append(at, c.At)
	}
	return at
}

func onStrike(t *testing.T) *scene { return newScene(t, 80, 24, 16).keys("F5", "Down") }

func TestShiftAllCuesInEightKeys(t *testing.T) {
	t.Parallel()
	s := onStrike(t)
	before := s.times("strike")
	keys := []string{"t", "'200ms", "Enter"}
	assert.LessOrEqual(t, s.presses(keys...), 8)
	s.keys(keys...)
	for i, at := range s.times("strike") {
		assert.Equal(t, before[i]+200*time.Millisecond, at)
	}
	s.keys("Ctrl-Z")
	assert.Equal(t, before, s.times("strike"), "one step of undo")
	s.keys("t", "'0s", "Enter").sees("nothing has changed")
	s.keys("t", "'-1s", "Enter").sees("before the routine begins")
	assert.Equal(t, before, s.times("strike"))
}

func TestSixteenCuesIn150Keys(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	var keys []string
	keys = append(keys, "F5", "Ctrl-N", "'nod", "Enter")
	for i, to := range []string{"30", "-10", "20", "0"} {
		if i == 0 {
			keys = append(keys, "Right")
		} else {
			keys = append(keys, "Ctrl-N")
		}
		keys = append(keys, "'nec", "Enter", "'"+to, "Enter")
		if i == 0 {
			keys = append(keys, "f", "'over", "Enter", "'188ms", "Enter") // as the others will
		}
	}
	keys = append(keys, "a")
	s.keys(keys...)
	require.Len(t, s.times("nod"), 4)
	count := s.presses(keys...)
	keys = []string{"c", "v", "Enter", "m", "v", "Enter", "v", "Enter"}
	s.keys(keys...)
	count += s.presses(keys...)
	require.Len(t, s.times("nod"), 16)
	assert.LessOrEqual(t, count, 150)
	d := s.design()
	assert.Equal(t, 16*188*time.Millisecond, d.RoutineLength(d.Routine("nod")))
}

func TestMarkedCues(t *testing.T) {
	t.Parallel()
	s := onStrike(t).keys("Right", "Space", "Space").sees("• 0s", "•")
	before := s.times("strike")
	s.keys("t", "'100ms", "Enter")
	after := s.times("strike")
	assert.Equal(t, []time.Duration{100 * time.Millisecond, 100 * time.Millisecond}, after[:2])
	assert.Equal(t, before[2:], after[2:])
	s.keys("s", "'200%", "Enter")
	assert.Equal(t, time.Second, s.design().Routine("strike").Cues[0].Over, "twice 500ms")
	s.keys("a", "a", "b", "'500ms", "Enter")
	for _, at := range s.times("strike") {
		assert.Zero(t, at%(500*time.Millisecond))
	}
	greet, strike := s.times("greet"), s.times("strike")
	s.keys("c", "Left", "Up", "v", "Enter") // into the routine above
	assert.Equal(t, greet, s.times("greet")[:len(greet)])
	assert.Len(t, s.times("greet"), len(greet)+len(strike))
	assert.Equal(t, strike, s.times("strike"))
}

func TestFieldOfAllMarkedCues(t *testing.T) {
	t.Parallel()
	s := onStrike(t).keys("f", "'note", "Enter", "'slowly", "Enter")
	for _, c := range s.design().Routine("strike").Cues {
		assert.Equal(t, "slowly", c.Note)
	}
}

func TestMirror(t *testing.T) {
	t.Parallel()
	s := onStrike(t).keys("m").sees("cues: done; Ctrl-Z takes it back")
	assert.Equal(t, model.Degrees(20), s.design().Routine("strike").Cues[2].To)
	s.keys("m")
	assert.Equal(t, model.Degrees(-20), s.design().Routine("strike").Cues[2].To)
}

// The cursor stays on a cue whose time changes.
func TestCursorFollowsACue(t *testing.T) {
	t.Parallel()
	s := onStrike(t).keys("Right")
	var cue model.Elem
	s.do(func() { cue = s.e.here() })
	s.keys("t", "'2s", "Enter")
	s.do(func() { assert.Equal(t, cue, s.e.here()) })
	s.keys("Enter", "'1.9s", "Enter", "Esc")
	s.do(func() { assert.Equal(t, cue, s.e.here()) })
	assert.Equal(t, 1900*time.Millisecond, s.times("strike")[cue.Part])
}

// Ctrl-N on a cue adds a cue after it; Right does in a routine without one.
func TestAddingACueWhereTheCuesAre(t *testing.T) {
	t.Parallel()
	s := onStrike(t).keys("Right")
	n := len(s.times("strike"))
	s.keys("Ctrl-N").sees("a new cue: of which output?").keys("'neck", "Enter")
	require.Len(t, s.times("strike"), n+1)
	assert.Equal(t, 500*time.Millisecond, s.times("strike")[n], "the end of the first cue")
	s.do(func() { assert.Equal(t, n, s.e.here().Part) })
	s.keys("Left", "Ctrl-N", "'empty", "Enter").sees("Right adds its first cue")
	s.keys("Right", "'neck", "Enter")
	assert.Len(t, s.times("empty"), 1)
}

// After a cue was added among the details of its routine, Esc leads to its line.
func TestEscAfterAddingACue(t *testing.T) {
	t.Parallel()
	s := onStrike(t).keys("Enter")
	n := len(s.times("strike"))
	s.keys("Ctrl-N", "'neck", "Enter", "Esc")
	s.do(func() {
		assert.Equal(t, model.Elem{Sort: model.SortCue, Index: s.e.panel.elem.Index, Part: n}, *s.e.panel.line().open)
	})
}

// What follows a track is drawn, written as cues that are marked, and follows again after
// one step back.
func TestVoiceAsCues(t *testing.T) {
	t.Parallel()
	text, err := odd.FS.ReadFile("voices.prop.toml")
	require.NoError(t, err)
	s := openScene(t, 100, 30, 16, text).keys("F5")
	s.sees("follow line  quiet 0deg").sees("♪ line")
	before := len(s.design().Routines[0].Cues)
	s.keys("w").sees("10% of beak are").keys("Enter")
	r := &s.design().Routines[0]
	assert.Greater(t, len(r.Cues), before)
	for _, c := range r.Cues {
		assert.Empty(t, c.Follow.Track)
	}
	s.sees("cues written").sees("• ")
	s.keys("Ctrl-Z")
	assert.Len(t, s.design().Routines[0].Cues, before)
	assert.Equal(t, "line", s.design().Routines[0].Cues[1].Follow.Track)
}
