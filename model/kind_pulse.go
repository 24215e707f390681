package model

import "time"

// KindPulse is a pin held active for a while: a sound board's trigger.
const KindPulse OutputKind = "pulse"

var pulse = outputKind{
	kind:    KindPulse,
	noun:    "a pulse",
	purpose: "starts a sound or a show board",
	called:  "voice",
	fields: func(o *Output) []field {
		return []field{active(o), need("hold", duration(&o.Hold, 0, time.Millisecond), `"100ms"`, "how long the pulse lasts")}
	},
	first: func(o *Output) { o.Hold = 100 * time.Millisecond },
	stays: activeStays,

	action: func(a *Action, o *Output) []field {
		return []field{need("fire", yesNo(&a.Fire), "true", "true: the pulse is given")}
	},
	firstAction: func(a *Action, o *Output) { a.Fire = true },
	checkAction: func(r *reader, s *Source, a *Action, _ *Output, have got) {
		if have["fire"] && !a.Fire {
			r.fault(s.At("fire"), "a cue of a pulse that does not fire", "write fire = true, or leave the cue out")
		}
	},

	lasts: func(o *Output) time.Duration { return o.Hold },
	track: true,
}
