package sketch

import (
	"hash/crc32"
	"math/bits"

	"propwright/model/board"
	"propwright/model/check"
	"propwright/model/ir"
	"propwright/model/machine"
)

// LiveBaud is the rate of the serial line on which a prop reports what it does.
const LiveBaud = 115200

// LiveMark identifies the program whose numbers a prop reports: 16 bits of a
// digest of its states' and events' names, which the firmware knows only by
// number. It is never 0.
func LiveMark(p *machine.Program) uint16 {
	sum := crc32.NewIEEE()
	for i := range p.Design.States {
		sum.Write([]byte(p.Design.States[i].Name + "\n"))
	}
	for _, e := range p.Events {
		sum.Write([]byte(e.String() + "\n"))
	}
	return uint16(sum.Sum32()) | 1
}

// live sets up the UART for the prop's reports, if the design asks for them.
func (b *builder) live() {
	if !b.d.Prop.Live {
		return
	}
	at := b.d.Prop.At("live")
	if b.board.Portable || b.board.USB {
		b.fault(at, "take out live = true, or use an atmega328p or an atmega2560",
			"the firmware for the %s has no serial line on which it could tell what goes on", b.board.Name)
		return
	}
	rx, _ := b.board.RolePin(board.RXD)
	tx, _ := b.board.RolePin(board.TXD)
	elsewhere := func(what string, pin int) bool {
		if pin != rx.Number && pin != tx.Number {
			return true
		}
		b.fault(at, "take out live = true, or give it another pin",
			"live needs the serial line on pins %d and %d, and %s is on pin %d", rx.Number, tx.Number, what, pin)
		return false
	}
	free := elsewhere("the receiver", b.d.Remote.Pin)
	for i := range b.d.Inputs {
		free = free && elsewhere("input "+b.d.Inputs[i].Name, b.d.Inputs[i].Pin)
	}
	for i := range b.d.Outputs {
		o := &b.d.Outputs[i]
		if o.Kind.HasMessages() {
			b.fault(at, "take out live = true as long as messages are sent, or start sounds by pulse outputs on other pins",
				"the %s has one serial line, and output %s sends its messages on it", b.board.Name, o.Name)
			return
		}
		free = free && (o.Bus != 0 || elsewhere("output "+o.Name, o.Pin))
	}
	if !free {
		return
	}
	b.Live = LiveMark(b.p)
	b.setup("PORT%c |= _BV(%d); /* pin %d: the serial line's input, pulled up */", rx.Port, rx.Bit, rx.Number)
	b.serial(at, LiveBaud)
	b.setup("UCSR%dB = _BV(TXEN%d) | _BV(RXEN%d);", b.UART, b.UART, b.UART)
}

// Heard returns the code of a frame that a live firmware reports as no button's: the
// number of the decoder, what the decoder holds, and of a frame of more than 32 bits
// those that have left it. It is the inverse of code. It reports false for a
// fingerprint, from which the code cannot be restored.
func Heard(s *check.Study, decoder int, frame uint32, early uint16) (ir.Code, bool) {
	f, err := firmwareOf.Of(s)
	if err != nil || decoder >= len(f.Waves) {
		return ir.Code{}, false
	}
	w := f.Waves[decoder].Wave
	var n int
	var sent uint64
	switch {
	case w.Family == ir.Unknown || frame == 0:
		return ir.Code{}, false
	case w.HighFirst:
		n = bits.Len32(frame) - 1
		sent = uint64(frame) &^ (1 << n)
	case len(w.Bits) > 1:
		n = 31 - bits.TrailingZeros32(frame)
		sent = uint64(frame) >> (32 - n)
	default:
		n = w.Bits[0]
		sent = uint64(frame)
		if n <= 32 {
			sent >>= 32 - n
		} else {
			sent = sent<<(n-32) | uint64(early)
		}
	}
	return w.Code(sent, n)
}
