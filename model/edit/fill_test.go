package edit_test

import (
	"fmt"
	"strings"
	"testing"

	"propwright/model"
	"propwright/model/edit"
	"propwright/model/machine"
	"propwright/model/random"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// rules gives what Compile makes of every cell of every row, in words.
// An `after` is in the rows of the states alone, and only where it is armed.
func rules(t require.TestingT, d *model.Design) map[string]string {
	p := machine.Compile(d)
	cells := map[string]string{}
	say := func(row string, on model.Trigger, m *machine.Move) {
		target := d.Leads(&d.Transitions[m.Transition])
		cells[row+" on "+on.String()] = fmt.Sprint(m.Rank, " ", target, m.Ignore, m.Defer)
	}
	row := func(name string, rules []machine.Rule) {
		for _, r := range rules {
			on := model.Trigger{Kind: model.Done}
			if r.Event != machine.DoneEvent {
				on = p.Events[r.Event]
			}
			say(name, on, r.Move)
		}
	}
	row("any", p.AnyRow())
	for _, k := range model.StateKinds {
		row("any "+string(k), p.KindRow(k))
	}
	for s := range d.States {
		row(d.States[s].Name, p.NamedRow(machine.StateID(s)))
		for _, timer := range p.Timers(machine.StateID(s)) {
			say(d.States[s].Name, d.Transitions[timer.Transition].On[timer.Trigger], &timer.Move)
		}
	}
	return cells
}

// Filling a cell changes that cell of the matrix that Compile makes, to what
// was asked for, and no other; a timer of a general row shows in its states.
func TestFillChangesOneCell(t *testing.T) {
	size := random.Usual
	size.Transitions = random.Range{Lo: 1, Hi: 12}
	rapid.Check(t, func(t *rapid.T) {
		size.Ambiguous = rapid.IntRange(0, 3).Draw(t, "ambiguous if 0") == 0
		f := edit.New(size.Design(t))
		for range rapid.IntRange(1, 6).Draw(t, "cells") {
			d := f.Design()
			row, want := drawRow(t, d), drawOutcome(t, d)
			on := rapid.SampledFrom(machine.NewMatrix(d).Columns()).Draw(t, "column")
			before := rules(t, d)
			if f.Fill(row, on, want) != nil {
				require.Same(t, d, f.Design())
				continue
			}
			n := f.Design()
			cell := machine.NewMatrix(n).Cell(row, on)
			if want == (edit.Outcome{}) {
				require.False(t, cell.Own)
			} else {
				require.True(t, cell.Own)
				require.Len(t, cell.Said, 1, "one transition is left")
				do := n.OrdersText(&n.Transitions[cell.Said[0].Transition])
				require.Equal(t, want, edit.Outcome{To: cell.To, Do: do, Ignore: cell.Ignore, Defer: cell.Defer})
			}

			after := rules(t, n)
			for name := range union(before, after) {
				switch at, trigger, _ := strings.Cut(name, " on "); {
				case at == row.String() && trigger == on.String():
				case on.Kind == model.After && trigger == on.String() && row.State == model.Any:
					// inherited: what the state itself says stays
					if strings.HasPrefix(before[name], fmt.Sprint(machine.RankNamed)) {
						require.Equal(t, before[name], after[name], "%s; set %s on %s to %s", name, row, on, want)
					}
				default:
					require.Equal(t, before[name], after[name], "%s; set %s on %s to %s", name, row, on, want)
				}
			}
			// Every other cell is said as often as before.
			require.Equal(t, said(d, row, on), said(n, row, on))
		}
	})
}

func union(a, b map[string]string) map[string]bool {
	all := map[string]bool{}
	for k := range a {
		all[k] = true
	}
	for k := range b {
		all[k] = true
	}
	return all
}

// said lists, for every cell but one, what transitions say of it, in file
// order.
func said(d *model.Design, row model.From, on model.Trigger) map[string][]string {
	cells := map[string][]string{}
	for _, t := range d.Transitions {
		for _, f := range t.From {
			for _, x := range t.On {
				if f.String() != row.String() || x.String() != on.String() {
					name := f.String() + " on " + x.String()
					cells[name] = append(cells[name], fmt.Sprint(d.OrdersText(&t), t.To, t.Ignore, t.Defer, t.Note))
				}
			}
		}
	}
	return cells
}

const matrix = `format = 1
[prop]
name = "lark"
board = "atmega328p"
[remote]
pin = 2
stop = "sleep"
[[remote.button]]
name = "sleep"
code = "nec:0x04:0x08"
[[remote.button]]
name = "wake"
code = "nec:0x04:0x18"
[[remote.button]]
name = "sing"
code = "nec:0x04:0x19"
[[input]]
name = "perch"
pin = 7
[[state]]
name = "roost"
kind = "dormant"
[[state]]
name = "watch"
kind = "ambient"
[[state]]
name = "look"
kind = "ambient"
[[state]]
name = "sing"
kind = "performing"
`

func design(t testing.TB, text string) *model.Design {
	d, err := model.Read("lark.prop.toml", []byte(text))
	require.NoError(t, err)
	return d
}

// transitions is the part of a design's file below the states of matrix.
func transitions(d *model.Design) string {
	_, text, _ := strings.Cut(string(d.Format()), "name = \"sing\"\nkind = \"performing\"\n")
	return strings.TrimPrefix(text, "\n")
}

func TestFillIsTheLeastChange(t *testing.T) {
	for _, c := range []struct {
		name, before, row, on, want string
		outcome                     edit.Outcome
	}{{
		name: "a cell alone is changed where it is, with its comments",
		before: `# The morning.
[[transition]]
from = "roost"
on = "press wake" # early
to = "watch"
note = "as it always does"
`,
		row: "roost", on: "press wake", outcome: edit.Outcome{To: "look"},
		want: `# The morning.
[[transition]]
from = "roost"
on = "press wake" # early
to = "look"
note = "as it always does"
`,
	}, {
		name: "one of several sources leaves the list",
		before: `# Song.
[[transition]]
from = ["roost", "watch", "look"]
on = "press sing"
to = "sing"
`,
		row: "watch", on: "press sing", outcome: edit.Outcome{Ignore: true},
		want: `# Song.
[[transition]]
from = ["roost", "look"]
on = "press sing"
to = "sing"

[[transition]]
from = "watch"
on = "press sing"
ignore = true
`,
	}, {
		name: "a list of both is split in two",
		before: `# Song.
[[transition]]
from = ["watch", "look"]
on = ["press sing", "rise perch"]
to = "sing"
note = "gladly"
`,
		row: "look", on: "press sing", outcome: edit.Outcome{},
		want: `# Song.
[[transition]]
from = "watch"
on = ["press sing", "rise perch"]
to = "sing"
note = "gladly"

[[transition]]
from = "look"
on = "rise perch"
to = "sing"
note = "gladly"
`,
	}, {
		name: "a new source joins its trigger's list",
		before: `[[transition]]
from = "watch"
on = "press sing"
to = "sing"
`,
		row: "look", on: "press sing", outcome: edit.Outcome{To: "sing"},
		want: `[[transition]]
from = ["watch", "look"]
on = "press sing"
to = "sing"
`,
	}, {
		name: "a new trigger joins its source's list",
		before: `[[transition]]
from = "watch"
on = "press sing"
to = "sing"
`,
		row: "watch", on: "hold wake for 800ms", outcome: edit.Outcome{To: "sing"},
		want: `[[transition]]
from = "watch"
on = ["press sing", "hold wake for 800ms"]
to = "sing"
`,
	}, {
		name: "a note is of one transition alone",
		before: `[[transition]]
from = "watch"
on = "press sing"
to = "sing"
note = "of watch"

[[transition]]
from = "roost"
on = "press wake"
to = "watch"
`,
		row: "watch", on: "press wake", outcome: edit.Outcome{To: "sing"},
		want: `[[transition]]
from = "watch"
on = "press sing"
to = "sing"
note = "of watch"

[[transition]]
from = "watch"
on = "press wake"
to = "sing"

[[transition]]
from = "roost"
on = "press wake"
to = "watch"
`,
	}, {
		name: "any is not put in a list of states",
		before: `[[transition]]
from = "watch"
on = "press sleep"
to = "roost"
`,
		row: "any", on: "press sleep", outcome: edit.Outcome{To: "roost"},
		want: `[[transition]]
from = "watch"
on = "press sleep"
to = "roost"

[[transition]]
from = "any"
on = "press sleep"
to = "roost"
`,
	}, {
		name: "of two that contend one is left",
		before: `[[transition]]
from = "watch"
on = "press sing"
to = "sing"

[[transition]]
from = ["watch", "look"]
on = "press sing"
to = "roost"
`,
		row: "watch", on: "press sing", outcome: edit.Outcome{To: "look"},
		want: `[[transition]]
from = "watch"
on = "press sing"
to = "look"

[[transition]]
from = "look"
on = "press sing"
to = "roost"
`,
	}, {
		name: "a cell alone that says nothing is deleted",
		before: `[[transition]]
from = "sing"
on = "press sleep"
to = "roost"
defer = true
`,
		row: "sing", on: "press sleep", outcome: edit.Outcome{},
	}, {
		name: "a target in place of silence",
		before: `[[transition]]
from = "sing"
on = "press sleep"
ignore = true # let it end
`,
		row: "sing", on: "press sleep", outcome: edit.Outcome{To: "back", Defer: true},
		want: `# let it end
[[transition]]
from = "sing"
on = "press sleep"
to = "back"
defer = true
`,
	}} {
		t.Run(c.name, func(t *testing.T) {
			f := edit.New(design(t, matrix+c.before))
			row, err := model.ParseFrom(c.row)
			require.NoError(t, err)
			on, err := model.ParseTrigger(c.on)
			require.NoError(t, err)
			require.NoError(t, f.Fill(row, on, c.outcome))
			require.Equal(t, c.want, transitions(f.Design()))
			revision := f.Revision()
			require.NoError(t, f.Fill(row, on, c.outcome))
			require.Equal(t, revision, f.Revision(), "what is said already is not an edit")
			f.Undo()
			require.Equal(t, c.before, transitions(f.Design()))
		})
	}
}

func TestFillRefusesInWords(t *testing.T) {
	for _, c := range []struct {
		row, on string
		outcome edit.Outcome
		err     string
	}{
		{"watch", "press sing", edit.Outcome{To: "sign"}, `there is no state "sign"; did you mean "sing"?`},
		{"wacth", "press sing", edit.Outcome{To: "sing"}, `there is no state "wacth"; did you mean "watch"?`},
		{"watch", "press song", edit.Outcome{To: "sing"}, `there is no button "song"; did you mean "sing"?`},
		{"watch", "rise tail", edit.Outcome{To: "sing"}, `there is no input "tail"; add it first`},
		{"watch", "press sing", edit.Outcome{To: "back"}, `back leads out of a performing state, and watch does not perform; name a state`},
		{"any", "press sing", edit.Outcome{To: "back"}, `back leads out of a performing state, and any does not perform; name a state`},
		{"any ambient", "press sing", edit.Outcome{To: "sing", Defer: true}, `defer waits for a routine's end, and any ambient does not perform; choose the target without defer`},
		{"sing", "done", edit.Outcome{To: "back", Defer: true}, `done is the routine's end already; choose the target without defer`},
		{"sing", "done", edit.Outcome{Defer: true}, `a deferred transition needs a target; name a state`},
		{"sing", "done", edit.Outcome{Ignore: true, To: "watch"}, `what is ignored leads nowhere; choose a target or ignore`},
	} {
		f := edit.New(design(t, matrix))
		row, err := model.ParseFrom(c.row)
		require.NoError(t, err)
		on, err := model.ParseTrigger(c.on)
		require.NoError(t, err)
		require.EqualError(t, f.Fill(row, on, c.outcome), c.err)
		require.Zero(t, f.Revision())
	}
	f := edit.New(design(t, matrix))
	require.NoError(t, f.Fill(model.From{State: model.Any, Kind: model.Performing}, model.Trigger{Kind: model.Done}, edit.Outcome{To: model.Back}))
}
