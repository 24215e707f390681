package check

import (
	"slices"

	"propwright/model/machine"
)

// A pressing is a situation in which some of a requirement's buttons have been
// pressed, and what happened since the first of them.
type pressing struct {
	node
	from int // the number of the situation before the first press
	hs   []happening
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
// situation first.
func (r *required) pressAll() []pressing {
	x := r.explored
	from, _ := r.Program.State(r.From)
	var now []pressing
	for i := range x.all.nodes {
		if x.all.nodes[i].state == from && x.stays(&x.all.nodes[i]) {
			now = append(now, pressing{node: x.all.nodes[i], from: i})
		}
	}
	quiet := newGraph(x, true)
	for _, b := range r.Press {
		now = r.press(quiet, now, b)
	}
	return now
}

// press presses a button in each of the situations, and lets happen what takes
// no time. Of those that come of it, one that is part of another is left out.
func (r *required) press(quiet *graph, now []pressing, button string) []pressing {
	x := r.explored
	b, _ := r.Program.Button(button)
	var next []pressing
	of := map[config][]zone{}
	add := func(n node, from int, hs []happening) {
		covers := func(z zone) bool { return z.covers(n.zone) }
		if x.stays(&n) && !slices.ContainsFunc(of[n.config], covers) {
			of[n.config] = append(of[n.config], n.zone)
			next = append(next, pressing{n, from, hs})
		}
	}
	for _, p := range now {
		when, _ := p.span(x.all.soon(&p.node, true)) // it stays as long
		os := x.act(&p.node, machine.EventID(b), when)
		o := os[len(os)-1] // a tap
		o.via.state = o.state
		hs := append(slices.Clone(p.hs), o.via)
		if !o.via.enters {
			add(node{config: o.config, zone: o.zone}, p.from, hs)
			continue
		}
		for _, n := range r.atOnce(quiet, o, hs) {
			add(n.node, p.from, n.hs)
		}
	}
	return next
}

// atOnce gives the situations that the prop can be in after what follows an
// outcome in no time.
func (r *required) atOnce(quiet *graph, o outcome, hs []happening) []pressing {
	root := quiet.add(o.config, o.zone, -1, happening{})[0]
	ways := map[int][]happening{root: hs}
	var found []pressing
	todo := []int{root}
	for len(todo) > 0 {
		i := todo[0]
		todo = todo[1:]
		n := quiet.nodes[i]
		found = append(found, pressing{node: node{config: n.config, zone: n.zone}, hs: ways[i]})
		if quiet.nodes[i].edges == [2]int{} {
			quiet.expand(i)
		}
		first := quiet.nodes[i].edges[0]
		for k, e := range quiet.next(i) {
			if _, seen := ways[e.to]; e.instant && !seen {
				ways[e.to] = append(slices.Clone(ways[i]), quiet.vias[first+k])
				todo = append(todo, e.to)
			}
		}
	}
	return found
}

// stays reports whether the prop can stay in a situation until the next step,
// and in its state for any time at all.
func (x *exploration) stays(n *node) bool {
	r := &x.rooms[n.state]
	if r.length == 0 && !n.ended {
		return false
	}
	for j, t := range r.timers {
		if t.Hi == 0 && !n.isSpent(j) {
			return false
		}
	}
	_, ok := n.span(x.all.soon(n, true))
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
