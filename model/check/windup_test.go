package check

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/motion"
)

func spin(at time.Duration, speed model.RevPerS, over time.Duration) model.Cue {
	return model.Cue{At: at, Output: "head", Action: model.Action{Speed: speed, Over: over}}
}

// The areas under the speed, by hand: a ramp over T to v is v·T/2 turns, v
// kept for T is v·T.
func TestWindUp(t *testing.T) {
	half := []model.Cue{spin(0, 0.5, 200*msec), spin(time.Second, 0, 200*msec)} // 0.05 + 0.4 + 0.05
	halfBack := []model.Cue{spin(2*time.Second, -0.5, 200*msec), spin(3*time.Second, 0, 200*msec)}
	for _, c := range []struct {
		name  string
		max   float64
		loop  bool
		cues  []model.Cue
		pose  model.RevPerS // of state "watch"
		drift *[2]float64   // of state "watch"
		want  string
	}{
		{name: "there and back", max: 0.5, cues: append(half, halfBack...)},
		{name: "too far before it turns back", max: 0.45, cues: append(half, halfBack...),
			want: `state "greet" turns "head" by 0.5 turns within 1.2s, and its wires stand 0.45 turns`},
		{name: "only there", max: 1, cues: half,
			want: `state "greet" turns "head" by 0.5 turns, and the prop can come to it again without turning back: wires pass through it`},
		{name: "only there, limit not said", cues: half,
			want: `state "greet" turns "head" by 0.5 turns, and the prop can come to it again without turning back: wires pass through it`},
		{name: "round and round", max: 1, loop: true, cues: half,
			want: `the routine "greet" repeats and turns "head" by 0.5 turns each time, and wires pass through it`},
		{name: "round and back", max: 0.5, loop: true, cues: append(half, halfBack...)},
		{name: "round and back without a rest", max: 1, loop: true, cues: []model.Cue{spin(0, 0.5, 0), spin(time.Second, -0.5, 0), spin(2*time.Second, -0.5, 0)}},
		// It stops at 1 s, but the ramp down from 0.5 takes a further 0.05 turns.
		{name: "left turning", max: 1, cues: half[:1],
			want: `state "greet" leaves "head" turning at 0.5rev/s, and wires pass through it`},
		{name: "posed turning", max: 1, pose: 0.25,
			want: `state "watch" leaves "head" turning at 0.25rev/s, and wires pass through it`},
		{name: "drifting", max: 1, drift: &[2]float64{-0.1, 0.1},
			want: `the drift of state "watch" turns "head" nobody knows how far, and wires pass through it`},
		{name: "drifting nowhere", max: 1, cues: append(half, halfBack...), drift: &[2]float64{0, 0}},
		// From 0.5 to -0.5 within a second: through 0 after half of it, with
		// 0.05 + 0.4 + 0.125 turns behind it; 0.125 back; then 0.2 and 0.025.
		{name: "turns round on the way", max: 0.57, cues: []model.Cue{spin(0, 0.5, 200*msec), spin(time.Second, -0.5, time.Second), spin(2800*msec, 0, 200*msec)},
			want: `state "greet" turns "head" by 0.575 turns within 1.5s, and its wires stand 0.57 turns`},
		{name: "turns further back", max: 0.4, cues: append(halfBack[:2:2], spin(4*time.Second, 0.5, 200*msec), spin(5*time.Second, 0, 200*msec)),
			want: `state "greet" turns "head" by 0.5 turns within 3.2s, and its wires stand 0.4 turns`},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := mended(t, "wind-up")
			d.Output("head").MaxTurns = c.max
			r := &d.Routines[0]
			r.Cues, r.Loop, r.Length = c.cues, c.loop, 0
			watch := &d.States[1]
			if c.pose != 0 {
				watch.Pose = append(watch.Pose, model.Pose{Output: "head", Action: model.Action{Speed: c.pose}})
			}
			if c.drift != nil {
				watch.Drift = []model.Drift{{Output: "head", Between: *c.drift}}
			}
			got := said(t, "wind-up", d)
			if c.want == "" {
				assert.Empty(t, got)
				return
			}
			assert.Equal(t, []string{c.want}, got)

			d.Output("head").WiresPass = false
			assert.Empty(t, said(t, "wind-up", d), "without wires nothing is wound up")
		})
	}
}

