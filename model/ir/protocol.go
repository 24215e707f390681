package ir

import "time"

// RepeatRule says what a remote sends while a button is held.
type RepeatRule uint8

const (
	// RepeatMark is a short frame without a code: leader mark, a shorter
	// leader space, one mark.
	RepeatMark RepeatRule = iota + 1
)

// A Wave is how a family of protocols modulates bits: pulse distance, least
// significant bit first, after a leader and before one last mark. Times are in
// microseconds.
type Wave struct {
	Carrier     int     // Hz
	Unit        float64 // the time that all others are multiples of
	LeaderMark  float64
	LeaderSpace float64
	Zero, One   Symbol
	Bits        int // at most 32
	Repeat      RepeatRule
	RepeatSpace float64       // the leader space of a repeat frame
	Period      time.Duration // from the start of a frame to the start of the next, while held
	Toggle      bool          // whether a bit of the frame changes with every new press
	Accept      Accept
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
	Mark                                 Limits // of a bit, and the last one
	ZeroSpace, OneSpace                  Limits
}

// nec is the wave of the NEC family. The times are those of Vishay, "Data
// formats for IR remote control", document 80071, section "NEC code"; the
// period is that of the same format in NEC's µPD6121 data sheet.
//
// A bit's time may be off by half a unit, so between a zero's and a one's
// space the limit is the middle; a receiver module lengthens or shortens a
// mark by up to a quarter of a unit or so, at the cost of the space beside it
// (common practice, no published source). A leader mark may be off by a fifth,
// a leader space by a quarter, with the middle between frame and repeat. All
// limits are multiples of 8 µs, so a decoder that counts in steps of 1, 2, 4
// or 8 µs has them exactly, and a bit's in one byte.
var nec = Wave{
	Carrier:     38000,
	Unit:        562.5,
	LeaderMark:  9000,
	LeaderSpace: 4500,
	Zero:        Symbol{562.5, 562.5},
	One:         Symbol{562.5, 1687.5},
	Bits:        32,
	Repeat:      RepeatMark,
	RepeatSpace: 2250,
	Period:      108 * time.Millisecond,
	Accept: Accept{
		LeaderMark:  Limits{7200, 10800},
		LeaderSpace: Limits{3376, 5624},
		RepeatSpace: Limits{1688, 3376},
		Mark:        Limits{280, 848},
		ZeroSpace:   Limits{280, 1128},
		OneSpace:    Limits{1128, 1968},
	},
}

// waves lists the waves a Decoder follows.
var waves = [...]*Wave{&nec}

// A Protocol is a way to write an address and a command into a wave's bits.
type Protocol struct {
	Name        string
	AddressBits int
	CommandBits int
	Wave        *Wave
	Layout      []Field // in the order of sending; the widths add up to Wave.Bits
}

// A Part is what a field of a frame holds a piece of.
type Part uint8

const (
	Address Part = iota
	Command
)

// A Field is a run of bits of a frame: Bits bits of a part, from bit Shift
// upwards, each inverted where Inverted is set. A part's bits that come twice
// must agree.
type Field struct {
	Part        Part
	Shift, Bits int
	Inverted    bool
}

// protocols lists the protocols. Of two on one wave a frame is the first one
// that it fits. An extended NEC address is written in the order of sending:
// its high byte goes first, as in the scancodes of Linux ("Remote Controller
// Protocols and Scancodes", Linux kernel documentation, section "nec").
var protocols = []Protocol{
	{
		Name: "nec", AddressBits: 8, CommandBits: 8, Wave: &nec,
		Layout: []Field{
			{Address, 0, 8, false}, {Address, 0, 8, true},
			{Command, 0, 8, false}, {Command, 0, 8, true},
		},
	},
	{
		Name: "necx", AddressBits: 16, CommandBits: 8, Wave: &nec,
		Layout: []Field{
			{Address, 8, 8, false}, {Address, 0, 8, false},
			{Command, 0, 8, false}, {Command, 0, 8, true},
		},
	},
}

// Protocols lists the protocols that can be written in a code, simplest first.
func Protocols() []Protocol {
	return append([]Protocol(nil), protocols...)
}

// find returns the protocol of that name, or nil.
func find(name string) *Protocol {
	for i := range protocols {
		if protocols[i].Name == name {
			return &protocols[i]
		}
	}
	return nil
}

// pack writes a code into a frame's bits, the first sent being bit 0.
func (p *Protocol) pack(c Code) uint32 {
	var frame uint32
	at := 0
	for _, f := range p.Layout {
		v := c.part(f.Part) >> f.Shift
		if f.Inverted {
			v = ^v
		}
		frame |= v & mask(f.Bits) << at
		at += f.Bits
	}
	return frame
}

// unpack reads a code from a frame's bits; false where bits that are sent
// twice disagree.
func (p *Protocol) unpack(frame uint32) (Code, bool) {
	c := Code{Protocol: p.Name}
	at := 0
	for _, f := range p.Layout {
		v := frame >> at
		if f.Inverted {
			v = ^v
		}
		v = v & mask(f.Bits) << f.Shift
		if f.Part == Address {
			c.Address |= v
		} else {
			c.Command |= v
		}
		at += f.Bits
	}
	return c, p.pack(c) == frame
}

// unpack finds the protocol that a frame of w fits.
func (w *Wave) unpack(frame uint32) (Code, bool) {
	for i := range protocols {
		if p := &protocols[i]; p.Wave == w {
			if c, ok := p.unpack(frame); ok {
				return c, true
			}
		}
	}
	return Code{}, false
}

func mask(bits int) uint32 { return 1<<bits - 1 }
