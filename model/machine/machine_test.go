package machine_test

import (
	"fmt"
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

// behaving draws designs that are all behaviour.
var behaving = random.Size{
	States:      random.Range{Lo: 1, Hi: 6},
	Buttons:     random.Range{Lo: 1, Hi: 4},
	Inputs:      random.Range{Lo: 0, Hi: 2},
	Events:      random.Range{Lo: 0, Hi: 1},
	Routines:    random.Range{Lo: 0, Hi: 4},
	Transitions: random.Range{Lo: 0, Hi: 25},
}

// TestMachineKeepsTheRules compares a machine, advanced by jumps, with one
// that reads the design at every millisecond.
func TestMachineKeepsTheRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := behaving.Design(t)
		p := machine.Compile(d)
		seed := rapid.Uint32Min(1).Draw(t, "seed")
		m, n := machine.New(p, seed), newNaive(d, seed)
		log := []entered{{0, p.Name(m.State())}}
		m.Observe = func(c machine.Change) {
			if c.Outcome == machine.Entered {
				log = append(log, entered{int64(c.At), p.Name(c.To)})
			}
			if c.Outcome == machine.Acted {
				log = append(log, entered{int64(c.At), "do: " + d.Does(&d.Transitions[c.Move.Transition])})
			}
		}
		for range rapid.IntRange(0, 12).Draw(t, "moments") {
			for range rapid.IntRange(0, 3).Draw(t, "events") {
				e := rapid.IntRange(0, len(p.Events)-1).Draw(t, "event")
				m.Post(machine.EventID(e))
				n.queue = append(n.queue, p.Events[e])
			}
			ms := rapid.IntRange(1, 4000).Draw(t, "ms")
			m.Advance(uint32(ms))
			for range ms {
				n.millisecond()
			}
			require.Equal(t, n.log, log)
			require.Equal(t, n.state.Name, p.Name(m.State()))
			require.Equal(t, n.back.Name, p.Name(m.Back()))
			require.Equal(t, n.waiting != nil, m.Deferred() != nil)
			require.Equal(t, uint32(n.now), m.Now())
		}
	})
}

// Jumping to what happens next is the same as a step every millisecond, for
// everything that can be observed.
func TestAdvanceInOneOrManySteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := machine.Compile(behaving.Design(t))
		seed := rapid.Uint32().Draw(t, "seed")
		a, b := machine.New(p, seed), machine.New(p, seed)
		var sa, sb []machine.Change
		a.Observe = func(c machine.Change) { sa = append(sa, c) }
		b.Observe = func(c machine.Change) { sb = append(sb, c) }
		for range rapid.IntRange(0, 8).Draw(t, "moments") {
			e := machine.EventID(rapid.IntRange(0, len(p.Events)-1).Draw(t, "event"))
			a.Post(e)
			b.Post(e)
			ms := rapid.Uint32Range(0, 10000).Draw(t, "ms")
			a.Advance(ms)
			for range ms {
				b.Advance(1)
			}
			require.Equal(t, sb, sa)
		}
	})
}

// A program's precedence is that of the design, read naively.
func TestMoveMatchesTheDesign(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := behaving.Design(t)
		p := machine.Compile(d)
		n := newNaive(d, 1)
		for s := range d.States {
			n.state = &d.States[s]
			for e := range p.Events {
				want, got := n.candidate(p.Events[e]), p.Move(machine.StateID(s), machine.EventID(e))
				if want == nil {
					require.Nil(t, got)
					continue
				}
				require.NotNil(t, got)
				require.Same(t, want, &d.Transitions[got.Transition])
				require.Equal(t, n.rank(want), int(got.Rank))
			}
			if want := n.candidate(model.Trigger{Kind: model.Done}); want != nil {
				require.Same(t, want, &d.Transitions[p.Done(machine.StateID(s)).Transition])
			} else {
				require.Nil(t, p.Done(machine.StateID(s)))
			}
		}
	})
}

