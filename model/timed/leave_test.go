package timed

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/random"
)

// At each millisecond after its entry a state can be left just where the oracle, which
// steps through all of them, leaves it.
func TestLeavingAgainstOracle(t *testing.T) {
	size := random.Size{
		States:      random.Range{Lo: 2, Hi: 4},
		Buttons:     random.Range{Lo: 1, Hi: 2},
		Inputs:      random.Range{Lo: 0, Hi: 1},
		Events:      random.Range{Lo: 0, Hi: 1},
		Outputs:     random.Range{Lo: 0, Hi: 1},
		Routines:    random.Range{Lo: 0, Hi: 3},
		Transitions: random.Range{Lo: 1, Hi: 9},
	}
	const most = 20 // milliseconds; brief designs count up to 12
	left := 0
	rapid.Check(t, func(t *rapid.T) {
		d := size.Design(t)
		brief(t, d)
		for i := range d.Transitions { // the oracle forgets times that only a press decides by
			for j := range d.Transitions[i].On {
				if on := &d.Transitions[i].On[j]; on.Kind == model.Hold || on.Kind == model.Release {
					*on = model.Trigger{Kind: model.Press, Name: on.Name}
				}
			}
		}
		p := machine.Compile(d)
		o := newOracle(p, false)
		o.explore(o.start())
		must, may := make([][most + 1]bool, len(d.States)), make([][most + 1]bool, len(d.States))
		for _, s := range o.spots {
			for _, c := range o.steps(s) {
				switch {
				case len(c.entered) == 0:
				case s.since < most:
					must[s.state][s.since+1], may[s.state][s.since+1] = true, true
				case s.since == long: // the oracle has forgotten the time: from its end on, if it has one
					from := 1
					if s.ended {
						from = int(p.Length[s.state]) + 1
					}
					for at := max(1, from); at <= most; at++ {
						may[s.state][at] = true
					}
					must[s.state][most] = true
				}
			}
		}
		x := exploreAll(p, oraclePeriod)
		for s := range d.States {
			for at := int64(1); at <= most; at++ {
				run, ok := x.Leaving(machine.StateID(s), func(least, most int64) (int64, bool) { return at, least <= at && at <= most })
				require.True(t, ok && may[s][at] || !ok && !must[s][at], "%s left after %d ms: %v\n%s", p.Name(machine.StateID(s)), at, ok, d.Format())
				if !ok {
					continue
				}
				left++
				_, ok = run.Witness()
				require.True(t, ok)
			}
		}
	})
	require.NotZero(t, left)
}
