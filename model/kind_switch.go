package model

// KindSwitch is a pin on or off.
const KindSwitch OutputKind = "switch"

var onOff = outputKind{
	kind:    KindSwitch,
	noun:    "a switch",
	purpose: "a pin on or off",
	called:  "lamp",
	fields:  func(o *Output) []field { return []field{active(o)} },
	stays:   activeStays,
	expands: true,

	action: func(a *Action, o *Output) []field {
		return []field{need("set", yesNo(&a.Set), "true", "true: on; false: off")}
	},
	order:      func(a *Action, o *Output) ([]field, string) { return []field{toggle(a)}, "set" },
	firstOrder: func(a *Action) { a.Set, a.Toggle = false, true },
	checkOrder: func(r *reader, s *Source, a *Action, o *Output, have got) {
		if r.oneOrder(s, o, "set", "toggle") {
			checkToggle(r, s, a, have)
		}
	},
	firstAction: func(a *Action, o *Output) { a.Set = true },

	lit: func(a *Action) bool { return a.Set },
	says: func(a *Action) string {
		if a.Toggle {
			return "on or off"
		}
		if a.Set {
			return "on"
		}
		return "off"
	},
	pose:  "set",
	track: true,
}
