package harness

import (
	"slices"

	"propwright/model"
	"propwright/model/ir"
)

// What a receiver measures counts in steps of this many microseconds.
const irStep = 8

// pause is longer than any silence that a frame needs, microseconds.
const pause = 100_000

// heard is what frames, each between two pauses, are understood as by a firmware that
// knows one protocol, or all with "".
func heard(protocol string, frames ...[]int) (all []ir.Frame) {
	d := ir.Decoder{Raw: true, Protocol: protocol}
	feed := func(mark bool, us int) {
		if f, ok := d.Feed(mark, us); ok {
			all = append(all, f)
		}
	}
	feed(false, pause)
	for _, times := range frames {
		for i, us := range times {
			feed(i%2 == 0, us)
		}
		feed(len(times)%2 == 0, pause)
	}
	return all
}

func isHeard(times []int, code ir.Code) bool {
	protocol := code.Protocol
	if protocol == "raw" {
		protocol = "" // its frames are none of the others
	}
	return slices.ContainsFunc(heard(protocol, times), func(f ir.Frame) bool {
		return f.Code == code || f.Code.Protocol == "raw" && code.Protocol == "raw" && f.Code.Command == code.Command
	})
}

// tolerance gives for every time of a frame the least and the most that it can be, by
// itself, for the frame to be heard; 0 where there is no limit.
func tolerance(frame []int, isHeard func(times []int) bool) (least, most []int) {
	least, most = make([]int, len(frame)), make([]int, len(frame))
	for i, us := range frame {
		hears := func(steps int) bool {
			times := slices.Clone(frame)
			times[i] = steps * irStep
			return isHeard(times)
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

// foreign gives a frame of each protocol that no button of the design sends, and of each
// button whose bits are marks one that has too many: what a shift register of 32 bits
// holds at its end is what it holds after the button's own.
func foreign(d *model.Design) (all []foreignView) {
	var own []ir.Code
	for i := range d.Remote.Buttons {
		if c, err := ir.ParseCode(d.Remote.Buttons[i].Code); err == nil {
			own = append(own, c)
		}
	}
protocols:
	for _, p := range ir.Protocols() {
		for _, o := range own {
			if o.Protocol == p.Name && p.Wave.Family == ir.PulseWidth {
				all = append(all, foreignView{o.String() + ", 32 bits", overlong(p.Wave, ir.Encode(o))})
			}
		}
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

// overlong puts other bits before those of a frame, 32 together: zeros, and the one that
// stands before the bits in a decoder.
func overlong(w *ir.Wave, frame []int) []int {
	const leader = 2 // times
	bits := (len(frame) - leader + 1) / 2
	var more []int
	for range 31 - bits {
		more = append(more, int(w.Zero.Mark), int(w.Zero.Space))
	}
	return slices.Insert(slices.Clone(frame), leader, append(more, int(w.One.Mark), int(w.One.Space))...)
}
