package tour

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/compare"
	"propwright/model/designs/odd"
	"propwright/model/machine"
	"propwright/model/random"
)

// replay walks the walk at the reference machine, with an ideal hand, and
// returns all that the machine handled, by state and trigger.
func replay(t require.TestingT, d *model.Design, w *Walk, seed uint32) map[goal]bool {
	p := machine.Compile(d)
	tried := map[goal]bool{{p.Start, ""}: true}
	var last *machine.Change
	var draws []uint32 // for choices, of the step
	observe := func(c machine.Change) {
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
	switchOn := func() (*machine.Machine, *machine.Rehearsal) {
		random := machine.Seed(seed)
		m := machine.NewDrawing(p, func(lo, hi uint32) uint32 {
			if lo == 0 && len(draws) > 0 {
				n := draws[0]
				draws = draws[1:]
				return n
			}
			return random.Draw(lo, hi)
		})
		m.Observe = observe
		return m, machine.Rehearse(m, check.RepeatPeriod(d))
	}
	m, r := switchOn()
	for i, s := range w.Steps {
		require.Equal(t, p.Name(s.From), p.Name(m.State()), "before step %d", i+1)
		last, draws = nil, s.Draws
		if s.Kind == Restarts {
			m, r = switchOn()
			continue
		}
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
	for name, d := range odd.Whole(t) {
		w := Find(check.NewStudy(d))
		for seed := uint32(1); seed <= 20; seed++ {
			replay(t, d, w, seed)
		}
		t.Logf("%s: %d steps, left: %q", name, len(w.Steps), w.Left)
	}
}

// Every button is pressed in every state of the demo, but for performing
// states that answer alike: those are pressed in one of them.
func TestEveryButtonInEveryState(t *testing.T) {
	d := odd.Whole(t)["harbour-heron"]
	w := Find(check.NewStudy(d))
	assert.Empty(t, w.Left)
	assert.LessOrEqual(t, len(w.Steps), 64)
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
		p := machine.Compile(d)
		id, ok := p.State(s)
		require.True(t, ok)
		assert.True(t, tried[goal{id, doneGoal}], "%s plays to its end", s)
	}
	text := string(w.Text())
	assert.Contains(t, text, "→ watch, “Looking out over the harbour”: idles; neck, eyelid")
	assert.Contains(t, text, "after 90s by itself to roost")
	assert.Contains(t, text, "keep “wake” down for a good 800ms, then let go")
	assert.Contains(t, text, "→ goes on; striking will follow when it ends")
	for _, line := range strings.Split(text, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 110, line)
	}
	again := Find(check.NewStudy(d))
	assert.Equal(t, text, string(again.Text()))
}

// A time that is drawn is told from its shortest to its longest; where chance
// decides what happens, the walk says what may be seen.
func TestWhatChanceDecides(t *testing.T) {
	find := func(d *model.Design) string {
		w := Find(check.NewStudy(d))
		return strings.Join(strings.Fields(string(w.Text())), " ")
	}
	assert.Contains(t, find(odd.Whole(t)["harbour-heron"]), "hands off: it takes 20s at least and 40s at most → watch")
	assert.Contains(t, find(odd.Whole(t)["harbour-heron"]), "hands off: wait, 90s at most → roost")
	assert.Contains(t, find(odd.Whole(t)["lock-keeper"]), "Not in this walk on-duty, hands off: after 4s..9s → dozing, or after 5s..8s → ")
	assert.Contains(t, find(odd.Whole(t)["lock-keeper"]), ", whichever comes first; wait there again and again until you have seen each")

	// The reference machine does each of these, and no other.
	d := odd.Whole(t)["lock-keeper"]
	p := machine.Compile(d)
	s, ok := p.State("on-duty")
	require.True(t, ok)
	saw := map[string]bool{}
	for seed := uint32(1); seed < 200; seed++ {
		m := machine.New(p, seed)
		m.Observe = func(c machine.Change) {
			if c.Cause == machine.CauseAfter && c.From == s {
				saw[d.Transitions[c.Move.Transition].On[c.Move.Trigger].String()] = true
			}
		}
		for e := range p.Events {
			m.Post(machine.EventID(e))
			m.Advance(20_000)
		}
	}
	assert.Equal(t, map[string]bool{"after 4s..9s": true, "after 5s..8s": true}, saw)
}

// Each button repeats at its own pace, and its first repeat comes early: what a
// hold brings about is what has come by the last frame.
func TestHoldsByProtocol(t *testing.T) {
	d, err := model.Read("hold.prop.toml", []byte(`format = 1
[prop]
name = "hold"
board = "atmega328p"
[remote]
pin = 2
stop = "off"
[[remote.button]]
name = "off"
code = "nec:0x01:0x02"
[[remote.button]]
name = "on"
code = "jvc:0x01:0x03"
[[state]]
name = "asleep"
kind = "dormant"
[[state]]
name = "a"
kind = "ambient"
[[state]]
name = "b"
kind = "ambient"
[[transition]]
from = "any"
on = "press off"
to = "asleep"
[[transition]]
from = "asleep"
on = "hold on for 1ms"
to = "a"
[[transition]]
from = "a"
on = "hold on for 45ms"
to = "b"
`))
	require.NoError(t, err)
	w := Find(check.NewStudy(d))
	replay(t, d, w, 1)
	assert.Empty(t, w.Left)
}

