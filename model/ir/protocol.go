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

// protocols lists the protocols of all waves, whose limits it works out.
var protocols = func() []Protocol {
	var list []Protocol
	for _, w := range waves {
		w.Accept = tolerance(w)
		for _, p := range w.protocols {
			p.Wave = w
			list = append(list, p)
		}
	}
	return list
}()

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

// Codes gives the codes with the least and with the greatest numbers.
func (p *Protocol) Codes() (least, greatest Code) {
	return Code{Protocol: p.Name}, Code{Protocol: p.Name, Address: uint32(mask(p.AddressBits)), Command: uint32(mask(p.CommandBits))}
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

// Code is the code of a whole frame of so many bits, in the order of Code.Bits;
// false where no protocol of the wave has it.
func (w *Wave) Code(frame uint64, bits int) (Code, bool) {
	c, _, ok := w.unpack(frame, bits)
	return c, ok
}

func mask(bits int) uint64 { return 1<<bits - 1 }
