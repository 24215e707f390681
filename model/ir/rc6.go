package ir

import (
	"fmt"
	"time"
)

// rc6: S. Bergmans, "Philips RC-6 Protocol", SB-Projects: 36 kHz, unit of 16
// cycles, leader 6 and 2 units, the toggle twice as wide; the period is that
// of Linux (drivers/media/rc/rc-main.c, table "protocols").
var rc6 = Wave{
	Name: "rc6", Title: "RC-6, mode 0: a bit is two halves, a one has its mark first.",
	Family: BiPhase, Bits: []int{21}, Carrier: 36000, Unit: 16e6 / 36e3, HighFirst: true, OneIsMark: true, Wide: 5,
	LeaderMark: 96e6 / 36e3, LeaderSpace: 32e6 / 36e3,
	Repeat: RepeatToggle, Period: 114 * time.Millisecond, Silence: Silence,
	protocols: []Protocol{{
		Name: "rc6", AddressBits: 8, CommandBits: 8,
		Layout: []Field{
			{Ones, 0, 1, false}, {Zeros, 0, 3, false}, {Toggle, 0, 1, false},
			{Address, 0, 8, false}, {Command, 0, 8, false},
		},
	}},
	keymap: "rc6",
	scancode: func(variant string, v uint32) (Code, error) {
		if variant != "rc6_0" && (variant != "" || v > 0xffff) {
			return Code{}, fmt.Errorf("RC-6 variant %q is not mode 0, the only one known", variant)
		}
		return Code{Protocol: "rc6", Address: v >> 8, Command: v & 0xff}, nil
	},
}
