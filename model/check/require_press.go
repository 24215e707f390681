package check

import (
	"slices"

	"propwright/model/machine"
)

// A pressing is a configuration in which some of a requirement's buttons have been
// pressed, and what happened since the first of them.
type pressing struct {
	configuration
	from int // the number of the configuration before the first press
	hs   []step
}

// endsIn checks `from … press … ends in`. The buttons are pressed one after
// the other while nothing else happens but what takes no time; each is let go
// by the next press.
func (r *required) endsIn() {
	for _, p := range r.pressAll() {
		if r.Program.Name(p.state) != r.State {
			r.endsElsewhere(p)
			return
		}
	}
}

// pressAll gives what pressing all buttons can lead to, that of the first
// configuration first.
func (r *required) pressAll() []pressing {
	x := r.explored
	from, _ := r.Program.State(r.From)
	var now []pressing
	for i := range x.all.configurations {
		if x.all.configurations[i].state == from && x.stays(&x.all.configurations[i]) {
			now = append(now, pressing{configuration: x.all.configurations[i], from: i})
		}
	}
	quiet := newGraph(x, true)
	for _, b := range r.Press {
		now = r.press(quiet, now, b)
	}
	return now
}

// press presses a button in each of the configurations, and lets happen what takes
// no time. Of those that come of it, one that is part of another is left out.
func (r *required) press(quiet *graph, now []pressing, button string) []pressing {
	x := r.explored
	b, _ := r.Program.Button(button)
	var next []pressing
	of := map[location][]zone{}
	add := func(n configuration, from int, hs []step) {
		covers := func(z zone) bool { return z.covers(n.zone) }
		if x.stays(&n) && !slices.ContainsFunc(of[n.location], covers) {
			of[n.location] = append(of[n.location], n.zone)
			next = append(next, pressing{n, from, hs})
		}
	}
	for _, p := range now {
		when, _ := p.within(x.all.soon(&p.configuration, true)) // it stays as long
		os := x.act(&p.configuration, machine.EventID(b), when, nil)
		o := os[len(os)-1] // a tap
		o.via.state = o.state
		hs := append(slices.Clone(p.hs), o.via)
		if !o.via.enters {
			add(configuration{location: o.location, zone: o.zone}, p.from, hs)
			continue
		}
		for _, n := range r.atOnce(quiet, o, hs) {
			add(n.configuration, p.from, n.hs)
		}
	}
	return next
}

// atOnce gives the configurations that the prop can be in after what follows an
// outcome in no time.
func (r *required) atOnce(quiet *graph, o outcome, hs []step) []pressing {
	root := quiet.add(o.location, o.zone, -1)[0]
	ways := map[int][]step{root: hs}
	var found []pressing
	todo := []int{root}
	for len(todo) > 0 {
		i := todo[0]
		todo = todo[1:]
		n := quiet.configurations[i]
		found = append(found, pressing{configuration: configuration{location: n.location, zone: n.zone}, hs: ways[i]})
		if quiet.configurations[i].edges == nil {
			quiet.expand(i)
		}
		vias := quiet.vias(i)
		for k, e := range quiet.next(i) {
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
func (x *exploration) stays(n *configuration) bool {
	_, ok := n.within(x.all.soon(n, true))
	return ok
}

// endsElsewhere reports that the presses end in another state than the one
// required.
func (r *required) endsElsewhere(p pressing) {
	x := r.explored
	path := x.path(p.from)
	first := len(path) + 1 // moment 0 is power-up
	var f Finding
	if times, ok := x.times(append(path, p.hs...)); ok {
		f.State = r.From
		f.Witness, _ = x.acts(times)
		f.Draws = x.draws(times)
		f.Claim = Claim{State: r.Program.Name(p.state), Breaks: r.Requirement.String(), Event: uint32(times[first].at)}
	}
	r.broken(f, "it can end in %q", r.Program.Name(p.state))
}
