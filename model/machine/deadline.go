package machine

// A Deadline is one armed timer of the current state.
type Deadline struct {
	Timer *Timer
	At    uint32 // milliseconds since power-up
}

// Deadlines are the timers of the current state that have not fired, in file
// order.
func (m *Machine) Deadlines() []Deadline {
	var ds []Deadline
	for i, at := range m.timers {
		if at != spent {
			ds = append(ds, Deadline{&m.p.timers[m.state][i], uint32(at)})
		}
	}
	return ds
}

// Entered is when the current state was entered, in milliseconds since
// power-up.
func (m *Machine) Entered() uint32 { return uint32(m.entered) }
