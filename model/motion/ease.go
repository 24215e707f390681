package motion

import (
	"math"
	"time"

	"propwright/model"
)

// Frame is the time from one update of servos and pixels to the next.
const Frame = 20 * time.Millisecond

// Frames is d rounded up to whole frames.
func Frames(d time.Duration) time.Duration {
	return (d + Frame - 1) / Frame * Frame
}

// Eased is how much of a move is done when the share t, 0..1, of its time has
// passed. An ease that is not said is "smooth".
func Eased(e model.Ease, t float64) float64 {
	t = min(max(t, 0), 1)
	switch e {
	case model.EaseLinear:
		return t
	case model.EaseIn:
		return t * t
	case model.EaseOut:
		return 1 - (1-t)*(1-t)
	default:
		return t * t * t * (10 + t*(6*t-15))
	}
}

// Peak is the highest speed of a move as a multiple of its average speed.
func Peak(e model.Ease) float64 {
	switch e {
	case model.EaseLinear:
		return 1
	case model.EaseIn, model.EaseOut:
		return 2
	default:
		return 15.0 / 8
	}
}

// PeakAccel is the highest acceleration of a move as a multiple of its way
// through the square of its time. A linear move has none on its way; the jumps
// of speed with which linear begins and ends, "in" ends and "out" begins, are
// left out of account.
func PeakAccel(e model.Ease) float64 {
	switch e {
	case model.EaseLinear:
		return 0
	case model.EaseIn, model.EaseOut:
		return 2
	default:
		return 10 / math.Sqrt(3)
	}
}
