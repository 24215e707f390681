package timed

// Never is a time that does not come, in milliseconds.
const Never = int64(1) << 50

// The clocks of a zone.
const (
	zeroClock  = iota // always reads 0
	sinceClock        // since the state was entered
	heldClock         // since the first frame of the press going on
	eventClock        // since an event that somebody asks about, see renew
)

// A zone is a set of readings of clocks that run alike, in milliseconds: [i][j] is
// the most that clock i may be ahead of clock j, Never where that is not bounded. This
// is Dill's difference bound matrix. Zones are canonical, every bound as tight as the
// others have it: equal sets are equal values.
type zone [4][4]int64

// A guard bounds each clock by itself while something happens.
type guard struct {
	later            int64 // how long after the zone was come to, at least
	sinceLo, sinceHi int64
	heldLo, heldHi   int64
	eventLo, eventHi int64 // of what has happened
}

// entry is the zone of a state just entered without a press going on or an event
// asked about.
var entry = func() (z zone) {
	z.forget(heldClock)
	z.forget(eventClock)
	z.run()
	return z
}()

// sinceAt and heldAt cut a guard down to one value of a clock.
func (s guard) sinceAt(t int64) guard {
	s.sinceLo, s.sinceHi = max(s.sinceLo, t), min(s.sinceHi, t)
	return s
}

func (s guard) heldAt(t int64) guard {
	s.heldLo, s.heldHi = max(s.heldLo, t), min(s.heldHi, t)
	return s
}

// lo and hi are the least and the most that a clock may read.
func (z *zone) lo(clock int) int64 { return -z[zeroClock][clock] }
func (z *zone) hi(clock int) int64 { return z[clock][zeroClock] }

// knows reports whether the zone has a bound of a clock.
func (z *zone) knows(clock int) bool { return z[zeroClock][clock] < Never }

// guard bounds the clocks as the zone does.
func (z *zone) guard() guard {
	return guard{
		sinceLo: z.lo(sinceClock), sinceHi: z.hi(sinceClock),
		heldLo: z.lo(heldClock), heldHi: z.hi(heldClock),
		eventLo: z.lo(eventClock), eventHi: z.hi(eventClock),
	}
}

// within cuts a zone down to a guard; false where nothing is left.
func (z zone) within(s guard) (zone, bool) {
	if s.later > 0 {
		for i := range z {
			if i != zeroClock {
				z[zeroClock][i] = bound(z[zeroClock][i] - s.later)
			}
		}
	}
	z.between(sinceClock, s.sinceLo, s.sinceHi)
	z.between(heldClock, s.heldLo, s.heldHi)
	return z, z.close()
}

// between bounds one clock; close is to follow.
func (z *zone) between(clock int, lo, hi int64) {
	z[clock][zeroClock] = min(z[clock][zeroClock], hi)
	z[zeroClock][clock] = min(z[zeroClock][clock], -lo)
}

// close makes every bound as tight as the others have it, where only those of single
// clocks were changed; false where no reading is left.
func (z *zone) close() bool {
	for i := sinceClock; i < len(z); i++ {
		for k := sinceClock; k < len(z); k++ {
			z[i][zeroClock] = min(z[i][zeroClock], bound(z[i][k]+z[k][zeroClock]))
			z[zeroClock][i] = min(z[zeroClock][i], bound(z[zeroClock][k]+z[k][i]))
		}
	}
	for i := sinceClock; i < len(z); i++ {
		if z[i][zeroClock]+z[zeroClock][i] < 0 {
			return false
		}
		for j := sinceClock; j < len(z); j++ {
			if i != j {
				z[i][j] = min(z[i][j], bound(z[i][zeroClock]+z[zeroClock][j]))
			}
		}
	}
	return true
}

// bound keeps what is as good as never exactly never.
func bound(n int64) int64 {
	switch {
	case n > Never/2:
		return Never
	case n < -Never/2:
		return -Never
	}
	return n
}

// run lets any time pass.
func (z *zone) run() {
	for i := sinceClock; i < len(z); i++ {
		z[i][zeroClock] = Never
	}
}

// restart sets a clock to 0.
func (z *zone) restart(clock int) {
	z[clock] = z[zeroClock]
	for k := range z {
		z[k][clock] = z[k][zeroClock]
	}
	z[clock][clock] = 0
}

// forget leaves a clock without bounds.
func (z *zone) forget(clock int) {
	for k := range z {
		if k != clock {
			z[clock][k], z[k][clock] = Never, Never
		}
	}
}

// covers reports whether z has all of o.
func (z *zone) covers(o *zone) bool {
	for i := range z {
		for j := range z[i] {
			if z[i][j] < o[i][j] {
				return false
			}
		}
	}
	return true
}

// cut takes from o what z has too, by how far the press going on is ahead of the
// state's entry, and gives what is left; false where z has nothing of o.
func (z *zone) cut(o *zone) (left []zone, ok bool) {
	lo, hi := max(-z[sinceClock][heldClock], -o[sinceClock][heldClock]), min(z[heldClock][sinceClock], o[heldClock][sinceClock])
	if lo > hi {
		return nil, false
	}
	shared, theirs := z.ahead(lo, hi), o.ahead(lo, hi)
	if !shared.covers(&theirs) {
		return nil, false
	}
	if first := -o[sinceClock][heldClock]; first < lo {
		left = append(left, o.ahead(first, lo-1))
	}
	if last := o[heldClock][sinceClock]; last > hi {
		left = append(left, o.ahead(hi+1, last))
	}
	return left, true
}

// ahead is the part of z in which the press going on began from lo to hi before the
// state's entry, within z's own bounds of that. Time may pass in z.
func (z zone) ahead(lo, hi int64) zone {
	z[heldClock][sinceClock], z[sinceClock][heldClock] = hi, -lo
	z[zeroClock][sinceClock] = min(z[zeroClock][sinceClock], bound(z[zeroClock][heldClock]+hi))
	z[zeroClock][heldClock] = min(z[zeroClock][heldClock], bound(z[zeroClock][sinceClock]-lo))
	return z
}
