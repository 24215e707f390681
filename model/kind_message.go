package model

import "fmt"

// KindMessage is named byte strings on the hardware UART.
const KindMessage OutputKind = "message"

var message = outputKind{
	kind:    KindMessage,
	noun:    "a message",
	purpose: "sends bytes to another board",
	called:  "player",
	gist:    func(o *Output) string { return fmt.Sprintf("%d Bd", o.Baud) },
	fields: func(o *Output) []field {
		return []field{
			need("baud", wholeNumber(&o.Baud, 0, 300, 1_000_000, ""), "9600", "the speed of the line"),
		}
	},
	first: func(o *Output) {
		o.Baud = 9600
		o.Messages = []Message{{Name: "one", Bytes: []byte{1}}}
	},
	check: func(r *reader, o *Output, what string, have got) {
		if len(o.Messages) == 0 {
			r.fault(o.Pos, what+" has no message", "add a [[output.message]] with name and bytes")
		}
	},
	parts: true,

	action: func(a *Action, o *Output) []field {
		in := scope{sort: SortMessage}
		if o != nil {
			in.of = o.Name
		}
		return []field{need("send", nameIn(&a.Send, in, text("message of the output")), `"MESSAGE"`, "the message that is sent")}
	},
	firstAction: func(a *Action, o *Output) {
		if len(o.Messages) > 0 {
			a.Send = o.Messages[0].Name
		}
	},

	says:  func(a *Action) string { return a.Send },
	track: true,
}
