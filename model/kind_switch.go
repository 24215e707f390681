package model

// onOff is a pin that is on or off, kind "switch".
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
	firstAction: func(a *Action, o *Output) { a.Set = true },

	says: func(a *Action) string {
		if a.Set {
			return "on"
		}
		return "off"
	},
	pose:  "set",
	track: true,
}
