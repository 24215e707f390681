package ir

// A Frame is one decoded frame.
type Frame struct {
	Code   Code
	Repeat bool // the button is still held
	Toggle bool // the toggle bit, where the protocol has one
}

// A Decoder turns measured times into frames. It takes them one at a time,
// keeps no more than the bits so far, and reports a frame with the mark that
// ends it, or where only silence tells its end with the space after it. The
// zero Decoder is ready.
//
// A repeat frame without a code repeats the last whole frame, however long
// ago that was; after a frame that broke off there is nothing to repeat, so
// the button of a broken frame is never taken for the one before it. A
// protocol that sends the whole frame again repeats one after which its button
// still counts as down (Code.Lasting).
type Decoder struct {
	// Raw is whether frames that no protocol fits are reported by their
	// fingerprint, with period 0.
	Raw bool
	// Wave is the only one that is followed; nil: all.
	Wave *Wave

	followers [len(waves)]follower
	stale     bool // the mark to come does not follow a silence
	last      Frame
	lastAt    int // when its last mark ended, on the clock
	clock     int // microseconds

	print print
	known bool // something of the frame that is coming in has been understood
	ended bool // the last time was silence
}

// Feed takes the next time: mark says whether it was one (the receiver's
// output is low for as long), us is its length in microseconds. Two marks or
// two spaces in a row mean that a time between them was lost.
func (d *Decoder) Feed(mark bool, us int) (Frame, bool) {
	d.clock += us
	var frame Frame
	found := false
	for i, w := range &waves {
		if w.Family == Unknown || d.Wave != nil && d.Wave != w {
			continue
		}
		if f, ok := d.followers[i].feed(w, mark, us, !d.stale); ok && !found {
			frame, found = f, true
		}
	}
	if found {
		ended := d.clock
		if !mark {
			ended -= us
		}
		frame = d.judge(frame, ended)
	}
	if d.Raw {
		if f, ok := d.feedRaw(mark, us, found); ok {
			frame, found = f, true
		}
	}
	d.stale = mark || us < Silence
	return frame, found
}

// judge tells a whole frame that is sent again from a new press.
func (d *Decoder) judge(f Frame, ended int) Frame {
	w := find(f.Code.Protocol).Wave
	if w.Repeat == RepeatFrame || w.Repeat == RepeatToggle {
		again := f.Code == d.last.Code && f.Toggle == d.last.Toggle
		f.Repeat = again && ended-d.lastAt < int(f.Code.Lasting().Microseconds())
	}
	d.last, d.lastAt = f, ended
	return f
}

func (d *Decoder) feedRaw(mark bool, us int, known bool) (Frame, bool) {
	d.known = d.known || known
	if mark || us < rawSilence {
		if d.ended || mark || d.print.count > 0 {
			d.print.add(mark, us)
		}
		d.ended = false
		return Frame{}, false
	}
	f := Frame{Code: Code{Protocol: "raw", Command: d.print.hash}}
	ok := d.print.enough() && !d.known
	d.print, d.known, d.ended = print{}, false, true
	return f, ok
}

// A follower follows one wave.
type follower struct {
	next   symbol
	leader int  // the length of the leader's mark, in steps of 8 µs
	bare   bool // the frame has no leader although the first one has
	bits   uint64
	count  int
	half   half
	last   Code
	known  bool // whether last may be repeated
}

// symbol is what a follower waits for.
type symbol uint8

const (
	leaderMark symbol = iota
	leaderSpace
	bitMark
	bitSpace
	lastMark
	repeatMark
	halves  // of BiPhase, marks and spaces
	silence // the frame is whole
)

func (s symbol) isMark() bool {
	return s == leaderMark || s == bitMark || s == lastMark || s == repeatMark
}

// half is what has come of a bi-phase bit.
type half uint8

const (
	neither half = iota
	markHalf
	spaceHalf
)

