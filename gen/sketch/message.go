package sketch

import (
	"fmt"
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
	b.serial(o.At("baud"), o.Baud)
	b.setup("UCSR%dB = _BV(TXEN%d);", b.UART, b.UART)
}
