package timed

// Clocks is a set of readings of three clocks in milliseconds that run alike:
// [i][j] is the most that clock i may be ahead of clock j. Clock 0 stands at 0.
//
// This is Dill's difference bound matrix of three clocks. A zone has two, which
// is all that a prop needs; the third tells the time since an event that
// somebody asks about.
type clocks [4][4]int64

const (
	noClock    = iota
	sinceClock // since the state was entered
	heldClock  // since the first frame of the press going on; with no press the time since the event
	eventClock // since the event
)

// clocksAt are the clocks at an event that happens within bounds.
func clocksAt(when bounds) clocks {
	var c clocks
	for i := range c {
		for j := range c {
			if i != j {
				c[i][j] = Never
			}
		}
	}
	c.between(sinceClock, when.sinceLo, when.sinceHi)
	c.between(heldClock, when.heldLo, when.heldHi)
	c[heldClock][sinceClock], c[sinceClock][heldClock] = when.diffHi, bound(-when.diffLo)
	c.close()
	c.restart(eventClock)
	return c
}

// between bounds one clock; close is to follow.
func (c *clocks) between(i int, lo, hi int64) {
	c[i][noClock] = min(c[i][noClock], hi)
	c[noClock][i] = min(c[noClock][i], bound(-lo))
}

// close makes every bound as tight as the others have it; false where no
// reading is left.
func (c *clocks) close() bool {
	for k := range c {
		for i := range c {
			for j := range c {
				c[i][j] = min(c[i][j], bound(c[i][k]+c[k][j]))
			}
		}
	}
	for i := range c {
		if c[i][i] < 0 {
			return false
		}
	}
	return true
}

// run lets any time pass, from a least one on.
func (c *clocks) run(least int64) {
	for i := sinceClock; i < len(c); i++ {
		c[i][noClock] = Never
		c[noClock][i] = bound(c[noClock][i] - least)
	}
}

// restart sets one clock to 0.
func (c *clocks) restart(i int) { c.set(i, noClock) }

// set makes clock i read what clock j does.
func (c *clocks) set(i, j int) {
	c[i] = c[j]
	for k := range c {
		c[k][i] = c[k][j]
	}
	c[i][i], c[i][j], c[j][i] = 0, 0, 0
}

// reading is the least and the most of one clock.
func (c *clocks) reading(i int) (lo, hi int64) { return bound(-c[noClock][i]), c[i][noClock] }
