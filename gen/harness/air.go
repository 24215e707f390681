package harness

import (
	"propwright/model"
	"propwright/model/ir"
)

// What a receiver measures counts in steps of this many microseconds.
const irStep = 8

// pause is longer than any silence that a frame needs, microseconds.
const pause = 100_000

// heard is what a frame between two pauses is understood as.
func heard(times []int) (codes []ir.Code) {
	d := ir.Decoder{Raw: true}
	d.Feed(false, pause)
	for i, us := range times {
		if f, ok := d.Feed(i%2 == 0, us); ok {
			codes = append(codes, f.Code)
		}
	}
	if f, ok := d.Feed(len(times)%2 == 0, pause); ok {
		codes = append(codes, f.Code)
	}
	return codes
}

func isHeard(times []int, code ir.Code) bool {
	for _, c := range heard(times) {
		if c == code || c.Protocol == "raw" && code.Protocol == "raw" && c.Command == code.Command {
			return true
		}
	}
	return false
}

// tolerance gives for every time of a code's frame the least and the most that it can
// be, by itself, for the frame to be heard; 0 where there is no limit.
func tolerance(code ir.Code) (least, most []int) {
	frame := ir.Encode(code)
	least, most = make([]int, len(frame)), make([]int, len(frame))
	for i, us := range frame {
		hears := func(steps int) bool {
			frame[i] = steps * irStep
			defer func() { frame[i] = us }()
			return isHeard(frame, code)
		}
		least[i] = irStep * limit(us/irStep, 1, hears)
		most[i] = irStep * limit(us/irStep, 4*us/irStep, hears)
	}
	return least, most
}

// limit is the last number on the way from one for which something holds to an end,
// or 0 where it holds at the end too.
func limit(from, end int, holds func(int) bool) int {
	if holds(end) {
		return 0
	}
	for from-end > 1 || end-from > 1 {
		if middle := (from + end) / 2; holds(middle) {
			from = middle
		} else {
			end = middle
		}
	}
	return from
}

// foreignView is a frame that is not one of the design's buttons.
type foreignView struct {
	Code  string
	Frame []int
}

// foreign gives a frame of each protocol that no button of the design sends.
func foreign(d *model.Design) (all []foreignView) {
	var own []ir.Code
	for i := range d.Remote.Buttons {
		if c, err := ir.ParseCode(d.Remote.Buttons[i].Code); err == nil {
			own = append(own, c)
		}
	}
protocols:
	for _, p := range ir.Protocols() {
		// Not a code that people choose first.
		c := ir.Code{Protocol: p.Name, Address: 0x15 & (1<<p.AddressBits - 1), Command: 0x2D & (1<<p.CommandBits - 1)}
		if p.Wave.Family == ir.Unknown {
			c.Address, c.Command = 110, 0x5EED1234
		}
		frame := ir.Encode(c)
		for _, o := range own {
			if ir.Alike(c, o) || isHeard(frame, o) {
				continue protocols
			}
		}
		all = append(all, foreignView{c.String(), frame})
	}
	return all
}