// A walk that nobody would walk to its end says that it is cut.
func TestALongWalkIsCut(t *testing.T) {
	var b strings.Builder
	b.WriteString("format = 1\n[prop]\nname = \"long\"\nboard = \"atmega328p\"\n[remote]\npin = 2\nstop = \"b0\"\n")
	for i := range 20 {
		fmt.Fprintf(&b, "[[remote.button]]\nname = \"b%d\"\ncode = \"nec:0x01:0x%02x\"\n", i, i)
	}
	b.WriteString("[[state]]\nname = \"s0\"\nkind = \"dormant\"\n[[transition]]\nfrom = \"any\"\non = \"press b0\"\nto = \"s0\"\n")
	for i := range 120 {
		fmt.Fprintf(&b, "[[state]]\nname = \"s%d\"\nkind = \"ambient\"\n", i+1)
	}
	for i := range 120 {
		for j := 1; j < 20; j++ {
			fmt.Fprintf(&b, "[[transition]]\nfrom = \"s%d\"\non = \"press b%d\"\nto = \"s%d\"\n", i, j, (i*7+j)%120+1)
		}
	}
	d, err := model.Read("long.prop.toml", []byte(b.String()))
	require.NoError(t, err)
	w := Find(check.NewStudy(d))
	assert.LessOrEqual(t, len(w.Steps), mostSteps+20)
	require.NotEmpty(t, w.Left)
	for _, l := range w.Left {
		assert.Contains(t, l, "not reached in so many steps")
	}
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
		w := Find(check.NewStudy(d))
		replay(t, d, w, 1)
		require.NotEmpty(t, w.Text())
	})
}

// Words of a sentence are not taken for buttons.
func TestButtonsAreQuoted(t *testing.T) {
	text := string(Find(check.NewStudy(odd.Whole(t)["harbour-heron"])).Text())
	assert.Contains(t, text, "press “wander”, then “one”, then “two”")
	for _, line := range strings.Split(text, "\n") {
		if _, after, ok := strings.Cut(line, "press "); ok {
			assert.True(t, strings.HasPrefix(after, "“"), line)
		}
	}
}

// walked gives the text of a design's walk as one line.
func walked(t *testing.T, text string) string {
	t.Helper()
	d, err := model.Read("x.prop.toml", []byte(`format = 1
[prop]
name = "x"
board = "atmega328p"
[remote]
pin = 2
stop = "off"
[[remote.button]]
name = "off"
code = "nec:0x01:0x02"
[[remote.button]]
name = "go"
code = "nec:0x01:0x03"
[[state]]
name = "asleep"
kind = "dormant"
[[transition]]
from = "any"
on = "press off"
to = "asleep"
`+text))
	require.NoError(t, err)
	w := Find(check.NewStudy(d))
	replay(t, d, w, 1)
	return strings.Join(strings.Fields(string(w.Text())), " ")
}

// A hold that looks like a press that is too short is no step; of others the
// walk says what is seen if they are not heard.
func TestHoldsThatCannotBeSeen(t *testing.T) {
	const a = `
[[state]]
name = "a"
kind = "ambient"
[[state]]
name = "b"
kind = "ambient"
[[transition]]
from = "asleep"
on = "press go"
to = "a"
[[transition]]
from = "a"
on = "hold go for 1s"
to = `
	seen := walked(t, a+`"b"`)
	assert.Contains(t, seen, "keep “go” down for a good 1s, then let go → b: idles if it is a, the hold was not heard")
	assert.NotContains(t, seen, "Not in this walk")
	hidden := walked(t, strings.Replace(a, `from = "asleep"`, `from = "any"`, 1)+`"a"`)
	assert.NotContains(t, hidden, "keep “go” down")
	assert.Contains(t, hidden, "a: hold go for 1s (looks the same as letting go too early)")
}

// Nobody waits for the end of a routine that has none.
func TestEndlessRoutines(t *testing.T) {
	text := walked(t, `
[[output]]
name = "lamp"
kind = "switch"
pin = 9
[[routine]]
name = "blink"
loop = true
length = "2s"
[[routine.cue]]
at = "0s"
output = "lamp"
set = true
[[state]]
name = "blinks"
kind = "performing"
plays = "blink"
[[transition]]
from = "asleep"
on = "press go"
to = "blinks"
[[transition]]
from = "blinks"
on = "after 5s"
to = "asleep"
`)
	assert.Contains(t, text, "hands off: wait, 5s at most → asleep")
	assert.NotContains(t, text, "wait for the end")
}

// The page has the steps of the text.
func TestHTML(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Find(check.NewStudy(random.Design(t)))
		text, err := w.HTML()
		require.NoError(t, err)
		d := xml.NewDecoder(bytes.NewReader(text))
		boxes := 0
		for {
			token, err := d.Token()
			if err == io.EOF {
				break
			}
			require.NoError(t, err)
			if e, ok := token.(xml.StartElement); ok && e.Name.Local == "input" {
				boxes++
			}
		}
		require.Equal(t, len(w.Steps)+3, boxes)
	})
}

// From an older version on, only what differs is tried.
func TestChanged(t *testing.T) {
	old, now := odd.Whole(t)["harbour-heron"], odd.Whole(t)["harbour-heron"]
	assert.Empty(t, Changed(compare.Compare(old, now)).Steps)
	for i := range now.Transitions {
		if tr := &now.Transitions[i]; tr.On[0].String() == "press three" {
			tr.To = "greeting"
		}
	}
	w := Changed(compare.Compare(old, now))
	tried := replay(t, now, w, 1)
	assert.Len(t, w.Steps, 8, "wake, wander, three, hush, wake, three, hush, sleep")
	p := machine.Compile(now)
	for _, s := range []string{"watch", "wade"} {
		id, ok := p.State(s)
		require.True(t, ok)
		assert.True(t, tried[goal{id, "press three"}], s)
	}
}
