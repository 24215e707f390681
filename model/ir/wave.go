package ir

import (
	"math"
	"time"
)

// A Family is a way to put bits on the air.
type Family uint8

const (
	// PulseDistance: marks of one length, a bit is in the space after each;
	// one more mark ends the last space.
	PulseDistance Family = iota + 1
	// PulseWidth: a bit is in the mark, the spaces between have one length.
	PulseWidth
	// BiPhase: a bit is one half mark, one half space; their order is its value.
	BiPhase
	// Unknown: nothing is known of the bits; see the function Fingerprint.
	Unknown
)

// A RepeatRule says what a remote sends every period while a button is held.
type RepeatRule uint8

const (
	// RepeatMark is a short frame without a code: leader mark, a shorter
	// leader space, one mark.
	RepeatMark RepeatRule = iota + 1
	// RepeatFrame is the same frame again. A new press can be told from it
	// only by the time that has passed.
	RepeatFrame
	// RepeatBare is the same frame again without its leader.
	RepeatBare
	// RepeatToggle is the same frame again; a bit of it, the toggle, is
	// another with every new press.
	RepeatToggle
)

// A Wave is how a group of protocols puts bits on the air. Times are in
// microseconds.
type Wave struct {
	Name        string
	Title       string // for the firmware's decoder: who uses it and where a bit is
	Family      Family
	Carrier     int     // Hz
	Unit        float64 // the time that all others are multiples of; of BiPhase, half a bit
	LeaderMark  float64 // 0: the frame begins with its first bit
	LeaderSpace float64
	Zero, One   Symbol // not of BiPhase
	Bits        []int  // how many a frame may have, the most last
	HighFirst   bool   // the highest bit of a number is sent first
	OneIsMark   bool   // BiPhase: a one begins with its mark, not with its space
	Wide        int    // BiPhase: the bit that is twice as wide, counted from 1 as sent; 0: none
	Repeat      RepeatRule
	RepeatSpace float64       // RepeatMark: the leader space of that frame
	Period      time.Duration // from the start of a frame to the start of the next, while held
	// Silence, if not 0, must follow a frame, because frames of other
	// protocols begin alike; where there is no leader it must come before
	// one, too. Where it is 0 a frame ends with its last mark.
	Silence int
	// LeaderMost, if not 0, is more than a leader's mark and space are together,
	// and less than those of another wave's leader that is like it. A receiver
	// that stretches the mark shortens the space, so the sum tells them apart.
	LeaderMost int
	// Alone is whether a leader counts only after silence, because a leader of
	// another wave that is broken in two looks like it.
	Alone  bool
	Accept Accept // follows from the times; see tolerance

	protocols []Protocol // of two that a frame fits, the first one counts
	// What keymaps call it, and the code that one of its scancodes there
	// stands for in a variant, "" where none is said; the code may have more
	// bits than its protocol. "": keymaps do not have it.
	keymap   string
	scancode func(variant string, v uint32) (Code, error)
}

// A Symbol is a bit's mark and the space after it.
type Symbol struct{ Mark, Space float64 }

// Limits are the measured times, Lo <= t < Hi, that count as one symbol.
type Limits struct{ Lo, Hi int }

// Holds reports whether a time of us microseconds is within the limits.
func (l Limits) Holds(us int) bool { return l.Lo <= us && us < l.Hi }

// Accept holds the limits, in microseconds, by which a decoder judges what it
// measures. The firmware's decoder is given the same numbers, so both take
// the same decision on the same time.
type Accept struct {
	LeaderMark, LeaderSpace, RepeatSpace Limits

	Zero, One Limits // of the time that carries a bit: a space of PulseDistance, a mark of PulseWidth
	Fixed     Limits // of the other time of a bit

	Halves [3]Limits // BiPhase: of one, two, three halves in a row
}

// Silences: longer than any time inside a frame, shorter than what lies
// between two frames of a remote. Nothing is known of the times of a frame
// that only its fingerprint tells, so it needs a longer one.
const (
	Silence    = 5000
	rawSilence = 10000
)

// tolerance works out a wave's limits from its times. A bit's time may be
// off by half a unit, so between a zero's and a one's the limit is the
// middle; a receiver module lengthens or shortens a mark by up to a quarter of
// a unit or so, at the cost of the space beside it (common practice, no
// published source). A leader mark may be off by a fifth, a leader space by a
// quarter or half a unit, with the middle between frame and repeat; no bit's
// space counts as a leader's. All limits are multiples
// of 8 µs, so a decoder that counts in steps of 1, 2, 4 or 8 µs has them
// exactly, and a bit's in one byte.
func tolerance(w *Wave) Accept {
	var a Accept
	if w.Family == Unknown {
		return a
	}
	limits := func(lo, hi float64) Limits { return Limits{steps(lo), steps(hi)} }
	if w.LeaderMark > 0 {
		a.LeaderMark = limits(0.8*w.LeaderMark, 1.2*w.LeaderMark)
		slack := max(w.LeaderSpace/4, w.Unit/2)
		a.LeaderSpace = limits(w.LeaderSpace-slack, w.LeaderSpace+slack)
	}
	if w.RepeatSpace > 0 {
		middle := (w.RepeatSpace + w.LeaderSpace) / 2
		a.LeaderSpace.Lo = steps(middle)
		a.RepeatSpace = limits(0.75*w.RepeatSpace, middle)
	}
	half := w.Unit / 2
	zero, one, fixed := w.Zero.Space, w.One.Space, w.Zero.Mark
	switch w.Family {
	case BiPhase:
		for i := range a.Halves {
			n := float64(i + 1)
			a.Halves[i] = limits(n*w.Unit-half, n*w.Unit+half)
		}
		return a
	case PulseWidth:
		zero, one, fixed = w.Zero.Mark, w.One.Mark, w.Zero.Space
	}
	middle := (zero + one) / 2
	a.Zero = limits(zero-half, middle)
	a.One = limits(middle, one+half)
	a.Fixed = limits(fixed-half, fixed+half)
	if w.Family == PulseDistance {
		a.LeaderSpace.Lo = max(a.LeaderSpace.Lo, a.One.Hi) // no bit is a leader
	}
	return a
}

func (w *Wave) most() int { return w.Bits[len(w.Bits)-1] }

func steps(us float64) int { return 8 * int(math.Round(us/8)) }

// waves lists the waves that a Decoder follows: of two that a frame fits, the
// first one counts.
var waves = [...]*Wave{&nec, &samsung, &jvc, &kaseikyo, &sirc, &rc5, &rc6, &raw}
