package check

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
	"propwright/model/random"
	"propwright/model/timed"
)

// Whatever happens before, no sound goes on in a dormant state after the time at which
// the prop is said to be at rest in it.
func TestNoSoundAtRest(t *testing.T) {
	size := random.Usual
	size.Tracks, size.Outputs = random.Range{Lo: 1, Hi: 3}, random.Range{Lo: 3, Hi: 6}
	late := 0 // sounds that go on in a dormant state
	rapid.Check(t, func(t *rapid.T) {
		d := size.Design(t)
		if len(d.Tracks) == 0 {
			return // no output can play one
		}
		for i := range d.Tracks {
			d.Tracks[i].Length = time.Duration(rapid.IntRange(1, 9000).Draw(t, "length")) * time.Millisecond
			if rapid.Bool().Draw(t, "on and on") {
				d.Tracks[i].Stop = model.Play{}
			}
		}
		for i := range d.Routines { // each sounds, and stop ends it
			d.Routines[i].Cues = append(d.Routines[i].Cues, model.Cue{Track: d.Tracks[i%len(d.Tracks)].Name})
		}
		d.Transitions = append(d.Transitions, model.Transition{
			From: []model.From{{State: model.Any}}, On: []model.Trigger{{Kind: model.Press, Name: d.Remote.Stop}}, To: d.States[0].Name,
		})
		p := machine.Compile(d)
		rest, stage := restTimes(p), motion.New(d, nil)
		for _, u := range restless(d) { // of such a state nothing is promised
			s, _ := p.State(u.state)
			rest[s] = timed.Never
		}
		m := machine.NewDrawing(p, func(lo, hi uint32) uint32 { return rapid.Uint32Range(lo, hi).Draw(t, "drawn") })
		require.NoError(t, stage.Enter(p.Name(p.Start), 0))
		entered, state := int64(0), p.Start
		left := func(at int64) { // the state has been left, or the play is over
			if rest[state] == timed.Never {
				return
			}
			by := entered + rest[state]
			for _, h := range stage.Heard(ms(at)) {
				if h.From >= ms(at) {
					continue
				}
				require.LessOrEqual(t, min(h.To, ms(at)), max(ms(by), 0), "%s sounds in %s\n%s", h.Track, p.Name(state), d.Format())
				if h.To > ms(entered) {
					late++
				}
			}
		}
		m.Observe = func(c machine.Change) {
			if c.Outcome == machine.Entered {
				left(int64(c.At))
				entered, state = int64(c.At), c.To
				require.NoError(t, stage.Enter(p.Name(c.To), ms(int64(c.At))))
			}
		}
		for range rapid.IntRange(1, 12).Draw(t, "events") {
			m.Advance(rapid.Uint32Range(1, 3000).Draw(t, "wait"))
			if rapid.Bool().Draw(t, "stop") {
				stop, _ := p.Button(d.Remote.Stop)
				m.Post(machine.EventID(stop))
				continue
			}
			m.Post(machine.EventID(rapid.IntRange(0, len(p.Events)-1).Draw(t, "event")))
		}
		m.Advance(20_000)
		left(int64(m.Now()))
	})
	if !testing.Short() { // a few draws need not have one
		assert.NotZero(t, late)
	}
}

// The call of the design is triggered 400 ms after the routine began and is heard from
// 500 ms to 3 s; the routine lasts 4 s.
func TestSoundLingers(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*model.Design)
		want   time.Duration
	}{
		{"stop at any time", func(*model.Design) {}, 2600 * msec},
		{"stop silences it", func(d *model.Design) { d.Tracks[0].Stop.Value = "one" }, 17 * msec}, // twice 8 bytes at 9600 baud, rounded up
		{"only the routine's end leads on", func(d *model.Design) { d.Transitions[2].To, d.Transitions[3].From[0].State = "rest", "watch" }, 0},
		{"a timer leads on, 1 s after the trigger", func(d *model.Design) {
			d.Transitions[2].To, d.Transitions[3].From[0].State = "rest", "watch"
			d.Transitions[2].On = []model.Trigger{{Kind: model.After, After: model.Span{Lo: 1400 * msec, Hi: 1400 * msec}}}
		}, 1600 * msec},
		{"by way of a state that takes 2 s", func(d *model.Design) {
			d.Transitions[2].To, d.Transitions[3].From[0].State = "watch", "watch"
			d.Transitions[2].On = []model.Trigger{{Kind: model.After, After: model.Span{Lo: 400 * msec, Hi: 9 * time.Second}}}
			d.Transitions[3].On = []model.Trigger{{Kind: model.After, After: model.Span{Lo: 2 * time.Second, Hi: 3 * time.Second}}}
		}, 600 * msec},
	} {
		d, err := model.Load("../designs/rules/unsilenced-sound.prop.toml")
		require.NoError(t, err)
		d.Transitions = d.Transitions[:4] // wake, one, done, sleep
		c.change(d)
		p := machine.Compile(d)
		rest, _ := p.State("rest")
		assert.Equal(t, c.want.Milliseconds(), restTimes(p)[rest], c.name)
	}
}
