package sketch

import (
	"sort"

	"propwright/model"
	"propwright/model/board"
)

// An outputKind is how outputs of one kind become tables. Each kind is one
// value in a file of its own; what it adds to the C is in templates/sketch, in
// player_KIND.c.tmpl.
type outputKind struct {
	wire func(b *builder, o *model.Output, p place)
	// cue fills in what an action asks of an output; false where it asks nothing.
	cue func(b *builder, o *model.Output, a model.Action, c *cue) bool
	// takes returns the memory for outputs of the kind; it is nil if another kind's
	// value includes it.
	takes func(f *firmware) share
}

var outputKinds = map[model.OutputKind]*outputKind{
	model.KindServo: &servoKind, model.KindSpinner: &spinnerKind, model.KindPixels: &pixelsKind,
	model.KindPulse: &pulseKind, model.KindMessage: &messageKind, model.KindSwitch: &switchKind,
}

// players are the files player_NAME.c.tmpl, in the order in which the C has what they
// add: the kinds, and what moves their outputs.
var players = []string{"servo", "drift", "pixels", "voice", "pulse", "message", "switch"}

// A rig holds what the kinds of outputs give the templates.
type rig struct {
	motors
	lights
	pulses
	switches
	messages
}

// A share is the memory that a part of the firmware takes.
type share struct {
	code      int // bytes of flash, as Estimate has them
	variables []variable
	tables    []table
}

// shares returns a share for each kind of output.
func (f *firmware) shares() []share {
	var all []share
	for _, kind := range model.OutputKinds {
		if k := outputKinds[kind]; k != nil && k.takes != nil {
			all = append(all, k.takes(f))
		}
	}
	return all
}

// bytesIf returns bytes if something is used, else 0.
func bytesIf(used bool, bytes int) int {
	if used {
		return bytes
	}
	return 0
}

func (b *builder) rig() {
	for i := range b.d.Outputs {
		o := &b.d.Outputs[i]
		wired := remark(o.Name+", "+string(o.Kind), o.Note)
		p, ok := place{}, false
		if o.Bus != 0 {
			p, ok = b.channel(o, wired)
		} else {
			p, ok = b.pin(o.At("pin"), o.Pin, board.Use(o.Kind), wired)
		}
		if ok {
			outputKinds[o.Kind].wire(b, o, p)
		}
	}
	b.numberChannels()
	sort.Strings(b.Wiring)
}

// timed sets up a pin that a timer or a library drives.
func (b *builder) timed(p place, o *model.Output) {
	if !b.board.Portable { // the core's libraries set up their pins themselves
		b.output(p, o, false)
	}
}

// output sets up a pin that is set high or low.
func (b *builder) output(p place, o *model.Output, high bool) {
	if p.Channel != nil {
		return // the firmware sets it up with its expander
	}
	if b.board.Portable {
		if high {
			b.setup("digitalWrite(%d, HIGH); /* %s, at rest high */", p.Number, o.Name)
		}
		b.setup("pinMode(%d, OUTPUT); /* %s */", p.Number, o.Name)
		return
	}
	if high {
		b.setup("PORT%c |= _BV(%d); /* pin %d: %s, at rest high */", p.Pin.Port, p.Bit, p.Number, o.Name)
	}
	b.setup("DDR%c |= _BV(%d); /* pin %d: %s */", p.Pin.Port, p.Bit, p.Number, o.Name)
}
