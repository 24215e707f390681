package ir

import (
	"math"
	"time"
)

// Encode gives the first frame of a press of c: marks and spaces in turn,
// in microseconds, from the first mark to the last. Each edge is at the
// microsecond nearest to its place, so the rounding does not add up. Of a raw
// code it is a frame with that fingerprint, not the remote's own.
// It returns nil for a protocol that is not known.
func Encode(c Code) []int { return EncodePress(c, false) }

// EncodePress is Encode with the toggle bit chosen; a protocol without one
// has the same frame for both.
func EncodePress(c Code, toggle bool) []int {
	p := find(c.Protocol)
	switch {
	case p == nil:
		return nil
	case p.Wave.Family == Unknown:
		return round(encodeRaw(c.Command))
	}
	var times []float64
	if p.Wave.LeaderMark > 0 {
		times = []float64{p.Wave.LeaderMark, p.Wave.LeaderSpace}
	}
	return round(p.modulate(times, p.pack(c, toggle)))
}

// EncodeRepeat gives the frame that follows each period while the button of c
// is held, in the same form and with the toggle of Encode; nil for a code
// that does not repeat or is not known.
func EncodeRepeat(c Code) []int { return EncodeHeld(c, false) }

// EncodeHeld is EncodeRepeat with the toggle bit chosen.
func EncodeHeld(c Code, toggle bool) []int {
	p := find(c.Protocol)
	switch {
	case p == nil || c.RepeatPeriod() == 0:
		return nil
	case c.Repeats() == RepeatMark:
		return round([]float64{p.Wave.LeaderMark, p.Wave.RepeatSpace, p.Wave.Zero.Mark})
	case c.Repeats() == RepeatBare:
		return round(p.modulate(nil, p.pack(c, toggle)))
	}
	return EncodePress(c, toggle)
}

// modulate adds a frame's bits to its leader.
func (p *Protocol) modulate(times []float64, frame uint64) []float64 {
	w, n := p.Wave, p.Bits()
	level := len(times) % 2 // the level of the last time: 1 a mark, 0 a space
	add := func(mark int, t float64) {
		switch {
		case mark == level && len(times) > 0:
			times[len(times)-1] += t
		case mark == 1 || len(times) > 0: // a space before the first mark is silence
			times = append(times, t)
		}
		level = mark
	}
	for i := range n {
		at := i
		if w.HighFirst {
			at = n - 1 - i
		}
		one := frame>>at&1 == 1
		switch {
		case w.Family == BiPhase:
			half := w.Unit
			if i+1 == w.Wide {
				half *= 2
			}
			first := 0
			if one == w.OneIsMark {
				first = 1
			}
			add(first, half)
			add(1-first, half)
		case one:
			add(1, w.One.Mark)
			add(0, w.One.Space)
		default:
			add(1, w.Zero.Mark)
			add(0, w.Zero.Space)
		}
	}
	if w.Family == PulseDistance {
		add(1, w.Zero.Mark)
	}
	if level == 0 {
		times = times[:len(times)-1] // the last space is silence
	}
	return times
}

// RepeatPeriod is the time from the start of a frame to the start of the next
// one while the button is held; 0 for a code that does not repeat and for a
// protocol that is not known.
func (c Code) RepeatPeriod() time.Duration {
	p := find(c.Protocol)
	switch {
	case p == nil:
		return 0
	case p.Wave.Family == Unknown:
		return time.Duration(c.Address) * time.Millisecond
	}
	return p.Wave.Period
}

// Repeats is what the remote sends while the button is down; 0 for a protocol that
// is not known.
func (c Code) Repeats() RepeatRule {
	p := find(c.Protocol)
	switch {
	case p == nil:
		return 0
	case c.Resent && p.Wave.Repeat != RepeatToggle:
		return RepeatFrame
	}
	return p.Wave.Repeat
}

// soonAgain is the least time that is left for a second press where it cannot be
// told from a repeat: a hand presses a button about six times a second at most
// (common practice, no published source).
const soonAgain = 162 * time.Millisecond

// Bridged is how many repeats in a row may be lost without the button counting as
// released: two where a new press can be told from a repeat; else as many as leave
// a second press time, none at the least.
func (c Code) Bridged() int {
	lost := 2
	for c.Repeats() == RepeatFrame && lost > 0 && lasting(c.RepeatPeriod(), lost) > soonAgain {
		lost--
	}
	return lost
}

// Lasting is how long after its last frame a button counts as down, unless
// another frame comes.
func (c Code) Lasting() time.Duration {
	if period := c.RepeatPeriod(); period > 0 {
		return lasting(period, c.Bridged())
	}
	return soonAgain
}

// lasting leaves the frame after the lost ones half a period.
func lasting(period time.Duration, lost int) time.Duration {
	return period * time.Duration(2*lost+3) / 2
}

// FirstRepeat is the time from the end of a press's first frame to the end of
// the frame that repeats it: the repeat period, but less where the repeating
// frame is the shorter one. 0 for a code that does not repeat.
func (c Code) FirstRepeat() time.Duration {
	period := c.RepeatPeriod()
	if period == 0 {
		return 0
	}
	length := func(times []int) (sum time.Duration) {
		for _, us := range times {
			sum += time.Duration(us) * time.Microsecond
		}
		return sum
	}
	return period - length(Encode(c)) + length(EncodeRepeat(c))
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

// Known gives the description of c's protocol; false where it is not known.
func (c Code) Known() (p Protocol, ok bool) {
	if found := find(c.Protocol); found != nil {
		return *found, true
	}
	return Protocol{}, false
}

// Bits gives the bits of c's frame with the toggle not set. The first one sent
// is bit 0 or, where the wave has HighFirst, the highest; 0 for a protocol
// that is not known.
func (c Code) Bits() uint64 {
	if p := find(c.Protocol); p != nil {
		return p.pack(c, false)
	}
	return 0
}
