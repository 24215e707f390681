package ir

// A Protocol is a way to write an address and a command into the bits of a
// wave.
type Protocol struct {
	Name        string
	AddressBits int
	CommandBits int
	Wave        *Wave
	Layout      []Field // in the order of sending
}

// A Part is what a field of a frame holds.
type Part uint8

const (
	Address Part = iota
	Command
	Toggle // another with every press
	Ones   // always set
	Zeros  // never set
	Parity // the exclusive or of earlier bits
)

// A Field is a run of bits of a frame: Bits bits of an address or a command,
// from bit Shift upwards, each inverted where Inverted is set. A part's bits
// that come twice must agree. A Parity field is the exclusive or of the
// groups of Bits bits from the frame's bit Shift up to this field.
type Field struct {
	Part        Part
	Shift, Bits int
	Inverted    bool
}

// protocols lists the protocols. Of two on one wave a frame is the first one
// that it fits.
//
// Extended NEC addresses, and both numbers of NEC with 32 free bits, are
// written in the order of sending: the high byte goes first, as in the
// scancodes of Linux ("Remote Controller Protocols and Scancodes", Linux
// kernel documentation, section "nec").
//
// rc5 is RC-5 with RC-5X: the second start bit is the inverse of the
// command's bit 6 (S. Bergmans, "Philips RC-5 Protocol", SB-Projects).
//
// sirc20's address is the 5-bit one with the 8 extended bits above it.
//
// kaseikyo's address is the vendor (16 bits) followed by the 12 bits of both
// genres, as sent; the check byte is that of Panasonic (JP1 wiki,
// "Kaseikyo", and J. Fine on {37k,432}<1,-1|1,-3>(8,-4,2:8,32:8,D:8,S:8,F:8,(D^S^F):8,1,-173)+).
//
// raw's address is the repeat period in milliseconds, 0 for a remote that
// sends once, and its command the fingerprint.
var protocols = []Protocol{
	{
		Name: "nec", AddressBits: 8, CommandBits: 8, Wave: wave("nec"),
		Layout: []Field{{Address, 0, 8, false}, {Address, 0, 8, true}, {Command, 0, 8, false}, {Command, 0, 8, true}},
	},
	{
		Name: "necx", AddressBits: 16, CommandBits: 8, Wave: wave("nec"),
		Layout: []Field{{Address, 8, 8, false}, {Address, 0, 8, false}, {Command, 0, 8, false}, {Command, 0, 8, true}},
	},
	{
		Name: "nec32", AddressBits: 16, CommandBits: 16, Wave: wave("nec"),
		Layout: []Field{{Address, 8, 8, false}, {Address, 0, 8, false}, {Command, 8, 8, false}, {Command, 0, 8, false}},
	},
	{
		Name: "samsung32", AddressBits: 16, CommandBits: 8, Wave: wave("samsung"),
		Layout: []Field{{Address, 0, 16, false}, {Command, 0, 8, false}, {Command, 0, 8, true}},
	},
	{
		Name: "jvc", AddressBits: 8, CommandBits: 8, Wave: wave("jvc"),
		Layout: []Field{{Address, 0, 8, false}, {Command, 0, 8, false}},
	},
	{
		Name: "kaseikyo", AddressBits: 28, CommandBits: 8, Wave: wave("kaseikyo"),
		Layout: []Field{
			{Address, 12, 16, false}, {Parity, 0, 4, false}, {Address, 0, 12, false},
			{Command, 0, 8, false}, {Parity, 16, 8, false},
		},
	},
	{
		Name: "sirc12", AddressBits: 5, CommandBits: 7, Wave: wave("sirc"),
		Layout: []Field{{Command, 0, 7, false}, {Address, 0, 5, false}},
	},
	{
		Name: "sirc15", AddressBits: 8, CommandBits: 7, Wave: wave("sirc"),
		Layout: []Field{{Command, 0, 7, false}, {Address, 0, 8, false}},
	},
	{
		Name: "sirc20", AddressBits: 13, CommandBits: 7, Wave: wave("sirc"),
		Layout: []Field{{Command, 0, 7, false}, {Address, 0, 13, false}},
	},
	{
		Name: "rc5", AddressBits: 5, CommandBits: 7, Wave: wave("rc5"),
		Layout: []Field{
			{Ones, 0, 1, false}, {Command, 6, 1, true}, {Toggle, 0, 1, false},
			{Address, 0, 5, false}, {Command, 0, 6, false},
		},
	},
	{
		Name: "rc6", AddressBits: 8, CommandBits: 8, Wave: wave("rc6"),
		Layout: []Field{
			{Ones, 0, 1, false}, {Zeros, 0, 3, false}, {Toggle, 0, 1, false},
			{Address, 0, 8, false}, {Command, 0, 8, false},
		},
	},
	{
		Name: "raw", AddressBits: 16, CommandBits: 32, Wave: wave("raw"),
		Layout: []Field{{Command, 0, 32, false}, {Address, 0, 16, false}},
	},
}

