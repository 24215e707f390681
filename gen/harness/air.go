package harness

import (
	"slices"

	"propwright/model"
	"propwright/model/ir"
)

// irStep is the resolution in microseconds at which the decoders judge times.
const irStep = 8

// pause is longer than any silence that a frame needs, microseconds.
const pause = 100_000

// newEar returns a decoder as in a firmware that knows one protocol, or in one that knows all
// where the code is raw, as such a frame is none of the others. It has heard so many
// microseconds of silence.
func newEar(code ir.Code, silence int) ir.Decoder {
	d := ir.Decoder{Raw: true}
	if known, ok := code.Known(); ok && known.Wave.Family != ir.Unknown {
		d = ir.Decoder{Wave: known.Wave}
	}
	d.Feed(false, silence)
	return d
}

// hears feeds a decoder the times of a frame, from index first on, and a pause, and
// reports whether it decodes what is meant.
func hears(d *ir.Decoder, times []int, first int, meant func(ir.Frame) bool) bool {
	heard := false
	feed := func(i, us int) {
		f, ok := d.Feed(i%2 == 0, us)
		heard = heard || ok && meant(f)
	}
	for i := first; i < len(times); i++ {
		feed(i, times[i])
	}
	feed(len(times), pause)
	return heard
}

// is returns a function that reports whether a frame is one of a code.
func is(code ir.Code) func(ir.Frame) bool {
	return func(f ir.Frame) bool {
		return f.Code == code || f.Code.Protocol == "raw" && code.Protocol == "raw" && f.Code.Command == code.Command
	}
}

// tolerance returns for every time of a frame the least and the most that it can be, by
// itself, for the ear to hear what is meant; 0 where there is no limit.
func tolerance(ear ir.Decoder, frame []int, meant func(ir.Frame) bool) (least, most []int) {
	least, most = make([]int, len(frame)), make([]int, len(frame))
	times := slices.Clone(frame)
	for i, us := range frame {
		within := func(steps int) bool {
			ear := ear // it has heard the times before
			times[i] = steps * irStep
			return hears(&ear, times, i, meant)
		}
		least[i] = irStep * limit(us/irStep, 1, within)
		most[i] = irStep * limit(us/irStep, 4*us/irStep, within)
		times[i] = us
		ear.Feed(i%2 == 0, us)
	}
	return least, most
}

// limit returns the last number on the way from one for which something holds to an end,
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

// A foreignView is a frame of no button of the design, or only where its first edge but one
// is lost.
type foreignView struct {
	Code  string
	Frame []int
	Lost  bool
}

// foreign returns a frame of each protocol that no button of the design sends. Of each
// button whose bits are marks it returns one that has too many: what a shift register of 32
// bits holds at its end is what it holds after the button's own. Of each button whose frame
// counts only after silence it returns one that comes too soon after a mark, and one before
// which an edge is lost, so that nobody knows how long the silence was.
func foreign(d *model.Design) (all []foreignView) {
	var own []ir.Code
	var alike ir.Index
	for i := range d.Remote.Buttons {
		if c, err := ir.ParseCode(d.Remote.Buttons[i].Code); err == nil {
			own = append(own, c)
			alike.Add(ir.Named{Code: c})
		}
	}
	heard := func(times []int) bool {
		return slices.ContainsFunc(own, func(o ir.Code) bool {
			ear := newEar(o, pause)
			return hears(&ear, times, 0, is(o))
		})
	}
	for _, p := range ir.Protocols() {
		for _, o := range own {
			if o.Protocol == p.Name && p.Wave.Family == ir.PulseWidth {
				all = append(all, foreignView{Code: o.String() + ", 32 bits", Frame: overlong(p.Wave, ir.Encode(o))})
			}
			if frame := ir.Encode(o); o.Protocol == p.Name {
				after := func(silence int) []int { return slices.Concat([]int{frame[len(frame)-1], silence}, frame) }
				if soon := after(ir.Silence / 2); !heard(soon) {
					all = append(all, foreignView{Code: o.String() + ", no silence before it", Frame: soon},
						foreignView{o.String() + ", none known before it", after(15_000), true})
				}
			}
		}
		// A code that few people choose.
		c := ir.Code{Protocol: p.Name, Address: 0x15 & (1<<p.AddressBits - 1), Command: 0x2D & (1<<p.CommandBits - 1)}
		if p.Wave.Family == ir.Unknown {
			c.Address, c.Command = 110, 0x5EED1234
		}
		frame := ir.Encode(c)
		if _, ok := alike.Find(c); ok {
			continue
		}
		if !heard(frame) {
			all = append(all, foreignView{Code: c.String(), Frame: frame})
		}
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
