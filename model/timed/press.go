package timed

import (
	"slices"

	"propwright/model/machine"
)

// A pressing is a configuration in which some buttons have been pressed, and the run
// to it.
type pressing struct {
	configuration
	run Run
}

// Press gives runs on which buttons are tapped one after the other, the first of them
// in a state in which the prop can stay. Nothing else happens meanwhile but what
// takes no time; each button is let go by the next press. There is one for each way
// that it can end, that from the first configuration first; its event is the first
// press.
func (x *Space) Press(from machine.StateID, buttons []int) []Run {
	var now []pressing
	for i := range x.all.configurations {
		if n := x.all.at(i); n.state == from && x.stays(&n) {
			now = append(now, pressing{n, Run{x: x, at: i, event: 1, most: Never}})
		}
	}
	closed := newGraph(x, true)
	for _, b := range buttons {
		now = x.press(closed, now, machine.EventID(b))
	}
	runs := make([]Run, len(now))
	for i := range now {
		runs[i] = now[i].run
	}
	return runs
}

// press presses a button in each of the configurations, and lets happen what takes
// no time. Of those that come of it, one that is part of another is left out.
func (x *Space) press(closed *graph, now []pressing, button machine.EventID) []pressing {
	var next []pressing
	of := map[location][]zone{}
	add := func(n configuration, run Run) {
		covers := func(z zone) bool { return z.covers(&n.zone) }
		if x.stays(&n) && !slices.ContainsFunc(of[n.location], covers) {
			of[n.location] = append(of[n.location], n.zone)
			next = append(next, pressing{n, run})
		}
	}
	for _, p := range now {
		when, _ := p.within(x.all.soon(&p.location, true)) // it stays as long
		for _, o := range x.act(&p.configuration, button, when, true, nil) {
			o.via.state = o.state
			run := p.run
			run.steps = append(slices.Clone(run.steps), o.via)
			if !o.via.enters {
				add(configuration{location: o.location, zone: o.zone}, run)
				continue
			}
			for _, n := range x.atOnce(closed, o, run) {
				add(n.configuration, n.run)
			}
		}
	}
	return next
}

// atOnce gives the configurations that the prop can be in after what follows an
// outcome in no time.
func (x *Space) atOnce(closed *graph, o outcome, run Run) []pressing {
	root := closed.add(o.location, &o.zone, -1)[0]
	ways := map[int][]step{root: run.steps}
	var found []pressing
	todo := []int{root}
	for len(todo) > 0 {
		i := todo[0]
		todo = todo[1:]
		n := closed.at(i)
		run.steps = ways[i]
		found = append(found, pressing{n, run})
		vias := closed.vias(i)
		for k, e := range closed.next(i) {
			to := int(e.to)
			if _, seen := ways[to]; e.instant && !seen {
				ways[to] = append(slices.Clone(ways[i]), vias[k])
				todo = append(todo, to)
			}
		}
	}
	return found
}

// stays reports whether the prop can stay in a configuration until the next step.
func (x *Space) stays(n *configuration) bool {
	_, ok := n.within(x.all.soon(&n.location, true))
	return ok
}