// A timer that ends a performance before it has turned back leaves the joint
// where it is then: 0.05 turns in the ramp of 200 ms, half a turn a second after
// that, half a turn from 1.2 s to 2 s.
func TestWindUpByATimer(t *testing.T) {
	there := []model.Cue{spin(0, 0.5, 200*msec), spin(time.Second, 0, 200*msec), spin(2*time.Second, -0.5, 200*msec), spin(3*time.Second, 0, 200*msec)}
	for _, c := range []struct {
		lo, hi time.Duration
		loop   bool
		want   string
	}{
		{lo: 600 * msec, hi: 600 * msec, want: `state "greet" has turned "head" by 0.25 turns when "after 600ms" ends it, and the prop can come to it again without turning back: wires pass through it`},
		{lo: 600 * msec, hi: 1500 * msec, want: `state "greet" has turned "head" by 0.25 turns when "after 600ms..1.5s" ends it, and the prop can come to it again without turning back: wires pass through it`},
		{lo: 2600 * msec, hi: 2600 * msec, want: `state "greet" has turned "head" by 0.25 turns when "after 2.6s" ends it, and the prop can come to it again without turning back: wires pass through it`},
		{lo: 600 * msec, hi: 4 * time.Second}, // or when it has turned back
		{lo: 3199 * msec, hi: 3199 * msec},
		{lo: 4 * time.Second, hi: 4 * time.Second}, // its end comes before
		{lo: 600 * msec, hi: 600 * msec, loop: true},
	} {
		d := mended(t, "wind-up")
		d.Routines[0].Cues, d.Routines[0].Length, d.Routines[0].Loop = there, 0, c.loop
		d.Transitions = append(d.Transitions, model.Transition{
			From: []model.From{{State: "greet"}}, To: model.Back,
			On: []model.Trigger{{Kind: model.After, After: model.Span{Lo: c.lo, Hi: c.hi}}},
		})
		var want []string
		if c.want != "" {
			want = []string{c.want}
		}
		assert.Equal(t, want, said(t, "wind-up", d), "%v..%v", c.lo, c.hi)
	}
}

// One state turns the head away and another turns it back: that is fine as
// long as the other always comes in between.
func TestWindUpThroughStates(t *testing.T) {
	to := func(from, on, to string) model.Transition {
		trigger := model.Trigger{Kind: model.Done}
		if on != "done" {
			trigger = model.Trigger{Kind: model.Press, Name: on}
		}
		return model.Transition{From: []model.From{{State: from}}, On: []model.Trigger{trigger}, To: to}
	}
	d := mended(t, "wind-up")
	d.Output("head").MaxTurns = 0.5
	d.Routines = []model.Routine{
		{Name: "away", Cues: []model.Cue{spin(0, 0.5, 200*msec), spin(time.Second, 0, 200*msec)}},
		{Name: "home", Cues: []model.Cue{spin(0, -0.5, 200*msec), spin(time.Second, 0, 200*msec)}},
	}
	d.States = []model.State{
		{Name: "rest", Kind: model.Dormant},
		{Name: "turning-away", Kind: model.Performing, Plays: "away"},
		{Name: "away", Kind: model.Ambient},
		{Name: "turning-home", Kind: model.Performing, Plays: "home"},
	}
	d.Transitions = []model.Transition{
		to("rest", "wake", "turning-away"),
		to("turning-away", "done", "away"),
		to("away", "sleep", "turning-home"),
		to("turning-home", "done", "rest"),
	}
	assert.Empty(t, said(t, "wind-up", d))

	// What is deferred meanwhile leads out of no state.
	late := to("turning-away", "one", "away")
	late.Defer = true
	with := *d
	with.Transitions = append(d.Transitions[:4:4], late)
	assert.Empty(t, said(t, "wind-up", &with))

	// Nor does it matter what a state that is never entered would do.
	with.States = append(d.States[:4:4], model.State{Name: "lost", Kind: model.Performing, Plays: "away"})
	with.Transitions = append(d.Transitions[:4:4], to("lost", "done", "lost"))
	assert.Empty(t, said(t, "wind-up", &with))

	wide := *d
	wide.States[2].Plays = "away" // half a turn more, which nothing turns back
	assert.Equal(t, []string{`state "turning-away" turns "head" by 0.5 turns, and the prop can come to it again without turning back: wires pass through it`}, said(t, "wind-up", &wide))
	d.States[2].Plays = ""

	d.Transitions = append(d.Transitions, to("away", "one", "rest")) // past the way home
	assert.Equal(t, []string{`state "turning-away" turns "head" by 0.5 turns, and the prop can come to it again without turning back: wires pass through it`}, said(t, "wind-up", d))

	d.Transitions = d.Transitions[:4]
	d.Transitions[3] = to("turning-home", "done", "turning-on")
	d.Routines[1].Cues = []model.Cue{spin(0, -0.5, 200*msec), spin(2*time.Second, 0, 200*msec)} // 1 turn
	d.Routines = append(d.Routines, model.Routine{Name: "on", Cues: d.Routines[0].Cues})        // -0.5, then 0
	d.States = append(d.States, model.State{Name: "turning-on", Kind: model.Performing, Plays: "on"})
	d.Transitions = append(d.Transitions, to("turning-on", "done", "rest"))
	d.Output("head").MaxTurns = 1
	assert.Empty(t, said(t, "wind-up", d), "half a turn either way")
	d.Routines[0].Cues = []model.Cue{spin(0, 0.5, 200*msec), spin(2*time.Second, 0, 200*msec)}
	d.States[2].Plays = "on"
	d.Routines = append(d.Routines, model.Routine{Name: "off", Cues: []model.Cue{spin(0, -0.5, 200*msec), spin(time.Second, 0, 200*msec)}})
	d.States[4].Plays = "off" // 1, 1.5, 0.5, 0
	assert.Equal(t, []string{`with what was before, state "away" turns "head" by 1.5 turns from where it was at power-up, and its wires stand 1 turn`}, said(t, "wind-up", d))
}

