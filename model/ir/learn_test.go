package ir

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// hold feeds the frames of a button that is kept down for some repeats.
func hold(l *Learner, c Code, toggle bool, repeats int, change func([]int) []int) (Lesson, bool) {
	period := int(c.RepeatPeriod().Microseconds())
	for i := range repeats + 1 {
		frame := EncodePress(c, toggle)
		if i > 0 {
			frame = EncodeHeld(c, toggle)
		}
		length := 0
		for j, us := range change(frame) {
			l.Feed(j%2 == 0, us)
			length += us
		}
		if i < repeats {
			l.Feed(false, period-length)
		}
	}
	return l.Feed(false, 400_000)
}

func unchanged(frame []int) []int { return frame }

func TestLearnerLearnsEveryProtocol(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCode(t)
		if c.Protocol == "raw" {
			c.Address = rapid.Uint32Range(90, 200).Draw(t, "period")
		}
		if c.Repeats() == RepeatMark || c.Repeats() == RepeatBare {
			c.Resent = rapid.Bool().Draw(t, "sent again whole")
		}
		off := rapid.IntRange(-80, 80)
		if c.Protocol == "raw" {
			off = rapid.IntRange(-40, 40)
		}
		var l Learner
		for range 2 {
			lesson, ok := hold(&l, c, rapid.Bool().Draw(t, "toggle"), rapid.IntRange(2, 5).Draw(t, "repeats"), func(frame []int) []int {
				for i := range frame {
					frame[i] += off.Draw(t, "off")
				}
				return frame
			})
			require.True(t, ok)
			require.Equal(t, c, lesson.Code)
			require.Equal(t, Certain, lesson.Sure, lesson.Why)
			require.LessOrEqual(t, abs(lesson.Worst), 81)
			require.Zero(t, lesson.Broken)
		}
	})
}

func TestLearnerTellsHowFarOff(t *testing.T) {
	var l Learner
	lesson, ok := hold(&l, Code{Protocol: "nec", Address: 4, Command: 0x18}, false, 1, func(frame []int) []int {
		for i := range frame {
			frame[i] += 90 - 180*(i%2) // the receiver stretches marks
		}
		return frame
	})
	require.True(t, ok)
	assert.Equal(t, Certain, lesson.Sure)
	assert.Equal(t, 2, lesson.Frames)
	assert.InDelta(t, 90/562.5, lesson.Mean, 0.001)
	assert.Equal(t, 90, abs(lesson.Worst))
	assert.Equal(t, 90, lesson.Stretch)
}

func TestLearnerDoubts(t *testing.T) {
	nec, sirc := Code{Protocol: "nec", Address: 4, Command: 0x18}, Code{Protocol: "sirc12", Address: 1, Command: 0x15}
	raw := Code{Protocol: "raw", Address: 110, Command: 0xcafe1234}
	twice := func(l *Learner, a, b Code) (Lesson, bool) {
		for i, us := range append(Encode(a), 40_000) {
			l.Feed(i%2 == 0, us)
		}
		return hold(l, b, false, 0, unchanged)
	}
	for _, test := range []struct {
		what string
		do   func(*Learner) (Lesson, bool)
		sure Surety
		why  string
	}{
		{"one frame with a check", func(l *Learner) (Lesson, bool) { return hold(l, nec, false, 0, unchanged) }, Certain, "check is right"},
		{"one frame without a check", func(l *Learner) (Lesson, bool) { return hold(l, sirc, false, 0, unchanged) }, Doubtful, "hold the button a little longer"},
		{"one raw frame", func(l *Learner) (Lesson, bool) { return hold(l, raw, false, 0, unchanged) }, Doubtful, "only one frame came"},
		{"two buttons at once", func(l *Learner) (Lesson, bool) {
			return twice(l, nec, Code{Protocol: "nec", Address: 4, Command: 0x19})
		}, Noise, "keep other remotes away"},
		{"a frame that breaks off", func(l *Learner) (Lesson, bool) {
			return hold(l, nec, false, 0, func(frame []int) []int { return frame[:9] })
		}, Noise, "no frame was understood"},
		{"a spike", func(l *Learner) (Lesson, bool) {
			return hold(l, nec, false, 0, func([]int) []int { return []int{30} })
		}, Noise, "no frame was understood"},
	} {
		var l Learner
		l.Feed(false, 1_000_000)
		lesson, ok := test.do(&l)
		require.True(t, ok, test.what)
		assert.Equal(t, test.sure, lesson.Sure, test.what)
		assert.Contains(t, lesson.Why, test.why, test.what)
	}
}

// Silence alone, in any parts, is not a press.
func TestLearnerWaits(t *testing.T) {
	var l Learner
	for range 1000 {
		_, ok := l.Feed(false, 300_000)
		require.False(t, ok)
	}
}

func TestAlike(t *testing.T) {
	fingerprint, ok := Fingerprint(Encode(Code{Protocol: "rc5", Address: 5, Command: 0x35}))
	require.True(t, ok)
	for _, test := range []struct {
		a, b Code
		want bool
	}{
		{Code{Protocol: "nec", Address: 4, Command: 0x18}, Code{Protocol: "nec", Address: 4, Command: 0x18}, true},
		{Code{Protocol: "nec", Address: 4, Command: 0x18}, Code{Protocol: "nec", Address: 4, Command: 0x19}, false},
		{Code{Protocol: "nec", Address: 0, Command: 0x18}, Code{Protocol: "samsung32", Address: 0xff00, Command: 0x18}, false},
		{Code{Protocol: "sirc12", Address: 1, Command: 0x15}, Code{Protocol: "sirc15", Address: 1, Command: 0x15}, false},
		{Code{Protocol: "nec", Address: 0, Command: 0}, Code{Protocol: "jvc", Address: 0, Command: 0xff}, false},
		{Code{Protocol: "raw", Address: 0, Command: fingerprint}, Code{Protocol: "raw", Address: 110, Command: fingerprint}, true},
		{Code{Protocol: "raw", Address: 0, Command: fingerprint}, Code{Protocol: "rc5", Address: 5, Command: 0x35}, true},
		{Code{Protocol: "raw", Address: 0, Command: fingerprint}, Code{Protocol: "rc5", Address: 5, Command: 0x34}, false},
	} {
		assert.Equal(t, test.want, Alike(test.a, test.b), "%v and %v", test.a, test.b)
		assert.Equal(t, test.want, Alike(test.b, test.a), "%v and %v", test.b, test.a)
	}
}
