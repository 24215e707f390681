package sketch

import (
	"propwright/model/check"
	"propwright/model/ir"
)

// Estimate returns the bytes of flash and SRAM that the firmware of a design takes.
// Flash is an estimate within flashMargin; SRAM is exact, without the stack and
// without the maker's own code in hooks.cpp. Both are 0 for a design that Files
// refuses and for a portable board, whose chip is unknown.
func Estimate(s *check.Study) (flash, sram int) {
	f, err := firmwareOf.Of(s)
	if err != nil || f.Portable {
		return 0, 0
	}
	return f.code() + f.bytes(), f.sram()
}

// flashMargin is how far Estimate may be off in flash. Of the designs that code
// was fitted to, none was off by more than 410 bytes.
const flashMargin = 512

// code estimates what everything but the tables takes of flash. The numbers were
// found by compiling 207 designs, most of them random, with avr-gcc -Os
// and the core for the ATmega328P, and fitting this sum to their sizes by least
// squares; that of the USB port by compiling one design for both chips. Those of
// servos are the means over 25 designs of what their motion generator adds; from the
// fifth on and for expanders, over 15 designs with up to 16 servos; those of choices
// and of what follows a voice are what they add to one design; those of orders were fitted
// to what they add to 24 drawn ones.
func (f *firmware) code() int {
	sum := 1793 // the core, the machine and the receiver
	add := func(used bool, bytes int) {
		if used {
			sum += bytes
		}
	}
	add(f.Board == usbBoard, 3528)
	add(f.MaxTimers > 0, 445)
	add(f.AtRandom, 147)
	add(f.Turns > 0, 80)
	add(f.HasHolds, 119)
	add(len(f.Inputs) > 0, 166+37*len(f.Inputs))
	direct, expanded := len(f.Direct()) > 0, f.Expanded() > 0
	add(len(f.Channels) > 0, 500+60*len(f.Expanders))
	add(expanded && direct, 380)
	add(expanded && !direct, -150)
	add(len(f.Drifts) > 0, 360)
	add(len(f.Follows) > 0, 370)
	add(f.VoiceServos, 80)
	add(f.VoiceLights, 65)
	add(len(f.Orders) > 0, 68)
	add(f.Live > 0, 1105)
	for _, s := range f.shares() {
		sum += s.code
	}
	for i := range f.Waves {
		w := &f.Waves[i]
		add(true, map[ir.Family]int{ir.PulseDistance: 387, ir.PulseWidth: 144, ir.BiPhase: 168, ir.Unknown: 828}[w.Family])
		add(w.Mark, 492)
		add(w.Silent, 403)
	}
	add(f.Mixed, -586)
	add(f.Limits, 150)
	add(f.Fresh, 215)
	add(f.Wholes, 304)
	add(f.Toggles, 168)
	add(f.Early, 229)
	return sum
}
