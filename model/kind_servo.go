package model

import (
	"fmt"
	"time"
)

// KindServo is a positional hobby servo.
const KindServo OutputKind = "servo"

var servo = outputKind{
	kind:    KindServo,
	noun:    "a servo",
	purpose: "a joint that goes to an angle",
	called:  "neck",
	gist:    func(o *Output) string { return fmt.Sprintf("%v..%v", float64(o.Min), float64(o.Max)) },
	fields: func(o *Output) []field {
		return []field{
			need("min", angle(&o.Min), `"-30deg"`, "the least angle that the linkage may reach, as -30deg"),
			need("max", angle(&o.Max), `"45deg"`, "the greatest angle that the linkage may reach, as 45deg"),
			may("rest", angle(&o.Rest), `"10deg"`, "the angle at rest"),
			pulseWidth("us_at_min", &o.UsAtMin, "1100", "the pulse at min, in microseconds: measure it"),
			pulseWidth("us_at_max", &o.UsAtMax, "1900", "the pulse at max, in microseconds: measure it"),
			limit("max_speed", measure(&o.MaxSpeed, 0, 0, 100_000), `"200deg/s"`, "what the mechanism stands, not what the servo can do: 200deg/s"),
			limit("max_accel", measure(&o.MaxAccel, 0, 0, 10_000_000), `"1500deg/s2"`, "what the mechanism stands: 1500deg/s2"),
			stall(o),
		}
	},
	first: func(o *Output) { // pulses of 1 to 2 ms: common practice, no published source
		o.Min, o.Max, o.UsAtMin, o.UsAtMax = -30, 30, 1200, 1800
	},
	stays:   func(o, was *Output) { o.StallMA = was.StallMA },
	check:   checkServo,
	expands: true,

	action: func(a *Action, o *Output) []field {
		return []field{
			need("to", angle(&a.To), `"40deg"`, "the angle to go to, as 40deg"),
			over(a),
			may("ease", oneOf(&a.Ease, EaseSmooth, Eases, "ease"), `"linear"`, "smooth; in: it stands at its start; out: at its end; linear"),
		}
	},
	follow: func(c *Cue, o *Output) []field {
		return []field{
			need("quiet", angle(&c.Follow.Quiet), `"0deg"`, "the angle in silence, as 0deg"),
			need("to", angle(&c.To), `"30deg"`, "the angle at the loudest, as 30deg"),
		}
	},
	order: func(a *Action, o *Output) ([]field, string) {
		return []field{may("by", angle(&a.By), `"5deg"`, "how much further than where it was sent last, as 5deg or -5deg")}, "to"
	},
	firstOrder: func(a *Action) { a.To, a.By = 0, 5 },
	checkOrder: func(r *reader, s *Source, a *Action, o *Output, have got) {
		if r.oneOrder(s, o, "to", "by") && have["by"] && a.By == 0 {
			r.fault(s.At("by"), "by 0deg moves nothing", `write for example by = "5deg"`)
		}
	},
	showAction: func(a *Action, o *Output) { a.To, a.Over = o.Max/2, 500*time.Millisecond },
	says: func(a *Action) string {
		if a.By != 0 {
			return "by " + a.By.String()
		}
		return a.To.String()
	},

	pose:  "to",
	scale: func(o *Output) (lo, hi float64) { return float64(o.Min), float64(o.Max) },
	drift: &driftKind{
		end:     func(p *float64, _ *Output) codec { return angle((*Degrees)(p)) },
		example: `["-40deg", "40deg"]`,
		first: func(o *Output) [2]float64 {
			if o.Min > 0 || o.Max < 0 {
				return [2]float64{float64(o.Min), float64(o.Max)}
			}
			return [2]float64{float64(o.Min) / 2, float64(o.Max) / 2}
		},
	},
}

func checkServo(r *reader, o *Output, what string, have got) {
	if have["us_at_min"] && have["us_at_max"] && o.UsAtMin == o.UsAtMax {
		r.fault(o.At("us_at_max"), fmt.Sprintf("us_at_min and us_at_max are both %d", o.UsAtMin), "measure the pulse width at each end of the travel")
	}
	if !have["min"] || !have["max"] {
		return
	}
	if o.Min >= o.Max {
		r.fault(o.At("max"), fmt.Sprintf("max %v is not above min %v", o.Max, o.Min), "min is the smaller angle; where the pulses run the other way, let us_at_min be the larger")
		return
	}
	inside := o.Min <= o.Rest && o.Rest <= o.Max
	switch {
	case have["rest"] && !inside:
		r.fault(o.At("rest"), fmt.Sprintf("rest %v is outside of the travel %v to %v", o.Rest, o.Min, o.Max), "choose an angle inside of it")
	case !o.States("rest") && !inside:
		r.fault(o.Pos, fmt.Sprintf("%s has no rest, and 0deg is outside of its travel %v to %v", what, o.Min, o.Max), fmt.Sprintf(`add for example rest = "%v"`, o.Min))
	}
}
