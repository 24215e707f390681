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
	takes: func(f *firmware) share {
		n := len(f.Messages)
		if n == 0 {
			return share{tables: []table{{"pw_message_at", 2, 0}, {"pw_message_bytes", 1, 0}}}
		}
		return share{
			code:      298,
			variables: []variable{{"outbox", f.Outbox}, {"outbox_first", 1}, {"outbox_count", 1}, {"outbox_byte", 2}, {"sending", 1}},
			tables:    []table{{"pw_message_at", 2, n + 1 /* where the last one ends */}, {"pw_message_bytes", 1, f.MessageBytes}},
		}
	},
}

// messages are those of all outputs of a firmware.
type messages struct {
	Messages     []message
	MessageBytes int
	Outbox       int // messages that can wait
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
