package ir

// A Frame is one decoded frame.
type Frame struct {
	Code   Code
	Repeat bool // the button is still held
}

// A Decoder turns measured times into frames. It takes them one at a time,
// keeps no more than the bits so far, and reports a frame with the mark that
// ends it. The zero Decoder is ready.
//
// A repeat frame without a code repeats the last whole frame, however long
// ago that was; after a frame that broke off there is nothing to repeat, so
// the button of a broken frame is never taken for the one before it.
type Decoder struct {
	followers [len(waves)]follower
}

// Feed takes the next time: mark says whether it was one (the receiver's
// output is low for as long), us is its length in microseconds. Two marks or
// two spaces in a row mean that a time between them was lost.
func (d *Decoder) Feed(mark bool, us int) (Frame, bool) {
	var frame Frame
	found := false
	for i, w := range waves {
		if f, ok := d.followers[i].feed(w, mark, us); ok && !found {
			frame, found = f, true
		}
	}
	return frame, found
}

// A follower follows one wave.
type follower struct {
	next  symbol
	bits  uint32
	count int
	last  Code
	known bool // whether last may be repeated
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
)

func (s symbol) isMark() bool { return s != leaderSpace && s != bitSpace }

// feed takes the next time. One that does not fit what the follower waits for
// makes it wait for a leader mark, which it may be itself.
func (f *follower) feed(w *Wave, mark bool, us int) (Frame, bool) {
	a := &w.Accept
	expected := f.next
	f.next = leaderMark
	if mark == expected.isMark() {
		switch {
		case expected == leaderSpace && a.LeaderSpace.Holds(us):
			f.next, f.bits, f.count, f.known = bitMark, 0, 0, false
		case expected == leaderSpace && a.RepeatSpace.Holds(us):
			f.next = repeatMark
		case expected == bitMark && a.Mark.Holds(us):
			f.next = bitSpace
		case expected == bitSpace && a.ZeroSpace.Holds(us):
			f.take(w, 0)
		case expected == bitSpace && a.OneSpace.Holds(us):
			f.take(w, 1)
		case expected == lastMark && a.Mark.Holds(us):
			f.last, f.known = w.unpack(f.bits)
			return Frame{Code: f.last}, f.known
		case expected == repeatMark && a.Mark.Holds(us):
			return Frame{Code: f.last, Repeat: true}, f.known
		}
	}
	if mark && f.next == leaderMark && a.LeaderMark.Holds(us) {
		f.next = leaderSpace
	}
	return Frame{}, false
}

func (f *follower) take(w *Wave, bit uint32) {
	f.bits |= bit << f.count
	f.count++
	f.next = bitMark
	if f.count == w.Bits {
		f.next = lastMark
	}
}
