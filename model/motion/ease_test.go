package motion

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"propwright/model"
)

// "smooth" is the course of minimum jerk of T. Flash and N. Hogan, "The
// Coordination of Arm Movements", Journal of Neuroscience 5(7), 1985, equation 3:
// 10τ³-15τ⁴+6τ⁵. The firmware's fixed point follows it to 5 steps of 65536, by
// which a servo that goes from 500 to 2500 µs is off by 0.15 µs.
func TestSmoothIsMinimumJerk(t *testing.T) {
	worst := 0.0
	for i := 0; i < 1<<16; i++ {
		x := float64(i) / (1 << 16)
		want := 10*math.Pow(x, 3) - 15*math.Pow(x, 4) + 6*math.Pow(x, 5)
		assert.InDelta(t, want, Eased(model.EaseSmooth, x), 1e-12, "at %v", x)
		worst = max(worst, math.Abs(float64(minimumJerk(uint16(i)))-want*(1<<16)))
	}
	t.Logf("fixed point: at most %.2f/65536 off", worst)
	assert.LessOrEqual(t, worst, 5.0)
}

func TestEased(t *testing.T) {
	for _, c := range []struct {
		ease    model.Ease
		t, want float64
	}{
		{model.EaseLinear, 0.25, 0.25},
		{model.EaseSmooth, 0.25, 53.0 / 512},
		{model.EaseSmooth, 0.75, 459.0 / 512},
		{model.EaseIn, 0.25, 0.0625},
		{model.EaseIn, 0.75, 0.5625},
		{model.EaseOut, 0.25, 0.4375},
		{model.EaseOut, 0.75, 0.9375},
		{"", 0.25, 53.0 / 512}, // "smooth" unless said otherwise
		{model.EaseSmooth, -1, 0},
		{model.EaseSmooth, 2, 1},
	} {
		assert.InDelta(t, c.want, Eased(c.ease, c.t), 1e-12, "%s at %v", c.ease, c.t)
	}
	for _, e := range model.Eases {
		assert.Zero(t, Eased(e, 0), e)
		assert.EqualValues(t, 1, Eased(e, 1), e)
	}
}

// The peak factor is the steepest slope of the shape: measured here.
func TestPeak(t *testing.T) {
	const h = 1e-4
	for _, e := range model.Eases {
		steepest := 0.0
		for x := 0.0; x+h <= 1; x += h {
			steepest = max(steepest, (Eased(e, x+h)-Eased(e, x))/h)
		}
		assert.InDelta(t, steepest, Peak(e), 1e-3, e)
	}
}

// The peak of the acceleration is the steepest bend of the shape: measured
// here, between its ends.
func TestPeakAccel(t *testing.T) {
	const h = 1e-4
	for _, e := range model.Eases {
		steepest := 0.0
		for x := h; x+h <= 1; x += h {
			steepest = max(steepest, math.Abs(Eased(e, x+h)-2*Eased(e, x)+Eased(e, x-h))/(h*h))
		}
		assert.InDelta(t, steepest, PeakAccel(e), 2e-3, e)
	}
}

func TestFrames(t *testing.T) {
	const ms = time.Millisecond
	for d, want := range map[time.Duration]time.Duration{
		0: 0, 1: 20 * ms, 20 * ms: 20 * ms, 20*ms + 1: 40 * ms, 300 * ms: 300 * ms, 310 * ms: 320 * ms,
	} {
		assert.Equal(t, want, Frames(d), d)
	}
}
