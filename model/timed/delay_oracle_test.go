package timed

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/random"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// events are the courses on which an outside event happens in the step that
// follows a spot, up to done; what was entered before the event is not told.
func (o *oracle) events(s spot, on model.Trigger) []course {
	if s.since++; s.button >= 0 {
		s.held++
	}
	e, _ := o.p.Event(on)
	var out []course
	if on.Kind == model.Press {
		o.everyWay(func() {
			c := course{spot: s}
			c.letGo(o)
			c.entered = nil
			c.event(o, e)
			if b := int(e); len(o.holds[b]) > 0 || o.rel[b] >= 0 {
				c.button, c.held, c.last, c.fired = b, 0, 0, 0
			}
			out = append(out, c)
		})
		return out
	}
	for _, before := range o.pressGoesOn(s) {
		o.everyWay(func() {
			c, ok := before()
			c.entered = nil
			if ok && c.changes(o, e) {
				out = append(out, c)
			}
		})
	}
	return out
}

// breaks reports whether a requirement on the time after an outside event is
// broken: every course of every millisecond is gone.
func (o *oracle) breaks(q model.Requirement) bool {
	asked := func(s int) bool {
		return q.Kind != "" && o.p.Kind(machine.StateID(s)) == q.Kind || o.p.Name(machine.StateID(s)) == q.State
	}
	quiet := newOracle(o.p, true)
	if q.Form == model.Within && q.Kind == model.Dormant {
		w := &stopwatch{quiet, map[spot]int{}}
		for _, s := range o.spots {
			for _, c := range o.events(s, q.After) {
				if int64(w.pressing(c)) > q.Time.Milliseconds() {
					return true
				}
			}
		}
		return false
	}
	came := func(c *course) (yes bool) {
		for _, e := range c.entered {
			yes = yes || asked(e[0])
		}
		return yes
	}
	now := map[spot]bool{} // those on whose way the state asked for has not come
	for _, s := range o.spots {
		for _, c := range o.events(s, q.After) {
			switch {
			case q.Form == model.Never && came(&c):
				return true
			case q.Form == model.Within && asked(c.state):
				continue
			}
			c.entered = nil
			for _, c := range quiet.inside(c) {
				if !came(&c) {
					now[c.spot] = true
				} else if q.Form == model.Never {
					return true
				}
			}
		}
	}
	for range int(q.Time / time.Millisecond) {
		next := map[spot]bool{}
		for s := range now {
			for _, c := range quiet.steps(s) {
				if !came(&c) {
					next[c.spot] = true
				} else if q.Form == model.Never {
					return true
				}
			}
		}
		now = next
	}
	return q.Form == model.Within && len(now) > 0
}

// breaks reports whether a requirement is broken by the times from its event.
func breaks(t require.TestingT, x *Space, q model.Requirement) bool {
	p := x.program
	goal := func(s machine.StateID) bool {
		return q.Kind != "" && p.Kind(s) == q.Kind || p.Name(s) == q.State
	}
	if q.Form == model.Within && q.Kind == model.Dormant {
		goal = nil
	}
	delays, limit := x.Delays(q.After, goal, 1<<17), q.Time.Milliseconds()
	responses := delays.Latest
	if q.Form == model.Never {
		responses = delays.Soonest
	}
	for r := range responses {
		if q.Form == model.Never && r.Time <= limit || q.Form == model.Within && r.Time > limit {
			return true
		}
	}
	require.False(t, delays.Full())
	return false
}

func TestDelaysAgainstOracle(t *testing.T) {
	size := random.Size{
		States:      random.Range{Lo: 2, Hi: 4},
		Buttons:     random.Range{Lo: 1, Hi: 2},
		Inputs:      random.Range{Lo: 0, Hi: 1},
		Events:      random.Range{Lo: 0, Hi: 1},
		Outputs:     random.Range{Lo: 0, Hi: 1},
		Routines:    random.Range{Lo: 0, Hi: 3},
		Transitions: random.Range{Lo: 2, Hi: 10},
	}
	verdicts := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		d := size.Design(t)
		brief(t, d)
		p := machine.Compile(d)
		var events []model.Trigger
		for _, e := range p.Events {
			if slices.Contains([]model.TriggerKind{model.Press, model.Rise, model.Fall, model.Posted}, e.Kind) {
				events = append(events, e)
			}
		}
		var qs []model.Requirement
		for range 4 {
			q := model.Requirement{
				Form:  rapid.SampledFrom([]model.RequireForm{model.Never, model.Within}).Draw(t, "form"),
				State: rapid.SampledFrom(d.States).Draw(t, "state").Name,
				Time:  time.Duration(rapid.IntRange(0, 14).Draw(t, "time")) * time.Millisecond,
				After: rapid.SampledFrom(events).Draw(t, "event"),
			}
			if rapid.Bool().Draw(t, "kind") {
				q.State, q.Kind = "", rapid.SampledFrom(model.StateKinds).Draw(t, "kind")
			}
			qs = append(qs, q)
		}
		x := exploreAll(p, oraclePeriod)
		o := newOracle(p, false)
		o.explore(o.start())
		for _, q := range qs {
			want := o.breaks(q)
			verdicts[fmt.Sprint(q.Form, want)]++
			require.Equal(t, want, breaks(t, x, q), "%s\n%s", q, d.Format())
		}
	})
	for _, form := range []model.RequireForm{model.Never, model.Within} {
		for _, broken := range []bool{true, false} {
			require.NotZero(t, verdicts[fmt.Sprint(form, broken)], "%s, broken: %t", form, broken)
		}
	}
}
