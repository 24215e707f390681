package check

import (
	"fmt"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/board"
)

var rigRules = []*Rule{
	{"pin-clash", "two elements use the same pin", Error, pinClash, reads},
	{"pin-cannot", "a pin cannot do what it is used for", Error, pinCannot, reads},
	{"boot-pin", "the boot loader moves a pin before the sketch runs", Warning, bootPin, reads},
	{"update-blocks", "a strip is so long that timers and messages wait while it is sent", Warning, updateBlocks, reads},
	{"output-contest", "an output is moved by both the routine and the drift of a state", Error, outputContest, reads},
	{"over-travel", "a cue, a pose, a drift or an order sends a servo out of its travel", Error, overTravel, reads},
	{"too-fast", "a cue or an order asks for more speed or acceleration than a mechanism stands", Error, tooFast, reads},
	{"late-start", "a routine's first move comes late, from where the states before have left the servo", Warning, lateStart, reads},
	{"wind-up", "a joint with wires through it is turned further than it may, or without end", Error, windUp, explores},
	{"over-current", "everything together may draw more than the supply gives", Warning, overCurrent, reads},
	{"voice-missing", "a cue follows a track that the routine does not play then, or whose loudness cannot be told", Error, voiceMissing, reads},
	{"voice-silent", "a cue follows a track that is silent from beginning to end", Warning, voiceSilent, reads},
	{"voice-cut", "a cue takes over an output that follows a track", Note, voiceCut, reads},
	{"voice-lags", "a servo cannot keep up with the voice that it follows", Note, voiceLags, reads},
	{"message-backlog", "a button's repeats order messages sooner than the line takes them", Warning, messageBacklog, reads},
	{"sound-file", "a track's file is missing, or plays for another time than the track says", Warning, soundFile, reads},
	{"shared-sound", "two tracks are started in the same way", Warning, sharedSound, reads},
	{"unknown-limit", "a limit of a motor or of the supply is not given, so it is not watched", Note, unknownLimit, reads},
	{"unsilenced-sound", "a routine can be left while its track sounds, and nothing silences it", Warning, unsilencedSound, explores},
	{"sound-overrun", "a track sounds longer than its routine lasts", Warning, soundOverrun, reads},
}

// A wire is one element at one pin.
type wire struct {
	what string // "output \"neck\"", as people read it
	use  board.Use
	pin  int
	pos  model.Pos
}

// wires lists what is connected to pins, in file order.
func wires(d *model.Design) []wire {
	var ws []wire
	if len(d.Remote.Buttons) > 0 || d.Remote.Pos.IsValid() {
		ws = append(ws, wire{"the remote's receiver", board.UseReceiver, d.Remote.Pin, d.Remote.At("pin")})
	}
	for i := range d.Inputs {
		in := &d.Inputs[i]
		ws = append(ws, wire{fmt.Sprintf("the input %q", in.Name), board.UseInput, in.Pin, in.At("pin")})
	}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		if o.Bus == 0 {
			ws = append(ws, wire{fmt.Sprintf("the output %q", o.Name), board.Use(o.Kind), o.Pin, o.At("pin")})
		}
	}
	return ws
}

func pinClash(p *Pass) {
	first := map[int]wire{}
	for _, w := range busWires(p.Design) {
		first[w.pin] = w
	}
	for _, w := range wires(p.Design) {
		other, clash := first[w.pin]
		if !clash {
			first[w.pin] = w
			continue
		}
		p.Report(Finding{
			Pos:     w.pos,
			Message: fmt.Sprintf("%s and %s (line %d) use the same pin %d", w.what, other.what, other.pos.Line, w.pin),
			Advice:  "connect one of them to another pin",
		})
	}
	channels := map[string]*model.Output{}
	for i := range p.Design.Outputs {
		o := &p.Design.Outputs[i]
		if o.Bus == 0 {
			continue
		}
		other := channels[o.Terminal()]
		if other == nil {
			channels[o.Terminal()] = o
			continue
		}
		p.Report(Finding{
			Pos:     o.At("channel"),
			Message: fmt.Sprintf("the output %q and the output %q (line %d) use the same %s", o.Name, other.Name, other.At("channel").Line, o.Terminal()),
			Advice:  "connect one of them to another channel",
		})
	}
}

// busWires are the wires of the bus that expanders are on.
func busWires(d *model.Design) []wire {
	pins := d.BusPins()
	if pins == nil {
		return nil
	}
	o := &d.Outputs[slices.IndexFunc(d.Outputs, func(o model.Output) bool { return o.Bus != 0 })]
	return []wire{
		{fmt.Sprintf("SDA of the bus of %q", o.Name), "", pins[0], o.At("bus")},
		{fmt.Sprintf("SCL of the bus of %q", o.Name), "", pins[1], o.At("bus")},
	}
}