// A design is judged in one place: no file holds what Compile has no meaning for.
func TestReadRefusesWhatCannotCompile(t *testing.T) {
	read := func(change func(*model.Design)) error {
		d, err := model.Read("heron", designs.HarbourHeron)
		require.NoError(t, err)
		change(d)
		_, err = model.Read("heron", d.Format())
		return err
	}
	require.NoError(t, read(func(*model.Design) {}))
	for _, c := range []struct {
		change func(d *model.Design)
		want   string
	}{
		{func(d *model.Design) { d.States[0].Kind = model.Ambient }, "no state is dormant"},
		{func(d *model.Design) { d.States = nil }, "the design has no state"},
		{func(d *model.Design) { d.States[1].Kind = model.Dormant }, "none is marked"},
		{func(d *model.Design) { d.States[1].Start = true }, "not dormant"},
		{func(d *model.Design) {
			d.States[1].Kind, d.States[0].Start, d.States[1].Start = model.Dormant, true, true
		}, "marked start, and so is"},
		{func(d *model.Design) { d.States[1].Name = "roost" }, `state "roost" is duplicated`},
		{func(d *model.Design) { d.States[1].Name = "any" }, "its own meaning"},
		{func(d *model.Design) { d.States[1].Kind = "sleepy" }, `"sleepy"`},
		{func(d *model.Design) { d.States[3].Plays = "polka" }, `no routine "polka"`},
		{func(d *model.Design) { d.Remote.Buttons[1].Name = "one" }, `button "one" is duplicated`},
		{func(d *model.Design) {
			in := model.Input{Name: "tail", Pin: 2, Pull: model.PullUp}
			d.Inputs = append(d.Inputs, in, in)
		}, `input "tail" is duplicated`},
		{func(d *model.Design) { d.Routines[1].Name = "greet" }, `routine "greet" is duplicated`},
		{func(d *model.Design) { d.Routines[0].Length = 1e6 * time.Hour }, "too long"},
		{func(d *model.Design) { d.Transitions[0].To = "rost" }, `no state "rost"`},
		{func(d *model.Design) { d.Transitions[0].To = "" }, `no state ""`},
		{func(d *model.Design) { d.Transitions[0].From[0].State = "rost" }, `no state "rost"`},
		{func(d *model.Design) { d.Transitions[0].From[0] = model.From{State: "any", Kind: "odd"} }, `"odd" is not a kind of state`},
		{func(d *model.Design) { d.Transitions[0].On[0].Name = "on" }, `no button "on"`},
		{func(d *model.Design) { d.Transitions[0].On[0] = model.Trigger{Kind: model.Rise, Name: "one"} }, `no input`},
		{func(d *model.Design) { d.Transitions[0].On[0] = model.Trigger{} }, `is not a trigger`},
		{func(d *model.Design) {
			d.Transitions[0].On[0] = model.Trigger{Kind: model.After, After: model.Span{Lo: 2 * time.Second, Hi: time.Second}}
		}, "runs backwards"},
		{func(d *model.Design) {
			d.Transitions[0].On[0] = model.Trigger{Kind: model.After, After: model.Span{Lo: 0, Hi: 1e6 * time.Hour}}
		}, "too long"},
		{func(d *model.Design) { d.Transitions[0].To = "back" }, "back leads out of a performing state"},
		{func(d *model.Design) { d.Transitions[0].Defer = true }, "defer waits for a routine's end"},
		{func(d *model.Design) { d.Transitions[8].On[1].Kind, d.Transitions[8].Defer = model.Done, true }, "done cannot be deferred"},
	} {
		err := read(c.change)
		var faults model.Faults
		require.ErrorAs(t, err, &faults, c.want)
		assert.ErrorContains(t, err, c.want)
		for _, f := range faults {
			assert.NotEmpty(t, f.Advice, f.Wrong)
		}
	}
}

