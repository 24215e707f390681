package tour

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
	"propwright/testdata/designs"
	"propwright/testdata/random"
)

func load(t *testing.T) map[string]*model.Design {
	t.Helper()
	all := map[string]*model.Design{}
	for _, name := range designs.Names() {
		text, err := designs.FS.ReadFile(name)
		require.NoError(t, err)
		d, err := model.Read(name, text)
		require.NoError(t, err)
		all[d.Prop.Name] = d
	}
	d, err := model.Load("../../testdata/large/pier-parade.prop.toml")
	require.NoError(t, err)
	all[d.Prop.Name] = d
	return all
}

// replay walks the walk at the reference machine, with an ideal hand, and
// returns all that the machine handled, by state and trigger.
func replay(t require.TestingT, d *model.Design, w *Walk, seed uint32) map[goal]bool {
	p, err := machine.Compile(d)
	require.NoError(t, err)
	m := machine.New(p, seed)
	tried := map[goal]bool{{p.Start, ""}: true}
	var last *machine.Change
	m.Observe = func(c machine.Change) {
		last = &c
		tried[goal{c.To, ""}] = true
		switch c.Cause {
		case machine.CauseEvent:
			tried[goal{c.From, p.Events[c.Event].String()}] = true
		case machine.CauseDone, machine.CauseDeferred:
			tried[goal{c.From, doneGoal}] = true
		case machine.CauseAfter:
			tried[goal{c.From, d.Transitions[c.Move.Transition].On[c.Move.Trigger].String()}] = true
		}
	}
	r := machine.Rehearse(m, check.RepeatPeriod(d))
	for i, s := range w.Steps {
		require.Equal(t, p.Name(s.From), p.Name(m.State()), "before step %d", i+1)
		last = nil
		if s.Acts[0].Kind == machine.ActWait {
			end := m.Now() + machine.Millis(s.Acts[0].For)
			// Somebody who waits goes on when it happens. What is deferred
			// without a routine to wait for cannot be seen.
			seen := func() bool { return last != nil && (s.Kind != Enters || last.Outcome == machine.Entered) }
			for m.Now() < end && !seen() {
				next, ok := m.Next()
				if !ok || next > end {
					break
				}
				m.AdvanceTo(next)
			}
			require.True(t, seen(), "step %d: nothing happens by itself in %s", i+1, p.Name(s.From))
		} else {
			require.NoError(t, r.Play(s.Acts...))
		}
		require.Equal(t, p.Name(s.To), p.Name(m.State()), "after step %d: %v", i+1, s.Acts)
		if s.Kind == Waits {
			require.NotNil(t, m.Deferred(), "step %d", i+1)
		}
	}
	return tried
}

func TestWalksAreWhatTheMachineDoes(t *testing.T) {
	for name, d := range load(t) {
		w, err := Find(d, check.RepeatPeriod(d))
		require.NoError(t, err)
		for seed := uint32(1); seed <= 20; seed++ {
			replay(t, d, w, seed)
		}
		t.Logf("%s: %d steps, left: %q", name, len(w.Steps), w.Left)
	}
}

// Every button is pressed in every state of the demo, but for performing
// states that answer alike: those are pressed in one of them.
func TestEveryButtonInEveryState(t *testing.T) {
	d := load(t)["harbour-heron"]
	w, err := Find(d, check.RepeatPeriod(d))
	require.NoError(t, err)
	assert.Empty(t, w.Left)
	assert.LessOrEqual(t, len(w.Steps), 60)
	tried := replay(t, d, w, 1)
	for s := range d.States {
		assert.True(t, tried[goal{machine.StateID(s), ""}], d.States[s].Name)
	}
	performing := map[string]bool{}
	for b := range d.Remote.Buttons {
		what := "press " + d.Remote.Buttons[b].Name
		for s := range d.States {
			done := tried[goal{machine.StateID(s), what}]
			if d.States[s].Kind == model.Performing {
				performing[what] = performing[what] || done
				continue
			}
			assert.True(t, done, "%s in %s", what, d.States[s].Name)
		}
		assert.True(t, performing[what], "%s while performing", what)
	}
	for _, s := range []string{"greeting", "striking", "preening", "spreading", "squalling"} {
		p, err := machine.Compile(d)
		require.NoError(t, err)
		id, ok := p.State(s)
		require.True(t, ok)
		assert.True(t, tried[goal{id, doneGoal}], "%s plays to its end", s)
	}
	text := string(w.Text())
	assert.Contains(t, text, "→ watch, “Looking out over the harbour”: idles; neck, eyelid")
	assert.Contains(t, text, "after 90s by itself to roost")
	assert.Contains(t, text, "keep wake down for a good 800ms, then let go")
	assert.Contains(t, text, "→ goes on; striking will follow when it ends")
	for _, line := range strings.Split(text, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 110, line)
	}
	again, err := Find(d, check.RepeatPeriod(d))
	require.NoError(t, err)
	assert.Equal(t, text, string(again.Text()))
}

// Whatever a design says, its walk is one that the machine goes along with.
// Short times are left out: an ideal hand still takes some milliseconds.
func TestAnyWalk(t *testing.T) {
	size := random.Usual
	size.Comments = false
	rapid.Check(t, func(t *rapid.T) {
		d := size.Design(t)
		for i := range d.Transitions {
			for j := range d.Transitions[i].On {
				if on := &d.Transitions[i].On[j]; on.Kind == model.After {
					on.After.Lo += 100e9
					on.After.Hi += 100e9
				}
			}
		}
		for i := range d.Routines {
			d.Routines[i].Length = d.RoutineLength(&d.Routines[i]) + 10e9
		}
		w, err := Find(d, check.RepeatPeriod(d))
		require.NoError(t, err)
		replay(t, d, w, 1)
		require.NotEmpty(t, w.Text())
	})
}
