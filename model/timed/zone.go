package timed

// Never is a time that does not come, in milliseconds.
const Never = int64(1) << 50

// A zone is a set of pairs of clocks in milliseconds: since is the time since
// the state was entered, held the time since the first frame of the press
// going on, if the configuration has one. It holds least bounds for both and
// bounds for their difference held - since; time may pass, so there are no
// greatest bounds. Zones are canonical: equal sets are equal values.
//
// This is Dill's difference bound matrix of two clocks, without the bounds that
// the passing of time takes away.
type zone struct {
	since, held    int64 // least
	diffLo, diffHi int64 // of held - since
}

// entry is the zone of a state just entered without a press going on.
var entry = zone{0, -Never, -Never, Never}

// A constraint bounds both clocks while something happens.
type constraint struct {
	sinceLo, sinceHi int64
	heldLo, heldHi   int64
}

// sinceAt and heldAt cut a constraint down to one value of a clock.
func (s constraint) sinceAt(t int64) constraint {
	s.sinceLo, s.sinceHi = max(s.sinceLo, t), min(s.sinceHi, t)
	return s
}

func (s constraint) heldAt(t int64) constraint {
	s.heldLo, s.heldHi = max(s.heldLo, t), min(s.heldHi, t)
	return s
}

// bounds is a constraint with bounds for the clocks' difference.
type bounds struct {
	constraint
	diffLo, diffHi int64
}

// within cuts a zone down to a constraint; false where nothing is left.
func (z zone) within(s constraint) (b bounds, ok bool) {
	b.sinceLo, b.sinceHi = max(z.since, s.sinceLo), s.sinceHi
	b.heldLo, b.heldHi = max(z.held, s.heldLo), s.heldHi
	b.diffLo, b.diffHi = z.diffLo, z.diffHi
	for range 2 { // each bound may tighten the others
		b.sinceLo = max(b.sinceLo, bound(b.heldLo-b.diffHi))
		b.sinceHi = min(b.sinceHi, bound(b.heldHi-b.diffLo))
		b.heldLo = max(b.heldLo, bound(b.sinceLo+b.diffLo))
		b.heldHi = min(b.heldHi, bound(b.sinceHi+b.diffHi))
		b.diffLo = max(b.diffLo, bound(b.heldLo-b.sinceHi))
		b.diffHi = min(b.diffHi, bound(b.heldHi-b.sinceLo))
	}
	return b, b.sinceLo <= b.sinceHi && b.heldLo <= b.heldHi && b.diffLo <= b.diffHi
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

// covers reports whether z has all of o.
func (z zone) covers(o zone) bool {
	return z.since <= o.since && z.held <= o.held && z.diffLo <= o.diffLo && z.diffHi >= o.diffHi
}

// cut takes from o what z has too, by their differences of clocks, and gives
// what is left; false where z has nothing of o.
func (z zone) cut(o zone) (left []zone, ok bool) {
	lo, hi := max(z.diffLo, o.diffLo), min(z.diffHi, o.diffHi)
	if lo > hi || !z.between(lo, hi).covers(o.between(lo, hi)) {
		return nil, false
	}
	if o.diffLo < lo {
		left = append(left, o.between(o.diffLo, lo-1))
	}
	if o.diffHi > hi {
		left = append(left, o.between(hi+1, o.diffHi))
	}
	return left, true
}

// between is the part of z with a difference of clocks from lo..hi, within
// z's own.
func (z zone) between(lo, hi int64) zone {
	return zone{
		since:  max(z.since, bound(z.held-hi)),
		held:   max(z.held, bound(z.since+lo)),
		diffLo: lo, diffHi: hi,
	}
}
