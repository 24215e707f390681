package ir

import "time"

// samsung: leader, bits and period from memory; the map
// samsung_ak59_00125a.toml of ir-keytable (v4l-utils project) gives leader
// 4500/4500, marks 600, spaces 500 and 1600.
var samsung = Wave{
	Name: "samsung", Title: "Samsung, 32 bits: the space after each mark is the bit.",
	Family: PulseDistance, Bits: []int{32}, Carrier: 38000, Unit: 560,
	LeaderMark: 4500, LeaderSpace: 4500, Zero: Symbol{560, 560}, One: Symbol{560, 1680},
	Repeat: RepeatFrame, Period: 108 * time.Millisecond, Alone: true,
	protocols: []Protocol{{
		Name: "samsung32", AddressBits: 16, CommandBits: 8,
		Layout: []Field{{Address, 0, 16, false}, {Command, 0, 8, false}, {Command, 0, 8, true}},
	}},
}
