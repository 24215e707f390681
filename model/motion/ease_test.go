package motion

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"propwright/model"
)

// "smooth" is the smoothstep of The OpenGL Shading Language, version 4.60,
// section 8.3: t·t·(3-2t), on 0..1. It is the cubic Bézier curve with the
// ordinates 0, 0, 1, 1, which is computed here by de Casteljau's subdivision.
func TestSmoothIsSmoothstep(t *testing.T) {
	for i := 0; i <= 100; i++ {
		x := float64(i) / 100
		p := []float64{0, 0, 1, 1}
		for n := 3; n > 0; n-- {
			for j := range n {
				p[j] = p[j]*(1-x) + p[j+1]*x
			}
		}
		assert.InDelta(t, p[0], Eased(model.EaseSmooth, x), 1e-12, "at %v", x)
	}
}

func TestEased(t *testing.T) {
	for _, c := range []struct {
		ease    model.Ease
		t, want float64
	}{
		{model.EaseLinear, 0.25, 0.25},
		{model.EaseSmooth, 0.25, 0.15625},
		{model.EaseSmooth, 0.75, 0.84375},
		{model.EaseIn, 0.25, 0.0625},
		{model.EaseIn, 0.75, 0.5625},
		{model.EaseOut, 0.25, 0.4375},
		{model.EaseOut, 0.75, 0.9375},
		{"", 0.25, 0.15625}, // "smooth" unless said otherwise
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

func TestLeastTime(t *testing.T) {
	o := &model.Output{Kind: model.KindServo, MaxSpeed: 200}
	// 40° at 200°/s are 0.2 s at a constant speed.
	assert.Equal(t, 200*time.Millisecond, LeastTime(o, -10, 30, model.EaseLinear))
	assert.Equal(t, 300*time.Millisecond, LeastTime(o, 30, -10, model.EaseSmooth))
	assert.Equal(t, 400*time.Millisecond, LeastTime(o, -10, 30, model.EaseIn))
	assert.Equal(t, 400*time.Millisecond, LeastTime(o, -10, 30, model.EaseOut))
	o.MaxSpeed = 0
	assert.Zero(t, LeastTime(o, -10, 30, model.EaseOut))
	o.MaxSpeed = 1e-300
	assert.Equal(t, 365*24*time.Hour, LeastTime(o, -10, 30, model.EaseOut))
}
