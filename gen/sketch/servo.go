package sketch

import (
	"fmt"
	"math"
	"time"

	"propwright/model"
	"propwright/model/motion"
)

// Servos, and spinners, which are servos to the firmware.
var servoKind = outputKind{
	wire: func(b *builder, o *model.Output, p place) { b.servo(o, p, b.positional(o)) },
	cue: func(b *builder, o *model.Output, a model.Action, c *cue) bool {
		c.What = moveNames[a.Ease]
		if c.What == "" {
			c.What = moveNames[model.EaseSmooth]
		}
		b.UsesSmooth = b.UsesSmooth || c.What == "PW_CUE_SMOOTH"
		b.UsesIn = b.UsesIn || c.What == "PW_CUE_IN"
		b.UsesOut = b.UsesOut || c.What == "PW_CUE_OUT"
		b.moveTo(c, o, float64(a.To), a.Over)
		return true
	},
}

var spinnerKind = outputKind{
	wire: func(b *builder, o *model.Output, p place) { b.servo(o, p, continuous(o)) },
	cue: func(b *builder, o *model.Output, a model.Action, c *cue) bool {
		c.What = "PW_CUE_LINEAR"
		b.moveTo(c, o, float64(a.Speed), a.Over)
		return true
	},
}

type servo struct {
	Name                           string
	P                              place
	Lowest, Highest, Rest, Fastest int
	Remark                         string
}

type drift struct {
	Servo                            int
	Lo, Hi                           int
	EveryLo, EveryHi, OverLo, OverHi int
	Remark                           string
}

var moveNames = map[model.Ease]string{
	model.EaseLinear: "PW_CUE_LINEAR", model.EaseSmooth: "PW_CUE_SMOOTH",
	model.EaseIn: "PW_CUE_IN", model.EaseOut: "PW_CUE_OUT",
}

// ticks is a pulse width in half microseconds.
func ticks(us float64) int { return int(math.Round(2 * us)) }

// width is the pulse width that puts an output to a value, in half microseconds.
func width(o *model.Output, value float64) int {
	return ticks(motion.Width(o, motion.Range{Lo: value, Hi: value}).Lo)
}

func (b *builder) servo(o *model.Output, p place, s servo) {
	s.Name, s.P = o.Name, p
	b.numberOf[o.Name] = len(b.Servos)
	b.Servos = append(b.Servos, s)
	b.timed(p, o)
}

// continuous is a spinner as a servo.
func continuous(o *model.Output) (s servo) {
	reach := o.FullUs - o.StopUs
	s.Lowest, s.Highest = ticks(float64(o.StopUs-reach)), ticks(float64(o.StopUs+reach))
	if reach < 0 {
		s.Lowest, s.Highest = s.Highest, s.Lowest
	}
	s.Rest = ticks(float64(o.StopUs))
	s.Remark = remark(o.Name, fmt.Sprintf("stands at %d us", o.StopUs))
	return s
}

// positional is a servo whose pulse is a place.
func (b *builder) positional(o *model.Output) (s servo) {
	// A servo that is mounted the other way round has its longer pulse at Min.
	s.Lowest, s.Highest = ticks(float64(min(o.UsAtMin, o.UsAtMax))), ticks(float64(max(o.UsAtMin, o.UsAtMax)))
	s.Rest = width(o, float64(o.Rest))
	perDegree := 2 * math.Abs(float64(o.UsAtMax-o.UsAtMin)) / float64(o.Max-o.Min)
	if fastest := float64(o.MaxSpeed) * perDegree; fastest < math.MaxUint16 {
		s.Fastest = int(math.Floor(fastest))
		if o.MaxSpeed > 0 {
			s.Fastest = max(s.Fastest, 1)
		}
	}
	// start_move in player.c stretches a move, the longest to 4/2 of its time.
	if way := s.Highest - s.Lowest; s.Fastest > 0 && frames(2*time.Duration(way)*time.Second/time.Duration(s.Fastest)) > math.MaxUint16 {
		least := (2*float64(way)/longestMove.Seconds() + 1) / perDegree
		b.fault(o.At("max_speed"), fmt.Sprintf("choose at least %v", model.DegPerS(math.Ceil(least*10)/10)),
			"the firmware cannot count how long %s takes at %v", o.Name, o.MaxSpeed)
	}
	s.Remark = remark(o.Name, fmt.Sprintf("%v at %d us to %v at %d us", o.Min, o.UsAtMin, o.Max, o.UsAtMax))
	return s
}

// moveTo makes a cue move a servo or a spinner to a value.
func (b *builder) moveTo(c *cue, o *model.Output, value float64, over time.Duration) {
	c.Output, c.Value, c.Frames = b.numberOf[o.Name], b.clampWidth(o, value), frames(over)
}

// clampWidth is a target's pulse width, kept within the output's travel.
func (b *builder) clampWidth(o *model.Output, value float64) int {
	s := b.Servos[b.numberOf[o.Name]]
	return min(max(width(o, value), s.Lowest), s.Highest)
}

func (b *builder) drift(d *model.Drift) {
	b.UsesSmooth = true // an idle move starts and ends at rest
	o := b.d.Output(d.Output)
	lo, hi := b.clampWidth(o, d.Between[0]), b.clampWidth(o, d.Between[1])
	b.Drifts = append(b.Drifts, drift{
		Servo: b.numberOf[o.Name], Lo: min(lo, hi), Hi: max(lo, hi),
		EveryLo: frames(d.Every.Lo), EveryHi: frames(d.Every.Hi),
		OverLo: frames(d.Over.Lo), OverHi: frames(d.Over.Hi),
		Remark: comment(o.Name),
	})
}
