package timed

import "propwright/model/machine"

// Leaving is a shortest run that ends with leaving a state, or reentering it, at a
// time that pick chooses: it is asked for one in milliseconds after the state's entry,
// of least to most, those at which the last step can come. False where there is none.
func (x *Space) Leaving(s machine.StateID, pick func(least, most int64) (at int64, ok bool)) (run Run, found bool) {
	for i := range x.all.configurations {
		if x.State(i) != s {
			continue
		}
		n := x.all.at(i)
		x.all.outcomes(i, func(o *outcome, _ bool) bool {
			when, ok := n.within(o.via.when)
			if !ok || !o.via.enters {
				return true
			}
			at, ok := pick(when.lo(sinceClock), when.hi(sinceClock))
			if !ok {
				return true
			}
			if when, ok = n.within(o.via.when.sinceAt(at)); !ok {
				return true
			}
			o.via.when = when.guard()
			run, found = Run{x: x, at: i, steps: []step{o.via}}, true
			return false
		})
		if found {
			break
		}
	}
	return run, found
}
