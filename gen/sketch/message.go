package sketch

import (
	"fmt"
	"math"
	"strings"

	"propwright/model"
)

var messageKind = outputKind{
	wire: func(b *builder, o *model.Output, _ place) { b.messages(o) },
	cue: func(b *builder, _ *model.Output, a model.Action, c *cue) bool {
		c.What, c.Value = "PW_CUE_SEND", b.messageOf[a.Send]
		return true
	},
}

type message struct {
	At     int
	Bytes  string
	Remark string
}

func (b *builder) messages(o *model.Output) {
	for i := range o.Messages {
		m := &o.Messages[i]
		b.messageOf[m.Name] = len(b.Messages)
		var hex []string
		for _, by := range m.Bytes {
			hex = append(hex, fmt.Sprintf("0x%02X", by))
		}
		b.Messages = append(b.Messages, message{b.MessageBytes, strings.Join(hex, ", "), remark(m.Name, m.Note)})
		b.MessageBytes += len(m.Bytes)
	}
	if b.board.Portable {
		b.setup("Serial1.begin(%d); /* %s */", o.Baud, o.Name)
		return
	}
	divisor, double, off := uart(b.board.ClockHz, o.Baud)
	if math.Abs(off) > mostBaudOff {
		way := "slower"
		if off > 0 {
			way = "faster"
		}
		b.fault(o.At("baud"), fmt.Sprintf("choose a rate that it can, such as %s, and set the other side to the same", ratesNear(b.board.ClockHz, o.Baud)),
			"the UART of the %s sends %.1f %% %s than %d baud: the other side misreads that",
			b.board.Name, math.Abs(off)*100, way, o.Baud)
		return
	}
	u := b.UART
	b.setup("UBRR%d = %d; /* %d baud */", u, divisor, o.Baud)
	if double {
		b.setup("UCSR%dA = _BV(U2X%d);", u, u)
	} else {
		b.setup("UCSR%dA = 0; /* where the boot loader may have left U2X%d on */", u, u)
	}
	b.setup("UCSR%dC = _BV(UCSZ%d1) | _BV(UCSZ%d0); /* 8 bits, no parity, one stop bit */", u, u, u)
	b.setup("UCSR%dB = _BV(TXEN%d);", u, u)
}
