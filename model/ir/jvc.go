package ir

import "time"

// jvc: S. Bergmans, "JVC Protocol", SB-Projects: 8.4 ms and 4.2 ms (320 and
// 160 cycles of 38 kHz), bits of 20 cycles' mark; again every 50 to 60 ms,
// only the first time with its leader.
var jvc = Wave{
	Name: "jvc", Title: "JVC: the space after each mark is the bit; a held button leaves out the leader.",
	Family: PulseDistance, Bits: []int{16}, Carrier: 38000, Unit: 526,
	LeaderMark: 8400, LeaderSpace: 4200, Zero: Symbol{526, 526}, One: Symbol{526, 1574},
	Repeat: RepeatBare, Period: 55 * time.Millisecond, Silence: Silence,
	protocols: []Protocol{{
		Name: "jvc", AddressBits: 8, CommandBits: 8,
		Layout: []Field{{Address, 0, 8, false}, {Command, 0, 8, false}},
	}},
	keymap: "jvc",
	scancode: func(_ string, v uint32) (Code, error) {
		return Code{Protocol: "jvc", Address: v >> 8, Command: v & 0xff}, nil
	},
}
