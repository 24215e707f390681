package sketch

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/board"
	"propwright/model/check"
	"propwright/model/motion"
)

// What the firmware's counters can hold.
const (
	mostStates   = 250 // with choices; pw_state is one byte, and a few of its values are reserved
	mostEvents   = 250
	mostTimers   = 16  // in one state
	mostChoice   = 250 // states in one choice
	mostRules    = 255 // in one row
	mostServos   = 12  // on pins: their pulses must leave room in a frame
	mostChannels = 24  // of expanders: see the package comment
	mostLights   = 250
	mostLayers   = 60
	mostInputs   = 8
	mostDrifts   = 250
	mostFollows  = 250
	longestMove  = math.MaxUint16 * motion.Frame
	longestPress = 60 * time.Second
	longestHold  = math.MaxUint16 * time.Millisecond
	longestPulse = 60 * time.Second      // its clock counts further, so the loop may be late
	mostTable    = math.MaxInt16         // bytes: avr-gcc takes no larger array
	mostTables   = math.MaxUint16 - 4096 // bytes: pgm_read_byte has 16-bit addresses; the core has tables too
)

// LimitRule reports before a build what Files would refuse a design for and no
// rule of model/check has reported.
var LimitRule = &check.Rule{ID: "firmware-limit", Doc: "the firmware cannot count, time or send what is asked of it", Severity: check.Error, Run: overLimits}

func overLimits(p *check.Pass) {
	_, err := firmwareOf.Of(p.Study)
	var faults model.Faults
	if !errors.As(err, &faults) {
		return
	}
	others, _ := p.Check(check.Rules()) // with an error this rule would not run
	for _, f := range faults {
		told := func(o check.Finding) bool { return o.Severity == check.Error && o.Pos == f.Pos }
		if !slices.ContainsFunc(others, told) {
			p.Report(check.Finding{Pos: f.Pos, Message: f.Wrong, Advice: f.Advice})
		}
	}
}

// limits faults what the firmware's counters cannot hold.
func (b *builder) limits() {
	d := b.d
	b.most(len(d.States), mostStates, func(i int) model.Pos { return d.States[i].Pos }, "states")
	b.most(len(b.Inputs), mostInputs, func(i int) model.Pos { return d.Inputs[i].Pos }, "inputs")
	nowhere := func(int) model.Pos { return d.Prop.Pos }
	if len(b.Choices) > 0 {
		b.most(len(d.States)+len(b.Choices), mostStates, nowhere, "states and choices")
	}
	for i := range d.Transitions {
		choice, _ := model.ParseChoice(d.Transitions[i].To)
		b.most(len(choice.States), mostChoice, func(int) model.Pos { return d.Transitions[i].At("to") }, "states in one choice")
	}
	b.most(len(b.Events), mostEvents, nowhere, "different presses, holds, releases and input events")
	if n := len(b.Direct()); n > mostServos {
		b.fault(d.Prop.Pos, "put the others on an expander: `propwright help servos`",
			"the firmware for the %s holds at most %d servos and spinners on pins; the design has %d", b.board.Name, mostServos, n)
	}
	b.most(len(b.Channels), mostChannels, nowhere, "outputs on expanders")
	b.most(len(b.Lights), mostLights, nowhere, "different lights")
	b.most(len(b.Layers), mostLayers, nowhere, "different stretches of pixels")
	b.most(len(b.Drifts), mostDrifts, nowhere, "drifts")
	b.most(len(b.Messages), mostLights, nowhere, "messages")
	b.most(len(b.Follows), mostFollows, nowhere, "cues that follow a track")
	b.most(2*len(b.Loudness), math.MaxUint16, nowhere, "levels, of 20 ms each, of tracks that are followed")
	b.most(len(b.Orders), mostEvents, nowhere, "transitions that order something")
	b.most(len(b.Cues), math.MaxUint16-1, nowhere, "cues")
	for i := range b.States {
		at := func(int) model.Pos { return d.States[i].Pos }
		b.most(b.States[i].Timers, mostTimers, at, "timers in one state")
		b.most(b.States[i].PoseCount, mostRules, at, "outputs in one pose")
		b.time(d.States[i].At("over"), d.States[i].Over, longestMove)
		for j := range d.States[i].Drift {
			dr := &d.States[i].Drift[j]
			b.time(dr.Pos, max(dr.Every.Hi, dr.Over.Hi), longestMove)
		}
		for j := range d.States[i].Pose {
			p := &d.States[i].Pose[j]
			b.time(p.Pos, max(p.Over, p.Period), longestMove)
		}
	}
	for i := range d.Routines {
		for j := range d.Routines[i].Cues {
			c := &d.Routines[i].Cues[j]
			b.time(c.Pos, max(c.Over, c.Period), longestMove)
		}
	}
	for i := range d.Transitions {
		for j := range d.Transitions[i].Do {
			or := &d.Transitions[i].Do[j]
			b.time(or.Pos, max(or.Over, or.Period), longestMove)
		}
	}
	for i := range d.Outputs {
		b.most(d.Outputs[i].Count, board.LongestStrip, func(int) model.Pos { return d.Outputs[i].At("count") }, "pixels in a strip")
		b.time(d.Outputs[i].At("hold"), d.Outputs[i].Hold, longestPulse)
	}
	for i := range d.Transitions {
		for j := range d.Transitions[i].On {
			on := &d.Transitions[i].On[j]
			b.time(on.Pos, on.For, longestPress)
		}
	}
	for i := range d.Inputs {
		b.time(d.Inputs[i].At("debounce"), d.Inputs[i].Debounce, longestHold)
	}
	if b.board.FlashBytes > math.MaxUint16 { // less flash is full before
		b.addressable()
	}
}

// addressable faults tables that fit in flash but that the chip cannot address:
// the compiler would refuse them, or the firmware read other bytes.
func (b *builder) addressable() {
	at, parts := b.d.Prop.At("board"), []part{
		{fmt.Sprintf("the %d cues of poses and routines", len(b.Cues)), b.bytes("pw_cues")},
		{fmt.Sprintf("the %d cells of the matrix", b.RuleCount), b.bytes("pw_rules")},
		{fmt.Sprintf("the %d timers", len(b.Timers)), b.bytes("pw_timers")},
		{fmt.Sprintf("the %d states in choices", b.ChoiceStates), b.bytes("pw_choices", "pw_choice_states")},
		{fmt.Sprintf("the loudness of %d tracks", len(b.loudnessOf)), b.bytes("pw_loudness")},
		{fmt.Sprintf("the %d messages", len(b.Messages)), b.bytes("pw_message_bytes")},
	}
	for _, p := range parts {
		if p.bytes > mostTable {
			b.fault(at, "make do with fewer", "%s take %d bytes; the firmware for the %s reads at most %d of one kind",
				p.what, p.bytes, b.board.Name, mostTable)
			return
		}
	}
	if all := b.bytes(); all > mostTables {
		b.fault(at, mostOf(parts)+": make do with less", "the design's tables take %d bytes; the firmware for the %s reads at most %d",
			all, b.board.Name, mostTables)
	}
}

func (b *builder) most(n, most int, at func(int) model.Pos, what string) {
	if n > most {
		b.fault(at(most), "make do with fewer", "the firmware for the %s holds at most %d %s; the design has %d",
			b.board.Name, most, what, n)
	}
}

func (b *builder) time(pos model.Pos, d, longest time.Duration) {
	if d > longest {
		b.fault(pos, "choose at most "+model.FormatDuration(longest.Truncate(time.Minute)),
			"the firmware cannot count to %s here", model.FormatDuration(d))
	}
}
