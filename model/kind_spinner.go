package model

import (
	"fmt"
	"time"
)

// KindSpinner is a continuous-rotation servo.
const KindSpinner OutputKind = "spinner"

var spinner = outputKind{
	kind:    KindSpinner,
	noun:    "a spinner",
	purpose: "a joint that turns on and on",
	called:  "wheel",
	gist:    func(o *Output) string { return o.RevPerS.String() },
	fields: func(o *Output) []field {
		return []field{
			pulseWidth("stop_us", &o.StopUs, "1500", "the pulse at which it stands still, in microseconds"),
			pulseWidth("full_us", &o.FullUs, "2000", "the pulse at full speed forward, in microseconds"),
			need("rev_per_s", number(&o.RevPerS, 0.001, 100, "rev/s"), "1.0", "revolutions a second at full speed"),
			may("wires_pass", yesNo(&o.WiresPass), "true", "true where a cable runs through the joint"),
			limit("max_turns", number(&o.MaxTurns, 0, 10_000, ""), "1.5", "how far it may turn either way before a cable suffers"),
			stall(o),
		}
	},
	first:   func(o *Output) { o.StopUs, o.FullUs, o.RevPerS = 1500, 2000, 1 },
	stays:   func(o, was *Output) { o.StallMA = was.StallMA },
	expands: true,
	check: func(r *reader, o *Output, what string, have got) {
		if have["stop_us"] && have["full_us"] && o.StopUs == o.FullUs {
			r.fault(o.At("full_us"), fmt.Sprintf("stop_us and full_us are both %d", o.StopUs), "full_us is the pulse at full speed forward")
		}
	},

	noOrders: true,
	checkOrder: func(r *reader, s *Source, a *Action, o *Output, have got) {
		r.fault(s.At("output"), fmt.Sprintf("how far a spinner turns must be known, and how long %q would turn is not", o.Name), "let a state turn it, by its pose or its routine")
	},
	action: func(a *Action, o *Output) []field {
		return []field{need("speed", speed(&a.Speed, o), `"0.5rev/s"`, "how fast, as 0.5rev/s; a - turns it the other way"), over(a)}
	},

	showAction: func(a *Action, o *Output) { a.Speed, a.Over = o.RevPerS/2, 300*time.Millisecond },
	says:       func(a *Action) string { return a.Speed.String() },
	pose:       "speed",
	scale:      func(o *Output) (lo, hi float64) { return -float64(o.RevPerS), float64(o.RevPerS) },
	drift: &driftKind{
		end:     func(p *float64, o *Output) codec { return speed((*RevPerS)(p), o) },
		example: `["-0.5rev/s", "0.5rev/s"]`,
		first: func(o *Output) [2]float64 {
			return [2]float64{-float64(o.RevPerS) / 2, float64(o.RevPerS) / 2}
		},
	},
}

// speed is a speed that the spinner can turn at, either way.
func speed(p *RevPerS, o *Output) codec {
	most := RevPerS(100)
	if o != nil && o.RevPerS > 0 {
		most = o.RevPerS
	}
	return measure(p, 0, -most, most)
}