// Protocols lists the protocols that can be written in a code, of those on
// one wave the simplest first.
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

// Bits is the number of bits in a frame.
func (p *Protocol) Bits() int {
	n := 0
	for _, f := range p.Layout {
		n += f.Bits
	}
	return n
}

// HasCheck reports whether a frame has bits that say nothing new, so that a
// disturbed one is noticed.
func (p *Protocol) HasCheck() bool {
	n := p.AddressBits + p.CommandBits
	for _, f := range p.Layout {
		if f.Part != Toggle && f.Part != Ones && f.Part != Zeros {
			n -= f.Bits
		}
	}
	return n < 0
}

// TogglePlace is the bit of Code.Bits that is the toggle; false where there is
// none.
func (p *Protocol) TogglePlace() (place int, ok bool) {
	at := 0
	for _, f := range p.Layout {
		if f.Part == Toggle {
			if p.Wave.HighFirst {
				return p.Bits() - 1 - at, true
			}
			return at, true
		}
		at += f.Bits
	}
	return 0, false
}

// pack writes a code into a frame's bits. The first one sent is bit 0 or,
// where a wave sends the highest bit first, the highest one.
func (p *Protocol) pack(c Code, toggle bool) uint64 {
	var frame uint64
	at := 0
	for _, f := range p.Layout {
		var v uint64
		switch f.Part {
		case Address:
			v = uint64(c.Address) >> f.Shift
		case Command:
			v = uint64(c.Command) >> f.Shift
		case Toggle:
			if toggle {
				v = 1
			}
		case Ones:
			v = ^uint64(0)
		case Parity:
			for from := f.Shift; from < at; from += f.Bits {
				v ^= frame >> from
			}
		}
		if f.Inverted {
			v = ^v
		}
		v &= mask(f.Bits)
		if p.Wave.HighFirst {
			frame = frame<<f.Bits | v
		} else {
			frame |= v << at
		}
		at += f.Bits
	}
	return frame
}

// unpack reads a code from a frame's bits; false where bits are not as the
// protocol has them.
func (p *Protocol) unpack(frame uint64) (c Code, toggle, ok bool) {
	c.Protocol = p.Name
	var address, command uint64
	at, n := 0, p.Bits()
	for _, f := range p.Layout {
		shift := at
		if p.Wave.HighFirst {
			shift = n - at - f.Bits
		}
		v := frame >> shift
		if f.Inverted {
			v = ^v
		}
		v &= mask(f.Bits)
		switch f.Part {
		case Address:
			address |= v << f.Shift
		case Command:
			command |= v << f.Shift
		case Toggle:
			toggle = v != 0
		}
		at += f.Bits
	}
	c.Address, c.Command = uint32(address), uint32(command)
	return c, toggle, p.pack(c, toggle) == frame
}

// unpack finds the protocol that a frame of so many bits fits.
func (w *Wave) unpack(frame uint64, bits int) (c Code, toggle, ok bool) {
	for i := range protocols {
		if p := &protocols[i]; p.Wave == w && p.Bits() == bits {
			if c, toggle, ok = p.unpack(frame); ok {
				return c, toggle, true
			}
		}
	}
	return Code{}, false, false
}

func mask(bits int) uint64 { return 1<<bits - 1 }
