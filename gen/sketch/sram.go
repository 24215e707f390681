package sketch

import (
	"slices"
	"strings"

	"propwright/model/ir"
)

// A variable is a static variable of the firmware or the core.
type variable struct {
	name  string
	bytes int // on an AVR those of its members, without gaps
}

// initialised lists the variables with an initial value other than 0. Those of a
// decoder whose names end in _button have one too.
var initialised = []string{"ir_high", "ended", "line_high", "down", "line_at", "last_number", "breakValue", "_initEndpoints", "_usbLineInfo", "vtable for Serial_"}

// variables lists all variables except the maker's own in hooks.cpp. A test compares
// names and sizes with the compiler's for every chip.
func (f *firmware) variables() (vs []variable) {
	add := func(used bool, more ...variable) {
		if used {
			vs = append(vs, more...)
		}
	}
	// The core: its clock and, where the chip is its own USB port, what drives that.
	add(true, variable{"timer0_fract", 1}, variable{"timer0_millis", 4}, variable{"timer0_overflow_count", 4})
	add(f.Board == usbBoard, usb...)

	// sketch.ino and board.cpp
	add(true, variable{"clock_ms", 2}, variable{"frame_start", 2}, variable{"frame_ms", 2},
		variable{"edges", 2 * 32}, variable{"edges_in", 1}, variable{"edges_out", 1}, variable{"ir_high", 1})
	direct, expanded, channels := len(f.Direct()), f.Expanded(), len(f.Channels)
	add(direct > 0, variable{"plans", 2 * 5 * direct}, variable{"playing", 1}, variable{"ended", 1})
	add(expanded > 0, variable{"planned", 2 * expanded}, variable{"plan_begun", 1})
	add(channels > 0, variable{"expanders", 3 * len(f.Expanders)}, variable{"wanted", 2 * channels}, variable{"due", channels},
		variable{"last_channel", 1}, variable{"bus_faults", 1}, variable{"bus", 1}, variable{"bus_expander", 1}, variable{"bus_since", 2},
		variable{"bus_ms", 2}, variable{"message", 6}, variable{"message_length", 1}, variable{"message_next", 1})

	// machine.c
	info := 13
	if len(f.Drifts) > 0 {
		info += 2
	}
	add(true, variable{"pw_state", 1}, variable{"pw_dropped", 1}, variable{"here", info}, variable{"time_here", 4},
		variable{"back", 1}, variable{"deferred", 1}, variable{"queue", 8}, variable{"queued", 1})
	add(f.MaxTimers > 0, variable{"due", 4 * f.MaxTimers})
	add(f.MaxTimers > 0 || f.AtRandom, variable{"sequence", 4})
	add(f.AtRandom, variable{"chosen", 1})
	add(f.Turns > 0, variable{"turns", f.Turns})

	// ir.c
	add(true, variable{"last_edge", 2}, variable{"line_high", 1}, variable{"quiet_ms", 1}, variable{"down", 1}, variable{"frame_age", 2}, variable{"ir_ms", 2})
	add(f.Fresh, variable{"fresh", 1})
	add(f.HasHolds, variable{"held", 2})
	add(f.Toggles, variable{"down_toggle", 1})
	for i := range f.Waves {
		vs = append(vs, f.Waves[i].variables()...)
	}
	inputs := len(f.Inputs)
	add(inputs > 0, variable{"unsettled", 2 * inputs}, variable{"settled", inputs}, variable{"known", inputs})

	// live.c
	add(f.Live > 0, variable{"edges_lost", 1}, variable{"restarted", 1}, variable{"notes", 8 * 11}, variable{"first_note", 1},
		variable{"note_count", 1}, variable{"noted", 1}, variable{"line", 30}, variable{"line_at", 1}, variable{"live_ms", 4},
		variable{"beat_ms", 2}, variable{"held_up", 2}, variable{"heard", 6}, variable{"last_number", 1})

	// player.c
	add(true, variable{"next_cue", 2}, variable{"wait", 2})
	add(len(f.Drifts) > 0 || f.UsesFlicker, variable{"sequence", 4})
	add(len(f.Servos) > 0 || len(f.Layers) > 0, variable{"frame_ms", 1})
	add(len(f.Drifts) > 0, variable{"first_drift", 1}, variable{"drifts", 1}, variable{"drift_wait", 2 * f.MaxDrifts})
	add(len(f.Follows) > 0, variable{"followers", 5 * f.Followers})
	add(f.Stops > 0, variable{"sounding", f.Stops})
	for _, s := range f.shares() {
		for _, v := range s.variables {
			add(v.bytes > 0, v)
		}
	}
	return vs
}

// usbBoard is the board whose chip is its own USB port.
const usbBoard = "atmega32u4"

// usb lists the core's variables for the port of the ATmega32U4.
var usb = []variable{
	{"RxLEDPulse", 1}, {"TxLEDPulse", 1}, {"USBDevice", 1}, {"wdtcsr_save", 1},
	{"_usbConfiguration", 1}, {"_usbCurrentStatus", 1}, {"_usbSuspendState", 1},
	{"_cend", 2}, {"_cmark", 2}, {"breakValue", 4}, {"PluggableUSB()::obj", 4},
	{"guard variable for PluggableUSB()::obj", 8}, {"_initEndpoints", 7}, {"_usbLineInfo", 8},
	{"vtable for Serial_", 18}, {"Serial", 80},
}

// variables returns the variables of one decoder.
func (w *wave) variables() []variable {
	vs := []variable{{w.Name + "_next", 1}, {w.Name + "_frame", 4}}
	switch w.Family {
	case ir.Unknown:
		return []variable{{"raw_hash", 4}, {"raw_times", 2}, {"raw_last", 4}}
	case ir.BiPhase:
		return append(vs, variable{w.Name + "_half", 1})
	case ir.PulseWidth:
		if w.LeaderMost > 0 {
			vs = append(vs, variable{w.Name + "_leader", 2})
		}
		return vs
	}
	if w.Early {
		vs = append(vs, variable{w.Name + "_early", 2})
	}
	if w.Mark {
		vs = append(vs, variable{w.Name + "_button", 1})
	}
	if w.Bare {
		vs = append(vs, variable{w.Name + "_bare", 1})
	}
	return vs
}

// sram returns the size of all variables in bytes. Those with initial values are
// padded to a whole word.
func (f *firmware) sram() int {
	sum, first := 0, 0
	for _, v := range f.variables() {
		sum += v.bytes
		if slices.Contains(initialised, v.name) || strings.HasSuffix(v.name, "_button") {
			first += v.bytes
		}
	}
	return sum + first%2
}