func pinCannot(p *Pass) {
	b, ok := board.ByName(p.Design.Prop.Board)
	if !ok {
		return // a file that names an unknown board is refused
	}
	for i := range p.Design.Outputs {
		o := &p.Design.Outputs[i]
		switch why := b.CannotExpand(); {
		case o.Bus == 0:
		case why != "":
			p.Report(Finding{
				Pos:     o.At("bus"),
				Message: fmt.Sprintf("the output %q cannot be there: %s", o.Name, why),
				Advice:  "connect it to a pin, or name the chip of an 8-bit board",
			})
		case o.Active == model.Low:
			p.Report(Finding{
				Pos:     o.At("active"),
				Message: fmt.Sprintf("the output %q cannot be there: a channel of an expander is low from power-up, and at that level it is on", o.Name),
				Advice:  "leave active out, or connect it to a pin",
			})
		}
	}
	used := map[board.Use]int{}
	for _, w := range wires(p.Design) {
		if why := b.Cannot(w.pin, w.use); why != "" {
			p.Report(Finding{
				Pos:     w.pos,
				Message: fmt.Sprintf("%s cannot be there: %s", w.what, why),
				Advice:  "connect it to a pin that can",
			})
			continue
		}
		used[w.use]++
		if most, ok := b.Most[w.use]; ok && used[w.use] > most {
			p.Report(Finding{
				Pos:     w.pos,
				Message: fmt.Sprintf("%s has no pin: the %s board can drive %d output of kind %s", w.what, b.Name, most, w.use),
				Advice:  "make do with one, or name the chip of an 8-bit board",
			})
		}
	}
}

func bootPin(p *Pass) {
	b, ok := board.ByName(p.Design.Prop.Board)
	if !ok {
		return // a file that names an unknown board is refused
	}
	for _, w := range wires(p.Design) {
		does := b.Boot(w.pin)
		if does == "" || w.use == board.UseMessage { // which has no other pin
			continue
		}
		p.Report(Finding{
			Pos:     w.pos,
			Message: fmt.Sprintf("%s is on pin %d, which %s", w.what, w.pin, does),
			Advice:  "connect it to another pin, or unplug it while you upload and see that nothing is hurt at a reset",
		})
	}
}

// stillFor is how long the chip may do nothing but send a strip without
// anybody noticing: a message late by as much is late by a few bytes, a timer
// by less than anybody sees (common practice, no published source).
const stillFor = 5 * time.Millisecond

func updateBlocks(p *Pass) {
	all := 0
	for i := range p.Design.Outputs {
		if o := &p.Design.Outputs[i]; o.Kind == model.KindPixels {
			all += o.Count
		}
	}
	for i := range p.Design.Outputs {
		o := &p.Design.Outputs[i]
		if o.Kind != model.KindPixels {
			continue
		}
		takes := board.SendTime(o.Count)
		switch {
		case o.Count > board.LongestStrip:
			p.Report(Finding{
				Pos: o.At("count"),
				Message: fmt.Sprintf("the %d pixels of %q take %v to send, more than there is between two rounds of servo pulses: they stay dark",
					o.Count, o.Name, takes),
				Advice: fmt.Sprintf("make do with %d pixels, or use two strips on two pins", board.LongestStrip),
			})
		case takes > stillFor:
			p.Report(Finding{
				Pos: o.At("count"),
				Message: fmt.Sprintf("sending the %d pixels of %q takes %v, %.3g times a second: timers, messages and hooks wait for as long; presses and servos do not",
					o.Count, o.Name, takes, board.Refreshes(all)),
				Advice: fmt.Sprintf("leave it so if a delay of %v does not matter; up to %d pixels nobody waits longer than %v",
					takes.Round(time.Millisecond), int(stillFor/board.PixelTime), stillFor),
			})
		}
	}
}

func unknownLimit(p *Pass) {
	d := p.Design
	var missing []string
	var motor *model.Output // the first one, or the first that lacks a limit
	lacks := func(o *model.Output, key string, limit float64) {
		if motor == nil || limit == 0 && missing == nil {
			motor = o
		}
		if limit > 0 {
			return
		}
		missing = append(missing, fmt.Sprintf("%s of %q", key, o.Name))
	}
	for i := range d.Outputs {
		switch o := &d.Outputs[i]; o.Kind {
		case model.KindServo:
			lacks(o, "max_speed", float64(o.MaxSpeed))
			lacks(o, "max_accel", float64(o.MaxAccel))
			lacks(o, "stall_ma", float64(o.StallMA))
		case model.KindSpinner:
			lacks(o, "stall_ma", float64(o.StallMA))
		}
	}
	if motor != nil && d.Supply.MaxMA == 0 {
		missing = append(missing, "max_ma of the supply")
	}
	if missing == nil {
		return
	}
	p.Report(Finding{
		Pos:     motor.Pos,
		Message: fmt.Sprintf("no limit is known for %s: nothing watches over it", model.AndList(missing, 8)),
		Advice:  "give these keys: what the mechanism stands, and what the data sheets of motor and supply say",
	})
}

func outputContest(p *Pass) {
	for i := range p.Design.States {
		s := &p.Design.States[i]
		r := p.Design.Routine(s.Plays)
		if r == nil {
			continue
		}
		line := map[string]int{} // of the first cue for an output
		for j := range r.Cues {
			if c := &r.Cues[j]; c.Output != "" && line[c.Output] == 0 {
				line[c.Output] = c.Pos.Line
			}
		}
		for j := range s.Drift {
			d := &s.Drift[j]
			if at, both := line[d.Output]; both {
				p.reportIn(Finding{
					Pos: d.Pos, State: s.Name,
					Message: fmt.Sprintf("the output %q is moved by the drift of state %q and by its routine %q (line %d)", d.Output, s.Name, r.Name, at),
					Advice:  "leave the drift out, or play a routine without it",
				})
			}
		}
	}
}
