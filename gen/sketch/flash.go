package sketch

import "slices"

// A table is an array of tables.c in flash.
type table struct {
	name string
	each int // bytes of an entry: on an AVR those of its members, without gaps
	n    int
}

// tables lists the arrays of tables.c; those that a design does not need have
// no entries. A test compares the sizes with the compiler's.
func (f *firmware) tables() []table {
	info := 13
	if len(f.Drifts) > 0 {
		info += 2
	}
	code := 4
	if f.Early {
		code += 2
	}
	if f.Mixed {
		code++
	}
	if f.ReleaseMS == 0 {
		code += 2
	}
	orders := len(f.Orders)
	if orders > 0 {
		orders++ // where the last ones end
	}
	all := []table{
		{"pw_rules", 3, max(f.RuleCount, 1)},
		{"pw_rows", 2, len(f.Rows) + 1},
		{"pw_states", info, len(f.States)},
		{"pw_timers", 10, len(f.Timers)},
		{"pw_choices", 4, len(f.Choices)},
		{"pw_choice_states", 1, f.ChoiceStates},
		{"pw_codes", code, len(f.Buttons)},
		{"pw_press_events", 4, len(f.Presses)},
		{"pw_inputs", 4, len(f.Inputs)},
		{"pw_cues", 8, len(f.Cues)},
		{"pw_orders", 2, orders},
		{"pw_drifts", 13, len(f.Drifts)},
		{"pw_follows", 15, len(f.Follows)},
		{"pw_loudness", 1, len(f.Loudness)},
	}
	for _, s := range f.shares() {
		all = append(all, s.tables...)
	}
	return all
}

// bytes returns the size of the named tables, or of all if no name is given.
func (f *firmware) bytes(names ...string) int {
	sum := 0
	for _, t := range f.tables() {
		if len(names) == 0 || slices.Contains(names, t.name) {
			sum += t.each * t.n
		}
	}
	return sum
}
