package ir

import "time"

// sirc: S. Bergmans, "Sony SIRC Protocol", SB-Projects: 40 kHz, leader 2.4 ms
// and 0.6 ms, marks 0.6 and 1.2 ms, again every 45 ms. Its leader is 3 ms long,
// that of rc6 is 3.56 ms. The address of 20 bits is the 5-bit one with the 8
// extended bits above it.
var sirc = Wave{
	Name: "sirc", Title: "SIRC with 12, 15 or 20 bits: the mark is the bit.",
	Family: PulseWidth, Bits: []int{12, 15, 20}, Carrier: 40000, Unit: 600,
	LeaderMark: 2400, LeaderSpace: 600, Zero: Symbol{600, 600}, One: Symbol{1200, 600},
	Repeat: RepeatFrame, Period: 45 * time.Millisecond, Silence: Silence, LeaderMost: 3280,
	protocols: []Protocol{
		{
			Name: "sirc12", AddressBits: 5, CommandBits: 7,
			Layout: []Field{{Command, 0, 7, false}, {Address, 0, 5, false}},
		},
		{
			Name: "sirc15", AddressBits: 8, CommandBits: 7,
			Layout: []Field{{Command, 0, 7, false}, {Address, 0, 8, false}},
		},
		{
			Name: "sirc20", AddressBits: 13, CommandBits: 7,
			Layout: []Field{{Command, 0, 7, false}, {Address, 0, 13, false}},
		},
	},
	keymap: "sony",
	scancode: func(variant string, v uint32) (Code, error) {
		switch {
		case variant == "sony20" || variant == "" && v&0xff00 != 0:
			return Code{Protocol: "sirc20", Address: v>>16 | v&0xff00>>3, Command: v & 0x7f}, nil
		case variant == "sony15" || variant == "" && v>>16 > 0x1f:
			return Code{Protocol: "sirc15", Address: v >> 16, Command: v & 0x7f}, nil
		default:
			return Code{Protocol: "sirc12", Address: v >> 16, Command: v & 0x7f}, nil
		}
	},
}
