package machine_test

import (
	"testing"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/random"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The matrix is what Compile makes of the same transitions, cell by cell: who
// speaks, of which rank, and for timers which are armed.
func TestMatrixAgreesWithCompile(t *testing.T) {
	size := random.Usual
	rapid.Check(t, func(t *rapid.T) {
		size.Ambiguous = rapid.Bool().Draw(t, "ambiguous")
		d := size.Design(t)
		p := machine.Compile(d)
		m := machine.NewMatrix(d)
		for s := range d.States {
			row := model.From{State: d.States[s].Name}
			armed := 0
			for _, on := range m.Columns() {
				c := m.Cell(row, on)
				var move *machine.Move
				switch on.Kind {
				case model.Done:
					move = p.Done(machine.StateID(s))
				case model.After:
					for _, timer := range p.Timers(machine.StateID(s)) {
						if timer.Lo == machine.Millis(on.After.Lo) && timer.Hi == machine.Millis(on.After.Hi) {
							move = &timer.Move
							armed++
						}
					}
					if c.Ignore {
						require.Nil(t, move, "an ignored timer is not armed")
						continue
					}
				default:
					e, ok := p.Event(on)
					if ok {
						move = p.Move(machine.StateID(s), e)
					}
				}
				require.Equal(t, move == nil, c.Unsaid(), "%s on %s", row, on)
				if move == nil {
					continue
				}
				require.Equal(t, move.Rank, c.Rank)
				require.Equal(t, move.Rank == machine.RankNamed, c.Own)
				require.Equal(t, move.Transition, c.Said[0].Transition)
				require.Equal(t, move.Trigger, c.Said[0].Trigger)
				require.Equal(t, move.Ignore, c.Ignore)
				require.Equal(t, move.Defer, c.Defer)
				switch {
				case move.Stays():
					require.Empty(t, c.To)
					require.Equal(t, move.Do, c.Do != "")
				case move.Target == machine.BackTarget:
					require.Equal(t, model.Back, c.To)
				default:
					var to []string
					for _, s := range p.Targets(move) {
						to = append(to, p.Name(s))
					}
					choice, ok := model.ParseChoice(c.To)
					if !ok {
						choice.States = []string{c.To}
					}
					require.Equal(t, choice.States, to)
				}
			}
			require.Len(t, p.Timers(machine.StateID(s)), armed, "a timer has no column")
		}
	})
}

func TestCellTellsWhatItInherits(t *testing.T) {
	d := heron(t,
		tr(t, "any", "press sleep", "roost"),
		tr(t, "any ambient", "press wake", "watch"),
		tr(t, "watch", "press wake", "ignore"),
		deferred(tr(t, "greet", "press sleep", "roost")),
		tr(t, "fish", "press one", "greet"),
		tr(t, "fish", "press one", "dance"),
	)
	m := machine.NewMatrix(d)
	press := func(b string) model.Trigger { return model.Trigger{Kind: model.Press, Name: b} }
	cell := func(row, button string) machine.Cell {
		f, err := model.ParseFrom(row)
		require.NoError(t, err)
		return m.Cell(f, press(button))
	}
	require.Equal(t, machine.Cell{Said: []machine.Said{{Transition: 0}}, Rank: machine.RankAny, To: "roost"}, cell("watch", "sleep"))
	require.Equal(t, machine.Cell{Said: []machine.Said{{Transition: 1}}, Rank: machine.RankKind, To: "watch"}, cell("fish", "wake"))
	require.Equal(t, machine.Cell{Said: []machine.Said{{Transition: 2}}, Rank: machine.RankNamed, Own: true, Ignore: true}, cell("watch", "wake"))
	require.Equal(t, machine.Cell{Said: []machine.Said{{Transition: 3}}, Rank: machine.RankNamed, Own: true, To: "roost", Defer: true}, cell("greet", "sleep"))
	require.True(t, cell("roost", "wake").Unsaid())
	require.True(t, cell("fish", "one").Ambiguous())
	require.Equal(t, "greet", cell("fish", "one").To)
	require.True(t, cell("any", "sleep").Own)
	require.False(t, cell("any ambient", "sleep").Own)
	require.True(t, cell("any ambient", "wake").Own)
	require.True(t, cell("nowhere", "sleep").Unsaid(), "what is not in the design inherits nothing")
}

func TestColumnsAreInTheOrderOfTheRemote(t *testing.T) {
	d := heron(t,
		tr(t, "watch", "after 5m", "roost"),
		tr(t, "watch", "after 20s..40s", "fish"),
		tr(t, "watch", "release one", "fish"),
		tr(t, "watch", "hold one for 2s", "fish"),
		tr(t, "fish", "hold one for 800ms", "watch"),
	)
	var columns []string
	for _, on := range machine.NewMatrix(d).Columns() {
		columns = append(columns, on.String())
	}
	require.Equal(t, []string{
		"press sleep", "press wake",
		"press one", "hold one for 800ms", "hold one for 2s", "release one",
		"press two", "rise tail", "fall tail", "done", "after 20s..40s", "after 5m",
	}, columns)
}

func TestTimersOfARow(t *testing.T) {
	d := heron(t,
		tr(t, "any", "after 9s", "roost"),
		tr(t, "watch", "after 5s", "fish"),
		tr(t, "any ambient", "after 5s", "roost"),
	)
	var timers []string
	for _, on := range machine.NewMatrix(d).Timers(model.From{State: "watch"}) {
		timers = append(timers, on.String())
	}
	require.Equal(t, []string{"after 5s", "after 9s"}, timers)
}