func TestMillis(t *testing.T) {
	for d, want := range map[time.Duration]uint32{
		0: 0, -1: 0, 499 * time.Microsecond: 0, 500 * time.Microsecond: 1, time.Second: 1000,
		1000 * time.Hour: 1<<31 - 1, machine.MaxTime: 1<<31 - 1,
	} {
		assert.Equal(t, want, machine.Millis(d), d)
	}
}

func TestActText(t *testing.T) {
	for _, s := range []string{
		"press wake", "hold wake for 900ms", "hold wake", "let go wake", "rise tail-switch",
		"fall tail-switch", "wait 20s", "wait 5m", "wait 0s", "wait 1.5s",
	} {
		a, err := machine.ParseAct(s)
		require.NoError(t, err, s)
		assert.Equal(t, s, a.String())
	}
	for s, want := range map[string]string{
		"":                   "nothing here",
		"push wake":          `unknown act "push"`,
		"press":              `"press wake"`,
		"press wake up":      `"press wake"`,
		"hold wake 5s":       `"hold wake for 900ms"`,
		"hold wake for 0s":   `"press wake"`,
		"let wake":           `"let go wake"`,
		"wait":               `"wait 20s"`,
		"wait 20":            "20",
		"wait -1s":           "-1s",
		"wait 1000000m":      "out of range",
		"wait 0.5ms":         "whole milliseconds",
		"rise":               `"rise tail-switch"`,
		"hold wake for ever": "ever",
	} {
		_, err := machine.ParseAct(s)
		assert.ErrorContains(t, err, want, s)
	}
	rapid.Check(t, func(t *rapid.T) {
		a := machine.Act{
			Kind: rapid.SampledFrom([]machine.ActKind{machine.ActPress, machine.ActHold, machine.ActLetGo,
				machine.ActRise, machine.ActFall, machine.ActWait}).Draw(t, "kind"),
		}
		if a.Kind != machine.ActWait {
			a.Name = rapid.StringMatching("[a-z][a-z0-9-]{0,23}").Draw(t, "name")
		}
		if a.Kind == machine.ActWait || a.Kind == machine.ActHold {
			a.For = time.Duration(rapid.IntRange(0, 1<<31-1).Draw(t, "ms")) * time.Millisecond
		}
		got, err := machine.ParseAct(a.String())
		require.NoError(t, err)
		require.Equal(t, a, got)
	})
	rapid.Check(t, func(t *rapid.T) { _, _ = machine.ParseAct(rapid.String().Draw(t, "text")) })
}

func TestPlayRefuses(t *testing.T) {
	pl := play(t, heron(t))
	for _, a := range []machine.Act{
		{Kind: machine.ActPress, Name: "on"}, {Kind: machine.ActRise, Name: "one"}, {Kind: machine.ActLetGo, Name: "one"}, {},
	} {
		assert.Error(t, pl.Play(a), a)
	}
	pl.do("rise tail") // there is the input, though nothing waits for it
}

// large is a design of n states that each answer a button of their own.
func large(n, buttons int) *model.Design {
	d := &model.Design{States: make([]model.State, n)}
	for b := range buttons {
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: fmt.Sprint("b", b)})
	}
	for s := range n {
		d.States[s] = model.State{Name: fmt.Sprint("s", s), Kind: model.StateKinds[min(s, 1)]}
		for b := range buttons {
			d.Transitions = append(d.Transitions, model.Transition{
				From: []model.From{{State: fmt.Sprint("s", s)}},
				On:   []model.Trigger{{Kind: model.Press, Name: fmt.Sprint("b", b)}},
				To:   fmt.Sprint("s", (s+b)%n),
			})
		}
	}
	return d
}

func BenchmarkCompile(b *testing.B) {
	d := large(10000, 20)
	b.ReportAllocs()
	for b.Loop() {
		machine.Compile(d)
	}
}
