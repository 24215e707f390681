package ir

import (
	"math"
	"time"
)

// Encode gives the first frame of a press of c: marks and spaces in turn,
// in microseconds, from the first mark to the last. Each edge is at the
// microsecond nearest to its place, so the rounding does not add up.
// It returns nil for a protocol that is not known.
func Encode(c Code) []int {
	p := find(c.Protocol)
	if p == nil {
		return nil
	}
	w := p.Wave
	frame := p.pack(c)
	times := []float64{w.LeaderMark, w.LeaderSpace}
	for i := range w.Bits {
		s := w.Zero
		if frame>>i&1 == 1 {
			s = w.One
		}
		times = append(times, s.Mark, s.Space)
	}
	return round(append(times, w.Zero.Mark))
}

// EncodeRepeat gives the frame that follows each period while the button of c
// is held, in the same form.
func EncodeRepeat(c Code) []int {
	p := find(c.Protocol)
	if p == nil {
		return nil
	}
	return round([]float64{p.Wave.LeaderMark, p.Wave.RepeatSpace, p.Wave.Zero.Mark})
}

// RepeatPeriod is the time from the start of a frame to the start of the next
// one while the button is held; 0 for a protocol that is not known.
func (c Code) RepeatPeriod() time.Duration {
	if p := find(c.Protocol); p != nil {
		return p.Wave.Period
	}
	return 0
}

// round turns durations into whole ones whose sums are the nearest to those
// of the given ones.
func round(durations []float64) []int {
	whole := make([]int, len(durations))
	var at float64
	last := 0
	for i, d := range durations {
		at += d
		edge := int(math.Round(at))
		whole[i] = edge - last
		last = edge
	}
	return whole
}

// Bits gives a frame's bits as they go on the air, the first one sent being
// bit 0; 0 for a protocol that is not known.
func (c Code) Bits() uint32 {
	if p := find(c.Protocol); p != nil {
		return p.pack(c)
	}
	return 0
}

// Accept gives the limits by which a decoder judges c's frames; false for a
// protocol that is not known.
func (c Code) Accept() (Accept, bool) {
	if p := find(c.Protocol); p != nil {
		return p.Wave.Accept, true
	}
	return Accept{}, false
}