// feed takes the next time; fresh says whether it follows silence. One that
// does not fit what the follower waits for makes it wait for a frame's
// beginning, which it may be itself.
func (f *follower) feed(w *Wave, mark bool, us int, fresh bool) (Frame, bool) {
	a := &w.Accept
	expected := f.next
	f.next = leaderMark
	if expected == halves && f.take(w, mark, us) {
		return Frame{}, false
	}
	if !mark && w.Silence > 0 && us >= w.Silence && (expected == silence || expected == bitSpace && w.Family == PulseWidth) {
		return f.whole(w)
	}
	if mark == expected.isMark() {
		switch {
		case expected == leaderSpace && w.LeaderMost > 0 && f.leader+us/8 >= w.LeaderMost/8:
		case expected == leaderSpace && a.LeaderSpace.Holds(us):
			f.begin(w)
			f.known = f.known && w.Repeat != RepeatMark
		case expected == leaderSpace && a.RepeatSpace.Holds(us):
			f.next = repeatMark
		case expected == bitMark && w.Family == PulseWidth:
			if a.Zero.Holds(us) || a.One.Holds(us) {
				f.next = bitSpace
				f.bit(w, a.One.Holds(us))
			}
		case expected == bitMark && a.Fixed.Holds(us):
			f.next = bitSpace
		case expected == bitSpace && w.Family == PulseWidth:
			if a.Fixed.Holds(us) && f.count < w.most() {
				f.next = bitMark
			}
		case expected == bitSpace && (a.Zero.Holds(us) || a.One.Holds(us)):
			f.bit(w, a.One.Holds(us))
			f.next = bitMark
			if f.count == w.most() {
				f.next = lastMark
			}
		case expected == lastMark && a.Fixed.Holds(us):
			if w.Silence == 0 {
				return f.whole(w)
			}
			f.next = silence
		case expected == repeatMark && a.Fixed.Holds(us):
			return Frame{Code: f.last, Repeat: true}, f.known
		}
	}
	if mark && f.next == leaderMark {
		f.start(w, us, fresh)
	}
	return Frame{}, false
}

// start looks whether a mark begins a frame.
func (f *follower) start(w *Wave, us int, fresh bool) {
	switch {
	case w.LeaderMark > 0 && (fresh || !w.Alone) && w.Accept.LeaderMark.Holds(us):
		f.next, f.leader = leaderSpace, us/8
	case w.Repeat == RepeatBare && fresh && w.Accept.Fixed.Holds(us):
		f.begin(w)
		f.next, f.bare = bitSpace, true
	case w.LeaderMark == 0 && fresh:
		f.begin(w)
		f.half = spaceHalf // the first bit is a one, its space is silence
		if !f.take(w, true, us) {
			f.next = leaderMark
		}
	}
}

// begin makes ready for a frame's bits.
func (f *follower) begin(w *Wave) {
	f.bits, f.count, f.half, f.bare = 0, 0, neither, false
	f.next = bitMark
	if w.Family == BiPhase {
		f.next = halves
	}
}

// bit adds a bit.
func (f *follower) bit(w *Wave, one bool) {
	var v uint64
	if one {
		v = 1
	}
	if w.HighFirst {
		f.bits = f.bits<<1 | v
	} else {
		f.bits |= v << f.count
	}
	f.count++
}

// take takes a time of a bi-phase frame, one to three halves long.
func (f *follower) take(w *Wave, mark bool, us int) bool {
	n := 0
	for i, l := range w.Accept.Halves {
		if l.Holds(us) {
			n = i + 1
		}
	}
	if n == 0 {
		return false
	}
	level := spaceHalf
	if mark {
		level = markHalf
	}
	for n > 0 {
		width := 1
		if f.count+1 == w.Wide {
			width = 2
		}
		switch {
		case n < width || f.half == level:
			return false
		case f.half == neither:
			f.half = level
		default:
			f.bit(w, (f.half == markHalf) == w.OneIsMark)
			f.half = neither
		}
		n -= width
	}
	most := w.most()
	switch {
	case mark && f.half == markHalf && f.count == most-1: // the rest of the last bit is silence
		f.bit(w, w.OneIsMark)
		f.next = silence
	case mark && f.half == neither && f.count == most:
		f.next = silence
	case f.count >= most:
		return false
	default:
		f.next = halves
	}
	return true
}

// whole reads the frame that has come in.
func (f *follower) whole(w *Wave) (Frame, bool) {
	c, toggle, ok := w.unpack(f.bits, f.count)
	if f.bare {
		return Frame{Code: c, Repeat: true}, ok && f.known && c == f.last
	}
	f.last, f.known = c, ok
	return Frame{Code: c, Toggle: toggle}, ok
}