// The turns are the speed that motion plays, summed up millisecond by
// millisecond.
func TestTurningIsTheSumOfSpeeds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := mended(t, "wind-up")
		r := &d.Routines[0]
		r.Cues, r.Length = nil, 0
		r.Loop = rapid.Bool().Draw(t, "loop")
		for range rapid.IntRange(1, 4).Draw(t, "cues") {
			r.Cues = append(r.Cues, spin(
				time.Duration(rapid.IntRange(0, 800).Draw(t, "at"))*msec,
				model.RevPerS(rapid.IntRange(-4, 4).Draw(t, "speed"))/4,
				time.Duration(rapid.IntRange(1, 400).Draw(t, "over"))*msec))
		}
		length := d.RoutineLength(r)
		end := motion.Frames(length + motion.Frame)
		if r.Loop {
			end = 3 * length
		}
		s := motion.New(d, nil)
		require.NoError(t, s.Enter("greet", 0))
		sum, lo, hi, before := 0.0, 0.0, 0.0, 0.0
		for now := time.Duration(0); now < end; now += msec {
			if now == 2*length && r.Loop {
				before = sum
			}
			sum += s.Value("head", now+msec/2).Lo * msec.Seconds()
			lo, hi = min(lo, sum), max(hi, sum)
		}
		got := rotationOf(d, &d.States[2], d.Output("head"))
		if got.speed == 0 || r.Loop {
			require.InDelta(t, sum-before, got.net, 2e-3)
			require.InDelta(t, lo, got.back.turns, 2e-3)
			require.InDelta(t, hi, got.fore.turns, 2e-3)
		}
	})
}

// The rule speaks exactly where the head can come to stand too far: found here
// by going through all states together with all places of the head.
func TestWindUpFindsEveryWay(t *testing.T) {
	spoke := map[bool]int{}
	rapid.Check(t, func(t *rapid.T) {
		d := mended(t, "wind-up")
		most := rapid.IntRange(1, 3).Draw(t, "most half turns")
		d.Output("head").MaxTurns = float64(most) / 2
		d.Routines, d.Transitions = nil, nil
		d.States = []model.State{{Name: "rest", Kind: model.Dormant}}
		half := map[string]int{} // turns, by state
		acts := rapid.IntRange(1, 4).Draw(t, "performances")
		idle := rapid.IntRange(0, 3).Draw(t, "ambient states")
		for i := range idle {
			d.States = append(d.States, model.State{Name: fmt.Sprint("idle-", i), Kind: model.Ambient})
		}
		next := map[string][]string{}
		lead := func(from string, on model.Trigger, to string) {
			d.Transitions = append(d.Transitions, model.Transition{From: []model.From{{State: from}}, On: []model.Trigger{on}, To: to})
			next[from] = append(next[from], to)
		}
		for i := range acts {
			name := fmt.Sprint("act-", i)
			k := rapid.IntRange(-1, 1).Draw(t, "half turns")
			half[name] = k
			d.Routines = append(d.Routines, model.Routine{Name: name, Cues: []model.Cue{
				spin(0, 0.5*model.RevPerS(k), 200*msec), spin(time.Second, 0, 200*msec),
			}})
			quiet := rapid.IntRange(0, idle).Draw(t, "then")
			lead(name, model.Trigger{Kind: model.Done}, d.States[quiet].Name)
		}
		for i := range idle + 1 {
			from := d.States[i].Name
			for _, button := range []string{"wake", "one"} {
				to := fmt.Sprint("act-", rapid.IntRange(0, acts-1).Draw(t, "act"))
				lead(from, model.Trigger{Kind: model.Press, Name: button}, to)
			}
			if i > 0 {
				lead(from, model.Trigger{Kind: model.Press, Name: "sleep"}, "rest")
			}
		}
		for i := range acts {
			name := fmt.Sprint("act-", i)
			d.States = append(d.States, model.State{Name: name, Kind: model.Performing, Plays: name})
		}

		type place struct {
			state string
			half  int
		}
		seen, todo, far := map[place]bool{}, []place{{"rest", 0}}, false
		for len(todo) > 0 && !far {
			at := todo[0]
			todo = todo[1:]
			if seen[at] {
				continue
			}
			seen[at] = true
			at.half += half[at.state]
			far = max(at.half, -at.half) > most
			for _, to := range next[at.state] {
				todo = append(todo, place{to, at.half})
			}
		}
		got := said(t, "wind-up", d)
		require.Equal(t, far, len(got) > 0, "%v", got)
		spoke[far]++
	})
	if !testing.Short() { // its few draws may all be of one kind
		assert.Len(t, spoke, 2)
	}
}
