package editor

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// routine is the view of the routines.
func (s *scene) routines() *routines { return s.e.views[inRoutines].(*routines) }

// byHand has the time of the routine that is played pass by the test alone, from at on.
func (s *scene) byHand(at time.Duration) *scene {
	s.do(func() {
		t := &s.routines().through
		assert.True(s.t, t.clock.running)
		t.clock.stop()
		t.clock.running, t.clock.quit, t.at = true, make(chan struct{}), at
	})
	return s
}

func (s *scene) passes(d time.Duration) *scene {
	s.do(func() { s.routines().pass(d) })
	return s
}

func (s *scene) routineTime() (at time.Duration, shown, running bool) {
	s.do(func() {
		t := &s.routines().through
		at, shown, running = t.at, t.shown, t.clock.running
	})
	return at, shown, running
}

// stands fails unless the routine stands still at a time, which is shown.
func (s *scene) stands(at time.Duration) *scene {
	s.t.Helper()
	got, shown, running := s.routineTime()
	assert.Equal(s.t, at, got)
	assert.True(s.t, shown)
	assert.False(s.t, running)
	return s
}

func TestRunThrough(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F5", "Right", "Down", "Down", "Down", "Down").sees("greet at 1.2s")
	s.keys("g").byHand(1200*time.Millisecond).passes(150*time.Millisecond).sees("playing 1.350s", "neck 30deg", "beak 18deg", "water #996a26", "♪ call 0.850s")
	s.keys("g").stands(1350 * time.Millisecond)
	s.keys(",").stands(1330*time.Millisecond).keys(".", ">").stands(1850*time.Millisecond).keys("<").sees("at 1.350s", "g play", "m mirror")

	// The rest of it, and from the beginning.
	s.keys("g").byHand(1350 * time.Millisecond).passes(time.Minute).stands(3400 * time.Millisecond)
	s.keys("g")
	_, _, running := s.routineTime()
	assert.True(t, running)

	// An edit is played at once, and the cursor may move meanwhile.
	s.byHand(700*time.Millisecond).keys("Up", "1", "0", "Enter").sees("playing 0.700s").passes(200 * time.Millisecond).sees("beak 10deg")
	s.keys("F2", "F5")
	_, _, running = s.routineTime()
	assert.False(t, running, "nobody would see it")
	s.keys("Down").sees("✗0.900s", "Space mark")
	s.keys(".").sees("1.220s").keys("Left", "Down").sees("✗1.220s")
}

// A stretch is played again and again: the marked cues, one, or all.
func TestLoopThrough(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F5", "Right", "Down", "Down", "Down", "Down", "Space", "Space") // 1.2s and 1.6s to 2.6s
	s.keys("l").byHand(2500 * time.Millisecond).passes(200 * time.Millisecond).sees("looping 1.300s")
	s.passes(14 * time.Second).sees("looping 1.300s").keys("l").stands(1300 * time.Millisecond)
	s.keys("a", "Home", "l").byHand(3 * time.Second).passes(600 * time.Millisecond).sees("looping 0.200s") // 3.4 s in all
	s.keys("g").stands(200 * time.Millisecond)
}
