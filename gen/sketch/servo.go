package sketch

import (
	"fmt"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/motion"
)

// Servos, and spinners, which are servos to the firmware.
var servoKind = outputKind{
	wire: func(b *builder, o *model.Output, p place) { b.servo(o, p, positional(o)) },
	cue: func(b *builder, o *model.Output, a model.Action, c *cue) bool {
		c.What = moveNames[a.Ease]
		if c.What == "" {
			c.What = moveNames[model.EaseSmooth]
		}
		b.UsesSmooth = b.UsesSmooth || c.What == "PW_CUE_SMOOTH"
		b.UsesIn = b.UsesIn || c.What == "PW_CUE_IN"
		b.UsesOut = b.UsesOut || c.What == "PW_CUE_OUT"
		b.moveTo(c, o, float64(a.To), a.Over)
		if a.By != 0 {
			b.UsesNudge = true
			c.What = strings.Replace(c.What, "PW_CUE", "PW_CUE_BY", 1)
			c.Value = int(uint16(motion.Nudge(o, a.By)))
		}
		return true
	},
	takes: func(f *firmware) share {
		n := len(f.Servos)
		s := share{tables: []table{{"pw_servos", 12, n}}}
		if n > 0 {
			s.code = 1940 + 99*min(n, 4) + 13*max(n-4, 0) + bytesIf(f.UsesSmooth, 175) + bytesIf(f.UsesNudge, 230)
			s.variables = []variable{{"moves", 22 * n}, {"next_servo", 1}, {"plan_ready", 1}}
		}
		return s
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

// motors are the servos and spinners of a firmware.
type motors struct {
	Servos []servo

	UsesSmooth, UsesIn, UsesOut bool // eases
	UsesNudge                   bool // an order sends a servo further
}

type servo struct {
	Name   string
	Upper  string
	Back   bool // its least value is its widest pulse
	Wires  bool // pass through its joint, which limits its turns
	P      place
	Rest   int
	Slow   int32
	Remark string
	motion.Limits
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

func widthAt(o *model.Output, value float64) int { return int(motion.Pulse(o, value)) }

func (b *builder) servo(o *model.Output, p place, s servo) {
	s.Name, s.Upper, s.P, s.Limits, s.Slow = o.Name, upper(o.Name), p, motion.LimitsOf(o), motion.Slow(o)
	lo, hi := o.Scale()
	s.Back = widthAt(o, lo) > widthAt(o, hi)
	if least := motion.LeastSpeed(o); 0 < o.MaxSpeed && o.MaxSpeed < least {
		b.fault(o.At("max_speed"), fmt.Sprintf("choose at least %v", least), "the firmware cannot move %s as slowly as %v", o.Name, o.MaxSpeed)
	}
	if least := motion.LeastAccel(o); 0 < o.MaxAccel && o.MaxAccel < least {
		b.fault(o.At("max_accel"), fmt.Sprintf("choose at least %v", least), "the firmware cannot make %s faster as slowly as by %v", o.Name, o.MaxAccel)
	}
	b.numberOf[o.Name] = len(b.Servos)
	b.Servos = append(b.Servos, s)
	b.timed(p, o)
}

// continuous makes a servo of a spinner.
func continuous(o *model.Output) servo {
	return servo{Wires: o.WiresPass, Rest: widthAt(o, 0), Remark: remark(o.Name, fmt.Sprintf("stands at %d us", o.StopUs))}
}

// positional makes a servo whose pulse is a position.
func positional(o *model.Output) servo {
	return servo{
		Rest:   widthAt(o, float64(o.Rest)),
		Remark: remark(o.Name, fmt.Sprintf("%v at %d us to %v at %d us", o.Min, o.UsAtMin, o.Max, o.UsAtMax)),
	}
}

// moveTo makes a cue move a servo or a spinner to a value.
func (b *builder) moveTo(c *cue, o *model.Output, value float64, over time.Duration) {
	c.Output, c.Value, c.Frames = b.numberOf[o.Name], widthAt(o, value), frames(over)
}

func (b *builder) drift(d *model.Drift) {
	b.UsesSmooth = true // an idle move starts and ends at rest
	o := b.d.Output(d.Output)
	lo, hi := widthAt(o, d.Between[0]), widthAt(o, d.Between[1])
	b.Drifts = append(b.Drifts, drift{
		Servo: b.numberOf[o.Name], Lo: min(lo, hi), Hi: max(lo, hi),
		EveryLo: frames(d.Every.Lo), EveryHi: frames(d.Every.Hi),
		OverLo: frames(d.Over.Lo), OverHi: frames(d.Over.Hi),
		Remark: comment(o.Name),
	})
}
