package sketch

import "propwright/model/check"

// Estimate says what the firmware of a design takes of the chip, in bytes,
// where there is no compiler to measure it: within a tenth. SRAM is without
// the stack. A design that Files has faults with gives zeros, and so does one
// for a portable board, whose chip is not known.
//
// The numbers were found by compiling 113 designs, most of them drawn at
// random, with avr-gcc -Os and the core, and fitting these sums to their sizes
// by least squares.
func Estimate(s *check.Study) (flash, sram int) {
	f, err := firmwareOf.Of(s)
	if err != nil || f.Portable {
		return 0, 0
	}
	flash = 2570 + f.bytes() // the core, the machine and the receiver
	sram = 133
	add := func(used bool, code, variables int) {
		if used {
			flash += code
			sram += variables
		}
	}
	add(f.MaxTimers > 0, 470, 5*f.MaxTimers)
	add(f.HasHolds, 60, 2)
	add(len(f.Presses) > 0, 85, 0)
	add(len(f.Inputs) > 0, 220, 4*len(f.Inputs))
	add(len(f.Servos) > 0, 990+63*len(f.Servos), 22*len(f.Servos))
	add(f.UsesSmooth, 135, 0)
	add(f.UsesIn, 40, 0)
	add(len(f.Drifts) > 0, 530, 12)
	add(len(f.Layers) > 0, 1410, 25*len(f.Layers)+f.PixelBytes)
	add(f.Stacked, 450, 0)
	add(f.UsesBreathe, 70, 0)
	add(f.UsesChase, 185, 0)
	add(f.UsesFlicker, 215, 0)
	add(len(f.Pulses) > 0, 180+7*len(f.Pulses), 3*len(f.Pulses))
	add(len(f.Switches) > 0, 60+24*len(f.Switches), 0)
	add(len(f.Messages) > 0, 260, 6+f.Outbox)
	return flash, sram
}
