package ir

import "time"

// kaseikyo: JP1 wiki, "Kaseikyo": {37k,432}<1,-1|1,-3>(8,-4,…,1,-173)+; with
// a third of the bits set, 173 units after a frame make 134 ms from start to
// start.
//
// The address is the vendor (16 bits) followed by the 12 bits of both genres,
// as sent; the check byte is that of Panasonic (JP1 wiki, "Kaseikyo", and
// J. Fine on {37k,432}<1,-1|1,-3>(8,-4,2:8,32:8,D:8,S:8,F:8,(D^S^F):8,1,-173)+).
var kaseikyo = Wave{
	Name: "kaseikyo", Title: "Kaseikyo: the space after each mark is the bit.",
	Family: PulseDistance, Bits: []int{48}, Carrier: 37000, Unit: 432,
	LeaderMark: 3456, LeaderSpace: 1728, Zero: Symbol{432, 432}, One: Symbol{432, 1296},
	Repeat: RepeatFrame, Period: 134 * time.Millisecond,
	protocols: []Protocol{{
		Name: "kaseikyo", AddressBits: 28, CommandBits: 8,
		Layout: []Field{
			{Address, 12, 16, false}, {Parity, 0, 4, false}, {Address, 0, 12, false},
			{Command, 0, 8, false}, {Parity, 16, 8, false},
		},
	}},
}
