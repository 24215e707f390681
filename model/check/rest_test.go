package check

import (
	"fmt"
	"slices"
	"strings"
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
		if t > 0 || !w.rests(s.state) || w.waits(s.button) && !w.waits(c.button) && w.wakes(s) {
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
		x, err := explore(p, oraclePeriod, mostBytes)
		require.NoError(t, err)
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
	// The nest is posed within a second, four frames more where a servo has to brake first.
	assert.Equal(t, Times{Stop: 1080 * time.Millisecond, Stops: true, Alone: 139179 * time.Millisecond, Rests: true}, times)
}

// Nothing is promised of a prop that goes on moving where it is to be at rest.
func TestRestlessRest(t *testing.T) {
	read := func() *model.Design {
		d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
		require.NoError(t, err)
		return d
	}
	roost := func(d *model.Design) *model.State {
		i := slices.IndexFunc(d.States, func(s model.State) bool { return s.Kind == model.Dormant })
		return &d.States[i]
	}
	for want, change := range map[string]func(d *model.Design){
		`"neck" never comes to rest: it drifts`: func(d *model.Design) {
			roost(d).Drift = []model.Drift{{Output: "neck", Between: [2]float64{-5, 5}, Every: model.Span{Lo: time.Second, Hi: time.Second}}}
		},
		`"wheel" never comes to rest: it turns`: func(d *model.Design) {
			roost(d).Pose = append(roost(d).Pose, model.Pose{Output: "wheel", Action: model.Action{Speed: 0.5}})
		},
		`"water" never comes to rest: it shows breathe`: func(d *model.Design) {
			roost(d).Pose = append(roost(d).Pose, model.Pose{Output: "water", Action: model.Action{Effect: model.EffectBreathe, Period: time.Second, Last: -1}})
		},
		`"neck" never comes to rest: it goes round after round`: func(d *model.Design) {
			d.Routines = append(d.Routines, model.Routine{Name: "nod", Loop: true, Length: time.Second, Cues: []model.Cue{{Output: "neck", Action: model.Action{To: 5}}}})
			roost(d).Plays = "nod"
		},
	} {
		d := read()
		change(d)
		found := said(t, "restless-rest", d)
		if assert.Len(t, found, 1, want) {
			assert.Contains(t, found[0], want)
		}
		times, err := NewStudy(d).Rest()
		require.NoError(t, err)
		assert.False(t, times.Stops || times.Rests, want)
	}
	assert.Empty(t, said(t, "restless-rest", read()))
}

// Where outputs need time to settle, rest comes that much later.
func TestRestSettles(t *testing.T) {
	const design = `format = 1
[prop]
name = "sleeper"
board = "atmega328p"
rest_within = "1ms"
[remote]
pin = 2
stop = "sleep"
[[remote.button]]
name = "sleep"
code = "nec:0x04:0x08"
[[remote.button]]
name = "wake"
code = "nec:0x04:0x18"
[[state]]
name = "nest"
kind = "dormant"
start = true
[[state]]
name = "roost"
kind = "dormant"
[[state]]
name = "watch"
kind = "ambient"
`
	none := time.Duration(-1)
	for _, c := range []struct {
		what        string
		nest, roost int64 // how long each takes to settle, milliseconds
		transitions []string
		stop, alone time.Duration // none: it need not rest
	}{
		{"it settles", 200, 50, []string{"watch | after 5s | nest"}, ms(200), ms(5200)},
		{"a timer comes when it has settled", 200, 50, []string{"watch | after 5s | nest", "nest | after 201ms | watch"}, ms(200), ms(5200)},
		{"a timer comes before", 200, 50, []string{"watch | after 5s | nest", "nest | after 200ms | watch"}, none, none},
		{"a timer may come before", 200, 50, []string{"watch | after 5s | nest", "nest | after 200ms..9s | watch"}, none, none},
		{"a timer leads to rest before", 200, 50, []string{"watch | after 5s | nest", "nest | after 100ms..150ms | roost"}, ms(200), ms(5200)},
		{"the release comes before", 200, 50, []string{"watch | after 5s | nest", "nest | release sleep | roost"}, ms(212), ms(5200)},
		{"the release comes after, and leads out of rest", 100, 50, []string{"watch | after 5s | nest", "nest | release sleep | roost"}, ms(212), ms(5100)},
		{"the release comes after, and does not", 100, 0, []string{"watch | after 5s | nest", "nest | release sleep | roost"}, ms(100), ms(5100)},
		{"the release wakes it", 100, 0, []string{"watch | after 5s | nest", "nest | release sleep | watch"}, ms(5262), ms(5100)},
		{"the release comes before, for a while", 200, 0, []string{"watch | after 5s | nest", "nest | release sleep | watch"}, ms(5362), ms(5200)},
	} {
		text := design
		for _, tr := range append([]string{"any | press sleep | nest", "any dormant | press wake | watch"}, c.transitions...) {
			w := strings.Split(tr, " | ")
			text += fmt.Sprintf("[[transition]]\nfrom = %q\non = %q\nto = %q\n", w[0], w[1], w[2])
		}
		d, err := model.Read("sleeper.prop.toml", []byte(text))
		require.NoError(t, err)
		s := NewStudy(d)
		rest := restTimes(s.Program, func(s machine.StateID) int64 { return []int64{c.nest, c.roost, 0}[s] })
		x, err := explored.Of(s)
		require.NoError(t, err)
		for i := range rest {
			x.modes[i].rest = rest[i]
		}
		times := x.rest()
		assert.Equal(t, c.stop >= 0, times.Stops, c.what)
		assert.Equal(t, c.alone >= 0, times.Rests, c.what)
		if times.Stops {
			assert.Equal(t, c.stop, times.Stop, c.what)
		}
		if times.Rests {
			assert.Equal(t, c.alone, times.Alone, c.what)
		}
		found, err := s.Check(behaviourRules)
		require.NoError(t, err)
		for _, f := range found {
			assert.NoError(t, f.replay(s.Program, rest), "%s: %s %v %+v", c.what, f.Message, f.Witness, f.Claim)
		}
		if c.stop < 0 {
			continue
		}
		for _, less := range []time.Duration{0, 1} {
			q := model.Requirement{Form: model.Within, Kind: model.Dormant, Time: times.Alone - less*time.Millisecond, After: model.Trigger{Kind: model.Press, Name: "wake"}}
			pass := &Pass{Study: s, rule: requireRules[0], explored: x}
			r := &required{Pass: pass, Requirement: q}
			r.inTime(newAftermath(x))
			assert.Len(t, pass.findings(), int(less), "%s: %s", c.what, q)
			for _, f := range pass.findings() {
				assert.NoError(t, f.replay(s.Program, rest), "%s: %s %v %+v", c.what, f.Message, f.Witness, f.Claim)
			}
		}
	}
}
