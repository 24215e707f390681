package ir

import "time"

// nec: Vishay, "Data formats for IR remote control", document 80071, section
// "NEC code"; the period is that of the same format in NEC's µPD6121 data
// sheet.
//
// Extended addresses, and both numbers of 32 free bits, are written in the
// order of sending: the high byte goes first, as in the scancodes of Linux
// ("Remote Controller Protocols and Scancodes", Linux kernel documentation,
// section "nec").
var nec = Wave{
	Name: "nec", Title: "NEC, plain, extended and with 32 free bits: the space after each mark is the bit.",
	Family: PulseDistance, Bits: []int{32}, Carrier: 38000, Unit: 562.5,
	LeaderMark: 9000, LeaderSpace: 4500, Zero: Symbol{562.5, 562.5}, One: Symbol{562.5, 1687.5},
	Repeat: RepeatMark, RepeatSpace: 2250, Period: 108 * time.Millisecond,
	protocols: []Protocol{
		{
			Name: "nec", AddressBits: 8, CommandBits: 8,
			Layout: []Field{{Address, 0, 8, false}, {Address, 0, 8, true}, {Command, 0, 8, false}, {Command, 0, 8, true}},
		},
		{
			Name: "necx", AddressBits: 16, CommandBits: 8,
			Layout: []Field{{Address, 8, 8, false}, {Address, 0, 8, false}, {Command, 0, 8, false}, {Command, 0, 8, true}},
		},
		{
			Name: "nec32", AddressBits: 16, CommandBits: 16,
			Layout: []Field{{Address, 8, 8, false}, {Address, 0, 8, false}, {Command, 8, 8, false}, {Command, 0, 8, false}},
		},
	},
	keymap: "nec",
	scancode: func(variant string, v uint32) (Code, error) {
		switch {
		case v <= 0xffff && variant != "necx" && variant != "nec32":
			return Code{Protocol: "nec", Address: v >> 8, Command: v & 0xff}, nil
		case v <= 0xffffff && variant != "nec32":
			return Code{Protocol: "necx", Address: v >> 8, Command: v & 0xff}, nil
		default: // the bytes of each half stand the other way round
			return Code{Protocol: "nec32", Address: v>>16&0xff<<8 | v>>24, Command: v&0xff<<8 | v>>8&0xff}, nil
		}
	},
}
