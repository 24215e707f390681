package ir

import (
	"fmt"
	"time"
)

// rc5: Vishay, document 80071, section "RC5 code": 36 kHz, a bit of 1.778 ms
// is 64 cycles, again every 64 bits. It is RC-5 with RC-5X: the second start
// bit is the inverse of the command's bit 6 (S. Bergmans, "Philips RC-5
// Protocol", SB-Projects).
var rc5 = Wave{
	Name: "rc5", Title: "RC-5: a bit is two halves, a one has its space first.",
	Family: BiPhase, Bits: []int{14}, Carrier: 36000, Unit: 32e6 / 36e3, HighFirst: true,
	Repeat: RepeatToggle, Period: 64 * 64 * time.Second / 36000, Silence: Silence,
	protocols: []Protocol{{
		Name: "rc5", AddressBits: 5, CommandBits: 7,
		Layout: []Field{
			{Ones, 0, 1, false}, {Command, 6, 1, true}, {Toggle, 0, 1, false},
			{Address, 0, 5, false}, {Command, 0, 6, false},
		},
	}},
	keymap: "rc5",
	scancode: func(variant string, v uint32) (Code, error) {
		if variant != "" && variant != "rc5" {
			return Code{}, fmt.Errorf("RC-5 variant %q is not known", variant)
		}
		return Code{Protocol: "rc5", Address: v >> 8, Command: v & 0xff}, nil
	},
}
