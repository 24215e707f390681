package timed

// One step of the machine takes one timer (rule 8). Where another one is due,
// because the first was deferred and the state goes on, that comes in the next
// step, and so on: of those that are due the earliest deadline, the first in file
// order on a tie. A lag is what has to be known of that.
type lag struct {
	// late tells when the next timer goes off, see turn: one was due before. It is
	// 0 where none is.
	late uint8

	// timer is the one that went off a step earlier, and overdue how long its
	// deadline was past then. The deadlines of those that are waiting are no less,
	// and greater where they come before it in file order.
	timer, overdue uint8
}

// turn is when the next timer goes off, in time since entry, where another was
// due before; 0 where none was.
func (n *location) turn(r *mode) int64 {
	if n.late == 0 {
		return 0
	}
	waiting, first := n.waiting(r)
	return int64(n.late) + first + 1 - waiting
}

// waiting is how many timers have not gone off, and by when one of them is due.
func (n *location) waiting(r *mode) (timers, first int64) {
	first = Never
	for k := range min(len(r.timers), 64) {
		if !n.isSpent(k) {
			timers++
			first = min(first, int64(r.timers[k].Hi))
		}
	}
	return timers, first
}

// latest is when a timer goes off at the latest; Never where it is spent.
func (n *location) latest(r *mode, timer int) int64 {
	if n.isSpent(timer) {
		return Never
	}
	return max(int64(r.timers[timer].Hi), n.soonest())
}

// soonest is the first time since entry at which a timer can go off.
func (n *location) soonest() int64 {
	if n.arrival == byAfter {
		return 1
	}
	return 0
}

func (n *location) isSpent(timer int) bool { return timer < 64 && n.spent>>timer&1 == 1 }

// lasts is how long the configuration can last at most, in time since entry.
func (n *location) lasts(r *mode) int64 {
	most := n.due(r)
	if turn := n.turn(r); turn > 0 {
		return min(most, turn)
	}
	for t := range r.timers {
		most = min(most, n.latest(r, t))
	}
	return most
}

// goOff gives the result of every timer that can go off in a configuration within
// a guard, until yield returns false.
func (x *Space) goOff(n *configuration, within guard, yield func(location, step) bool) {
	r := &x.modes[n.state]
	within.sinceLo = max(within.sinceLo, n.lo(sinceClock)+within.later)
	within.sinceHi = min(within.sinceHi, n.due(r)-1) // the routine's end comes first
	turn := n.turn(r)
	for j := range r.timers {
		when := within
		latest, ok := n.deadline(r, j)
		if turn > 0 {
			latest, ok = n.past(r, j, turn)
			when = when.sinceAt(turn)
		} else {
			when.sinceLo = max(when.sinceLo, int64(r.timers[j].Lo), n.soonest())
			when.sinceHi = min(when.sinceHi, max(latest, n.soonest()))
		}
		if ok && when.sinceLo <= when.sinceHi && !x.goesOff(&n.location, j, step{kind: afterHappens, timer: j, drawn: uint32(latest), when: when}, yield) {
			return
		}
	}
}

// goesOff gives the result of a timer that goes off, the step before being what
// it says of the time.
func (x *Space) goesOff(n *location, timer int, via step, yield func(location, step) bool) bool {
	r := &x.modes[n.state]
	c, m := *n, &r.timers[timer].Move
	if !m.Defer && !m.Do {
		return x.chances.each(func() bool {
			c, via := c, via
			x.enter(&c, m.Target, byAfter)
			via.enters, via.state, via.picks = true, c.state, x.chances.taken()
			return yield(c, via)
		})
	}
	via.state = c.state
	if m.Defer {
		x.remember(&c, m)
	}
	if timer < 64 {
		c.spent |= 1 << timer
	}
	c.lag, c.arrival = lag{}, x.arrive(c.state, byDone)
	waiting, first := c.waiting(r)
	if waiting == 0 {
		return yield(c, via)
	}
	c.arrival = byDeferral
	if n.arrival == byAfter || n.arrival == byLateDeferral {
		c.arrival = byLateDeferral
	}
	last := via.when.sinceHi
	if via.when.sinceHi = min(last, first-1); via.when.sinceLo <= via.when.sinceHi && !yield(c, via) {
		return false
	}
	// Another one is due already. Before this time of its own it makes no
	// difference: the next one can then be due in its own step as well.
	for at := max(via.when.sinceLo, first+1-waiting); at <= last; at++ {
		deadline := at
		switch {
		case n.late > 0:
			deadline = int64(via.drawn)
		case n.arrival == byAfter && at == 1: // it may have been due when the state was entered
			deadline = int64(r.timers[timer].Lo)
		}
		c.lag = lag{late: uint8(at + waiting - first), timer: uint8(timer), overdue: uint8(at - deadline)}
		via.when.sinceLo, via.when.sinceHi, via.drawn = at, at, uint32(deadline)
		goesOn := false
		for k := range r.timers {
			_, ok := c.past(r, k, at+1)
			goesOn = goesOn || ok
		}
		if goesOn && !yield(c, via) {
			return false
		}
	}
	return true
}

// past is the least deadline of a timer that goes off in its turn after another
// one, having been due before; false where it cannot.
func (n *location) past(r *mode, timer int, turn int64) (deadline int64, ok bool) {
	deadline = turn - 1 - int64(n.overdue) // that of the one before
	if timer < int(n.timer) {
		deadline++
	}
	deadline = max(deadline, int64(r.timers[timer].Lo))
	latest, ok := n.deadline(r, timer)
	return deadline, ok && deadline <= min(latest, turn-1)
}

// deadline is the latest that a timer may be drawn to be the first of those
// that have not gone off: file order decides a tie. False where it cannot be
// the first.
func (n *location) deadline(r *mode, timer int) (latest int64, ok bool) {
	if n.isSpent(timer) {
		return 0, false
	}
	latest = int64(r.timers[timer].Hi)
	for k := range r.timers {
		switch hi := int64(r.timers[k].Hi); {
		case k == timer || n.isSpent(k):
		case k < timer:
			latest = min(latest, hi-1)
		default:
			latest = min(latest, hi)
		}
	}
	return latest, latest >= int64(r.timers[timer].Lo)
}
