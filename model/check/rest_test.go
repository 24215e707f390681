package check

import (
	"testing"
	"time"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/machine"
	"propwright/model/random"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A stopwatch steps a prop that is left alone through every millisecond, with
// every deadline that can be drawn, until it rests.
type stopwatch struct {
	*oracle
	took map[spot]int // the longest; -1: on the way that is being looked at
}

const never = 1 << 30

// from is the longest time to rest from a spot, never where it need not rest.
func (w *stopwatch) from(s spot) int {
	if w.atRest(s.state, s.button) {
		return 0
	}
	if t, ok := w.took[s]; ok {
		if t < 0 {
			return never // around in a circle, or nothing happens any more
		}
		return t
	}
	w.took[s] = -1
	longest := 0
	for _, c := range w.steps(s) {
		t := 1
		if !restsIn(w.oracle, s, c) {
			t += w.from(c.spot)
		}
		if t == 1 && c.button >= 0 && w.p.Kind(machine.StateID(s.state)) == model.Dormant {
			t = 0 // the release that would have woken it did not come
		}
		longest = max(longest, min(t, never))
	}
	w.took[s] = longest
	return longest
}

// pressing is the longest time to rest after a course that begins with a press.
func (w *stopwatch) pressing(c course) int {
	if restsIn(w.oracle, c.spot, c) {
		return 0
	}
	longest, pressed := 0, c.spot
	for _, c := range w.inside(c) {
		if !restsIn(w.oracle, pressed, c) {
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
		for i := range d.Transitions { // of which the exploration knows only to the millisecond
			for _, on := range d.Transitions[i].On {
				d.Transitions[i].Defer = d.Transitions[i].Defer && on.Kind != model.After
			}
		}
		p := machine.Compile(d)
		x, err := explore(p, oraclePeriod, mostBytes)
		require.NoError(t, err)
		o := newOracle(p, false)
		o.explore(o.start())
		w := &stopwatch{newOracle(p, true), map[spot]int{}}
		stop, _ := p.Button(d.Remote.Stop)

		worst, alone := make([]int, len(d.States)), 0
		for _, s := range o.spots {
			if s.button < 0 || o.rel[s.button] < 0 {
				alone = max(alone, w.from(s))
			}
			state := s.state
			if s.since++; s.button >= 0 {
				s.held++
			}
			worst[state] = max(worst[state], w.pressing(o.pressed(s, stop)))
		}
		got := make([]int, len(d.States))
		for i, s := range newStopper(x, stop).stops() {
			got[i] = int(s.took)
			if s.roams {
				got[i] = never
			}
		}
		times := x.rest()
		if !times.Rests {
			times.Alone = ms(never)
		}
		if releases(d) {
			// A button that has been down for longer than a tap is released at
			// any time, not only a whole number of frames later.
			for i := range got {
				require.GreaterOrEqual(t, got[i], worst[i], "%s", d.Format())
			}
			require.GreaterOrEqual(t, times.Alone, ms(int64(alone)), "%s", d.Format())
			return
		}
		require.Equal(t, worst, got, "%s", d.Format())
		require.Equal(t, ms(int64(min(alone, never))), times.Alone, "%s", d.Format())
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

func TestRestOfTheHeron(t *testing.T) {
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	times, err := NewStudy(d).Rest()
	require.NoError(t, err)
	// It spreads its wing, 4.5 s; a strike is asked for in the first millisecond
	// and follows, 3.6 s; then it wades for 40 s, and watches for 90 s.
	assert.Equal(t, Times{Stop: 0, Stops: true, Alone: 138099 * time.Millisecond, Rests: true}, times)
}
