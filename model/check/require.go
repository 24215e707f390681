package check

import (
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

var requireRules = []*Rule{
	{"requirement", "a requirement of the design is broken", Error, requirements, explores},
}

func requirements(p *Pass) {
	var after *aftermath
	for i := range p.Design.Requires {
		at := &p.Design.Requires[i]
		q, err := model.ParseRequirement(at.That)
		if err != nil {
			e := err.(*model.ValueError)
			p.Report(Finding{Pos: at.At("that"), Message: e.Wrong, Advice: e.Advice})
			continue
		}
		r := &required{Pass: p, Requirement: q, pos: at.At("that")}
		if !r.known() {
			continue
		}
		switch q.Form {
		case model.Reachable:
			r.reachable()
		case model.EndsIn:
			r.endsIn()
		default:
			if after == nil {
				after = newAftermath(p.explored)
			}
			r.inTime(after)
		}
	}
}

// required is one requirement.
type required struct {
	*Pass
	model.Requirement
	pos model.Pos
}

// broken reports that the requirement is broken.
func (r *required) broken(f Finding, format string, args ...any) {
	f.Pos = r.pos
	f.Message = fmt.Sprintf("%q is broken: ", r.Requirement) + fmt.Sprintf(format, args...)
	if f.Advice == "" {
		f.Advice = "change what leads there, or the requirement"
	}
	r.Report(f)
}

// known reports whether everything that the requirement names is there, and
// reports a finding if not.
func (r *required) known() bool {
	lacks := func(what, name string) bool {
		r.broken(Finding{Advice: "name one that there is"}, "there is no %s %q", what, name)
		return false
	}
	for _, s := range []string{r.From, r.State} {
		if _, ok := r.Program.State(s); s != "" && !ok {
			return lacks("state", s)
		}
	}
	buttons := r.Press
	if k := r.After.Kind; k == model.Press || k == model.Hold || k == model.Release {
		buttons = []string{r.After.Name}
	}
	for _, b := range buttons {
		if _, ok := r.Program.Button(b); !ok {
			return lacks("button", b)
		}
	}
	if r.Form != model.Never && r.Form != model.Within || r.waited() {
		return true
	}
	r.broken(Finding{Advice: "name an event that a transition waits for"}, "no transition waits for %q, so nothing comes of it", r.After)
	return false
}

// waited reports whether the requirement's event can come to be: presses and
// done can always, others where a transition waits for them.
func (r *required) waited() bool {
	switch r.After.Kind {
	case model.Press, model.Done:
		return true
	case model.After:
		for s := range r.explored.modes {
			for _, t := range r.explored.modes[s].timers {
				if t.Lo == machine.Millis(r.After.After.Lo) && t.Hi == machine.Millis(r.After.After.Hi) {
					return true
				}
			}
		}
		return false
	}
	_, ok := r.Program.Event(r.After)
	return ok
}

func (r *required) reachable() {
	s, _ := r.Program.State(r.State)
	if r.explored.firsts[s] < 0 && r.explored.passed[s] < 0 {
		r.broken(Finding{State: r.State, Advice: fmt.Sprintf("add a transition to %q from a state that can be reached", r.State)},
			"nothing leads to it")
	}
}

// asked reports whether a state is one that the requirement speaks of, and how
// long after it was entered what is asked for is there, in milliseconds: where
// the prop must be dormant within some time, until it is at rest.
func (r *required) asked(s machine.StateID) (after int64, ok bool) {
	switch {
	case r.Form == model.Within && r.Kind == model.Dormant:
		return r.explored.modes[s].rest, r.explored.rests(s)
	case r.Kind != "":
		return 0, r.Program.Kind(s) == r.Kind
	}
	return 0, r.Program.Name(s) == r.State
}

// comes reports whether one of the states is asked for.
func (r *required) comes(states []machine.StateID) bool {
	return slices.ContainsFunc(states, func(s machine.StateID) bool { _, ok := r.asked(s); return ok })
}

// isThere reports whether what is asked for is there when an event has happened.
func (r *required) isThere(o occurrence) bool {
	if r.Kind == model.Dormant { // a state that is left at once is not rest
		after, ok := r.asked(o.via.state)
		return ok && after == 0
	}
	return r.comes(o.entered) || r.comes(o.there) || r.comes([]machine.StateID{o.via.state})
}

// inTime checks `never … within` and `… within`.
func (r *required) inTime(a *aftermath) {
	q := &question{aftermath: a, asked: r.asked, most: map[int]delay{}}
	a.full = false
	var os []occurrence
	for i := range r.explored.all.configurations {
		os = append(os, a.happen(i, r.After)...)
	}
	if r.Form == model.Never {
		var roots []int
		for _, o := range os {
			for _, root := range o.roots {
				roots = append(roots, root.sequel)
			}
		}
		q.earliest(roots)
		if a.full {
			r.tooMany(a)
			return
		}
	}
	// The first one takes the fewest steps until the event.
	for _, o := range os {
		if r.Form == model.Never && r.tooSoon(q, o) || r.Form == model.Within && r.tooLate(q, o) {
			return
		}
	}
}

// tooMany reports that nobody knows whether the requirement is kept.
func (r *required) tooMany(a *aftermath) {
	r.Report(Finding{
		Pos:     r.pos,
		Message: fmt.Sprintf("%q cannot be checked: more than %d situations can come of %q", r.Requirement, a.most, r.After),
		Advice:  "use fewer timers, or longer ones, in the states that follow the event, or do without the requirement",
	})
}

func (r *required) limit() int64 { return int64(machine.Millis(r.Time)) }

// tooSoon reports a state that is entered though it must not be.
func (r *required) tooSoon(q *question, o occurrence) bool {
	if r.comes(o.entered) {
		return r.afterwards(o, o.via, nil, true, delayBound{most: r.limit()}, "%s, is followed by %s at once", r.event(o), r.what())
	}
	for _, root := range o.roots {
		t, _ := q.soonest(root.sequel)
		if t > r.limit() {
			continue
		}
		when := "after " + model.FormatDuration(ms(t))
		if t == 0 {
			when = "at once"
		}
		hs := q.quickest(root.sequel)
		return r.afterwards(o, o.at(root), hs, hs != nil, delayBound{most: t}, "%s, can be followed by %s %s", r.event(o), r.what(), when)
	}
	return false
}

// tooLate reports a state that need not be there in time.
func (r *required) tooLate(q *question, o occurrence) bool {
	if r.isThere(o) {
		return false
	}
	for _, root := range o.roots {
		t := q.fromRoot(root.sequel)
		if q.full {
			r.tooMany(q.aftermath)
			return true
		}
		if t <= r.limit() {
			continue
		}
		hs, still := q.slowest(root.sequel, r.limit())
		if t < far {
			return r.afterwards(o, o.at(root), hs, hs != nil, delayBound{least: t, most: far}, "%s, can take %s to lead to %s", r.event(o), model.FormatDuration(ms(t)), r.what())
		}
		passed := delayBound{least: r.limit() + 1, most: far}
		if still {
			passed.least = 0
		}
		return r.afterwards(o, o.at(root), hs, hs != nil || still, passed, "%s, need not lead to %s at all", r.event(o), r.what())
	}
	return false
}

// event tells an occurrence in a sentence.
func (r *required) event(o occurrence) string {
	return fmt.Sprintf("%q, in state %q", r.After, r.Program.Name(o.before))
}

func (r *required) what() string {
	if r.Kind != "" {
		return fmt.Sprintf("a state that is %s", r.Kind)
	}
	return fmt.Sprintf("%q", r.State)
}

// afterwards reports what comes of an occurrence of an event: after the steps, the
// last of them a delay of time after the event, the requirement is broken.
// They are not whole where there are too many to be shown.
func (r *required) afterwards(o occurrence, event step, hs []step, whole bool, passed delayBound, format string, args ...any) bool {
	x := r.explored
	path := append(x.path(o.configuration), event)
	passed.from = len(path) // moment 0 is power-up
	path = append(path, hs...)
	passed.to = len(path)
	var f Finding
	if times, ok := x.times(path, passed); ok && whole {
		at, last := times[passed.from].at, times[passed.to].at
		f.State = r.Program.Name(x.all.configurations[o.configuration].state)
		f.Witness, _ = x.acts(times)
		f.Draws = x.draws(times)
		f.Claim = Claim{State: r.Program.Name(path[len(path)-1].state), Breaks: r.Requirement.String(), Event: uint32(at)}
		if end := at + r.limit() + 1; r.Form == model.Within && last < end {
			// Nothing happens any more, and the time goes by.
			f.Witness = append(f.Witness, machine.Act{Kind: machine.ActWait, For: ms(end - last)})
		}
	}
	r.broken(f, format, args...)
	return true
}
