package check

import (
	"propwright/model"
	"propwright/model/machine"
)

// A Case shows that a requirement holds where it is hardest: what is played
// ends in State.
type Case struct {
	Requirement model.Requirement
	Acts        []machine.Act
	Draws       []uint32 // as of a Finding
	State       string
}

// Machine is one that draws what the case asks for.
func (c *Case) Machine(p *machine.Program) *machine.Machine {
	return (&Finding{Draws: c.Draws}).machine(p)
}

// Cases gives a case for each requirement of the design that can be played: of
// `reachable` the shortest way; of `from … ends in` the presses in the
// configuration that comes first; of `… within` the slowest outcome of the event,
// up to the state required; of `never … within` the quickest one, up to the
// state that must not come so soon. There is none where a requirement is
// broken, where its event or its state cannot come about, or where the prop
// is at once where it must be. The error is as that of Check.
func (s *Study) Cases() ([]Case, error) {
	if len(s.Requires) == 0 {
		return nil, nil
	}
	x, err := explored.Of(s)
	if err != nil {
		return nil, err
	}
	isBroken := map[model.Pos]bool{}
	for _, f := range s.look(requireRules[0], x) {
		isBroken[f.Pos] = true
	}
	a := newAftermath(x)
	var cases []Case
	for i := range s.Requires {
		at := &s.Requires[i]
		q, err := model.ParseRequirement(at.That)
		if err != nil || isBroken[at.At("that")] {
			continue
		}
		r := &required{Pass: &Pass{Study: s, explored: x}, Requirement: q}
		hs, passed, ok := r.hardest(a)
		if !ok {
			continue
		}
		times, ok := x.times(hs, passed)
		if !ok {
			continue
		}
		c := Case{Requirement: q, Draws: x.draws(times), State: s.Program.Name(s.Program.Start)}
		c.Acts, _ = x.acts(times)
		if len(hs) > 0 {
			c.State = s.Program.Name(hs[len(hs)-1].state)
		}
		cases = append(cases, c)
	}
	return cases, nil
}

// hardest are the steps that show a requirement where it is hardest to
// keep, with the time from one of them to another.
func (r *required) hardest(a *aftermath) (hs []step, passed delayBound, ok bool) {
	x := r.explored
	switch r.Form {
	case model.Reachable:
		s, _ := r.Program.State(r.State)
		i, ok := x.first(s)
		if !ok {
			return nil, delayBound{}, false
		}
		return x.path(i), delayBound{}, true
	case model.EndsIn:
		ends := r.pressAll()
		if len(ends) == 0 {
			return nil, delayBound{}, false
		}
		return append(x.path(ends[0].from), ends[0].hs...), delayBound{}, true
	}
	q := &question{aftermath: a, asked: r.asked, most: map[int]delay{}}
	var os []occurrence
	var roots []int
	for i := range x.all.configurations {
		os = append(os, a.happen(i, r.After)...)
	}
	for _, o := range os {
		for _, root := range o.roots {
			roots = append(roots, root.sequel)
		}
	}
	if r.Form == model.Never {
		q.earliest(roots)
	}
	hardest := int64(-1)
	for _, o := range os {
		if r.Form == model.Within && r.isThere(o) {
			continue
		}
		for _, root := range o.roots {
			var t int64
			var harder bool
			if r.Form == model.Never {
				t, _ = q.soonest(root.sequel)
				harder = hardest < 0 || t < hardest
			} else {
				t = q.fromRoot(root.sequel)
				harder = t > hardest
			}
			if t == far || !harder {
				continue
			}
			var way []step
			if r.Form == model.Never {
				way = q.quickest(root.sequel)
				passed = delayBound{most: t}
			} else {
				way, _ = q.slowest(root.sequel, t)
				passed = delayBound{least: t, most: far}
			}
			if way == nil {
				continue
			}
			hardest = t
			hs = append(x.path(o.configuration), o.at(root))
			passed.from = len(hs)
			hs = append(hs, way...)
			passed.to = len(hs)
		}
	}
	return hs, passed, hardest >= 0
}
