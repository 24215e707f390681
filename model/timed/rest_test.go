package timed

import (
	"math"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/random"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A stopwatch steps a prop that is left alone through every millisecond, with
// every deadline that can be drawn, until it rests.
type stopwatch struct {
	*oracle
	took map[spot]int // what from gives; -1: on the way that is being looked at
}

const never = 1 << 30

// from is the longest time to rest from a spot, never where it need not rest. In
// a state of rest it is the time to the rest after the last release that leads
// out of it, 0 where none does.
func (w *stopwatch) from(s spot) int {
	if t, ok := w.took[s]; ok {
		if t < 0 {
			return never // around in a circle, or nothing happens any more
		}
		return t
	}
	w.took[s] = -1
	longest := 0
	for _, c := range w.steps(s) {
		t := 0
		if w.goesOn(s, c) {
			t = w.from(c.spot)
		}
		if t > 0 || !w.rests(s.state) || w.waits(s.button) && !w.waits(c.button) && w.wakes(s, c) {
			t++
		}
		longest = max(longest, min(t, never))
	}
	w.took[s] = longest
	return longest
}

// alone is the longest time to rest from a spot without a release to come.
func (w *stopwatch) alone(s spot) int {
	if w.rests(s.state) {
		return 0
	}
	return w.from(s)
}

// pressing is the longest time to rest after a course that begins with a press.
func (w *stopwatch) pressing(c course) int {
	longest, pressed := 0, c.spot
	for _, c := range w.inside(c) {
		if w.goesOn(pressed, c) {
			longest = max(longest, w.from(c.spot))
		}
	}
	return longest
}

func TestRestAgainstStopwatch(t *testing.T) {
	size := random.Size{
		States:      random.Range{Lo: 2, Hi: 4},
		Buttons:     random.Range{Lo: 1, Hi: 2},
		Inputs:      random.Range{Lo: 0, Hi: 1},
		Events:      random.Range{Lo: 0, Hi: 1},
		Outputs:     random.Range{Lo: 0, Hi: 1},
		Routines:    random.Range{Lo: 0, Hi: 3},
		Transitions: random.Range{Lo: 1, Hi: 9},
	}
	rapid.Check(t, func(t *rapid.T) {
		d := size.Design(t)
		brief(t, d)
		if rapid.Bool().Draw(t, "rests") { // else most designs do not
			d.Transitions = append(d.Transitions,
				model.Transition{
					From: []model.From{{State: model.Any, Kind: model.Ambient}},
					On:   []model.Trigger{{Kind: model.After, After: model.Span{Lo: 7 * time.Millisecond, Hi: 9 * time.Millisecond}}},
					To:   d.States[0].Name,
				},
				model.Transition{
					From:  []model.From{{State: model.Any, Kind: model.Performing}},
					On:    []model.Trigger{{Kind: model.Press, Name: d.Remote.Stop}},
					To:    d.States[0].Name,
					Defer: true,
				})
		}
		p := machine.Compile(d)
		x := exploreAll(p, oraclePeriod)
		o := newOracle(p, false)
		o.explore(o.start())
		w := &stopwatch{newOracle(p, true), map[spot]int{}}
		stop, _ := p.Button(d.Remote.Stop)

		worst, alone := make([]int, len(d.States)), 0
		for _, s := range o.spots {
			if s.button < 0 || o.rel[s.button] < 0 {
				alone = max(alone, w.alone(s))
			}
			state := s.state
			if s.since++; s.button >= 0 {
				s.held++
			}
			for _, c := range o.pressed(s, stop) {
				worst[state] = max(worst[state], w.pressing(c))
			}
		}
		got, gotAlone := make([]int, len(d.States)), int64(0)
		for r := range x.Delays(model.Trigger{Kind: model.Press, Name: d.Remote.Stop}, nil, math.MaxInt).Latest {
			s := x.State(r.Configuration)
			got[s] = max(got[s], int(min(r.Time, never)))
		}
		for r := range x.Alone().Latest {
			gotAlone = max(gotAlone, min(r.Time, never))
		}
		if releases(d) {
			// A button that has been down for longer than a tap is released at
			// any time, not only a whole number of frames later.
			for i := range got {
				require.GreaterOrEqual(t, got[i], worst[i], "%s", d.Format())
			}
			require.GreaterOrEqual(t, gotAlone, int64(alone), "%s", d.Format())
			return
		}
		require.Equal(t, worst, got, "%s", d.Format())
		require.Equal(t, int64(min(alone, never)), gotAlone, "%s", d.Format())
	})
}

// releases reports whether a transition waits for a button to be let go.
func releases(d *model.Design) bool {
	for i := range d.Transitions {
		for _, on := range d.Transitions[i].On {
			if on.Kind == model.Release {
				return true
			}
		}
	}
	return false
}
