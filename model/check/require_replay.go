package check

import (
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// replayBreach plays a finding's witness and judges, independently of the exploration,
// whether it breaks the requirement that the finding names.
func (f *Finding) replayBreach(p *machine.Program, rest []int64) error {
	q, err := model.ParseRequirement(f.Claim.Breaks)
	if err != nil {
		return err
	}
	m := f.machine(p)
	var seen []machine.Change
	m.Observe = func(c machine.Change) { seen = append(seen, c) }
	r := machine.Rehearse(m, RepeatPeriod(p.Design))
	for _, a := range f.Witness {
		if err := r.Play(a); err != nil {
			return err
		}
	}
	there := p.Name(m.State()) == f.Claim.State
	if q.Form != model.EndsIn { // a state that takes no time counts as entered
		there = there || slices.ContainsFunc(seen, func(c machine.Change) bool {
			return c.At == m.Now() && c.Outcome == machine.Entered && p.Name(c.To) == f.Claim.State
		})
	}
	switch {
	case !there:
		return fmt.Errorf("the prop is in %q, not in %q", p.Name(m.State()), f.Claim.State)
	case q.Form == model.EndsIn:
		return f.otherEnd(p, q, seen)
	}
	k := slices.IndexFunc(seen, func(c machine.Change) bool { return c.At == f.Claim.Event && isEvent(p, c, q.After) })
	if k < 0 {
		return fmt.Errorf("%q does not happen at %d ms", q.After, f.Claim.Event)
	}
	asked := func(s machine.StateID) bool {
		return q.Kind != "" && p.Kind(s) == q.Kind || p.Name(s) == q.State
	}
	end := f.Claim.Event + machine.Millis(q.Time)
	came := seen[k].Outcome != machine.Entered && asked(seen[k].To) && q.Form == model.Within // already there
	watch := newRestWatch(p, rest)
	for i, c := range seen {
		watch.observe(c) // a release after the end can undo a rest before it
		if i == k {
			watch.begin(int64(c.At))
		}
	}
	for i, c := range seen[k:] {
		if i > 0 && c.Cause == machine.CauseEvent && p.Events[c.Event].Kind == model.Press {
			return fmt.Errorf("at %d ms there is a further press", c.At)
		}
		came = came || c.Outcome == machine.Entered && asked(c.To) && c.At <= end
	}
	if q.Form == model.Within && q.Kind == model.Dormant {
		came = watch.when() <= int64(end)
	}
	switch {
	case q.Form == model.Never && !came:
		return fmt.Errorf("nothing that must not be comes until %d ms", end)
	case q.Form == model.Within && came:
		return fmt.Errorf("what is required comes until %d ms", end)
	case q.Form == model.Within && m.Now() <= end:
		return fmt.Errorf("at %d ms the time is not over", m.Now())
	}
	return nil
}

// isEvent reports whether an event caused a change.
func isEvent(p *machine.Program, c machine.Change, on model.Trigger) bool {
	switch c.Cause {
	case machine.CauseEvent:
		e, ok := p.Event(on)
		return ok && e == c.Event
	case machine.CauseDone:
		return on.Kind == model.Done
	case machine.CauseAfter:
		t := p.Design.Transitions[c.Move.Transition].On[c.Move.Trigger]
		return on.Kind == model.After && t.After == on.After
	}
	return false
}

// otherEnd checks that the requirement's presses end elsewhere.
func (f *Finding) otherEnd(p *machine.Program, q model.Requirement, seen []machine.Change) error {
	at := p.Name(p.Start)
	var pressed []string
	for _, c := range seen {
		press := c.Cause == machine.CauseEvent && p.Events[c.Event].Kind == model.Press
		switch {
		case c.At < f.Claim.Event:
			at = p.Name(c.To)
		case press:
			pressed = append(pressed, p.Events[c.Event].Name)
		}
	}
	switch {
	case at != q.From:
		return fmt.Errorf("the presses begin in %q, not in %q", at, q.From)
	case !slices.Equal(pressed, q.Press):
		return fmt.Errorf("the buttons pressed are %v, not %v", pressed, q.Press)
	case f.Claim.State == q.State:
		return fmt.Errorf("the presses end in %q as required", q.State)
	}
	return nil
}
