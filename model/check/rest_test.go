package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/designs/many"
	"propwright/model/machine"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

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
		{"the release comes before", 400, 50, []string{"watch | after 5s | nest", "nest | release sleep | roost"}, ms(428), ms(5400)},
		{"the release comes after, and leads out of rest", 100, 50, []string{"watch | after 5s | nest", "nest | release sleep | roost"}, ms(428), ms(5100)},
		{"the release comes after, and does not", 100, 0, []string{"watch | after 5s | nest", "nest | release sleep | roost"}, ms(100), ms(5100)},
		{"the release wakes it", 100, 0, []string{"watch | after 5s | nest", "nest | release sleep | watch"}, ms(5478), ms(5100)},
		{"the release comes before, for a while", 400, 0, []string{"watch | after 5s | nest", "nest | release sleep | watch"}, ms(5778), ms(5400)},
	} {
		text := design
		for _, tr := range append([]string{"any | press sleep | nest", "any dormant | press wake | watch"}, c.transitions...) {
			w := strings.Split(tr, " | ")
			text += fmt.Sprintf("[[transition]]\nfrom = %q\non = %q\nto = %q\n", w[0], w[1], w[2])
		}
		d, err := model.Read("sleeper.prop.toml", []byte(text))
		require.NoError(t, err)
		s := NewStudy(d)
		s.rest = restTimesOf(s.Program, func(s machine.StateID) int64 { return []int64{c.nest, c.roost, 0}[s] })
		times, err := s.Rest()
		require.NoError(t, err)
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
			assert.NoError(t, f.replay(s.Program, s.rest), "%s: %s %v %+v", c.what, f.Message, f.Witness, f.Claim)
		}
		if c.stop < 0 {
			continue
		}
		for _, r := range []struct {
			press string
			takes time.Duration
			less  time.Duration
		}{
			{"wake", times.Alone, 0}, {"wake", times.Alone, 1},
			{"sleep", times.Stop, 0}, {"sleep", times.Stop, 1},
		} {
			q := model.Requirement{Form: model.Within, Kind: model.Dormant, Time: r.takes - r.less*time.Millisecond, After: model.Trigger{Kind: model.Press, Name: r.press}}
			d.Requires = []model.Require{{That: q.String()}}
			s := &Study{Design: d, Program: s.Program, options: s.options, after: s.after, rest: s.rest, found: map[*Rule]Findings{}, parts: map[any]any{}}
			found, err := s.Check(requireRules)
			require.NoError(t, err)
			assert.Len(t, found, int(r.less), "%s: %s", c.what, q)
			for _, f := range found {
				assert.NotEmpty(t, f.Witness, "%s: %s", c.what, q)
				assert.NoError(t, f.replay(s.Program, s.rest), "%s: %s %v %+v", c.what, f.Message, f.Witness, f.Claim)
			}
		}
	}
}

// The way to rest is shown however long it is.
func TestSlowStopOfManySteps(t *testing.T) {
	d := many.Timers(2500)
	for i := range d.Transitions {
		d.Transitions[i].On[0].After = model.Span{Lo: time.Second, Hi: time.Second}
	}
	d.Transitions = append(d.Transitions, model.Transition{From: []model.From{{State: model.Any}}, On: []model.Trigger{{Kind: model.Press, Name: d.Remote.Stop}}, To: "s1"})
	d.Transitions = d.Transitions[1:] // it stays at rest
	found, err := NewStudy(d).Check([]*Rule{behaviourRules[slices.IndexFunc(behaviourRules, func(r *Rule) bool { return r.ID == "slow-stop" })]})
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.Equal(t, 2499*time.Second, found[0].Claim.Took)
	assert.NoError(t, found[0].Replay(machine.Compile(d)))
}
