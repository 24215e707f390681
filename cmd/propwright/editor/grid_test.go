package editor

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/designs/odd"
	"propwright/model/machine"
	"propwright/model/random"
)

// The matrix must show what the machine does, in every state on every event.
func TestGridAgreesWithMachine(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := random.Design(t)
		p := machine.Compile(d)
		g := newGrid(d, nil)
		same := func(c cell, m *machine.Move) {
			if m == nil {
				require.Nil(t, c.transition)
				return
			}
			require.Equal(t, m.Transition, c.index)
			require.Equal(t, m.Rank != machine.RankNamed, c.inherited)
			require.False(t, c.twice)
		}
		for s := range d.States {
			r, ok := g.rowOf(model.From{State: d.States[s].Name})
			require.True(t, ok)
			for e, trigger := range p.Events {
				c, ok := g.columnOf(trigger)
				require.True(t, ok, trigger.String())
				same(g.at(r, c), p.Move(machine.StateID(s), machine.EventID(e)))
			}
			done, _ := g.columnOf(model.Trigger{Kind: model.Done})
			same(g.at(r, done), p.Done(machine.StateID(s)))
			for _, timer := range p.Timers(machine.StateID(s)) {
				on := d.Transitions[timer.Transition].On[timer.Trigger]
				c, ok := g.columnOf(on)
				require.True(t, ok)
				same(g.at(r, c), &timer.Move)
			}
		}
	})
}

// A state's row marks what two transitions say of it where that counts, which is
// where no higher rank decides.
func TestGridShowsQuarrel(t *testing.T) {
	t.Parallel()
	size := random.Usual
	size.Ambiguous = true
	rapid.Check(t, func(t *rapid.T) {
		d := size.Design(t)
		p := machine.Compile(d)
		g := newGrid(d, nil)
		doubtful := map[machine.StateID]bool{}
		for _, a := range p.Ambiguities() {
			for _, s := range a.In {
				doubtful[s] = true
			}
		}
		for r, row := range g.rows {
			if row.state < 0 {
				continue
			}
			marked := false
			for c := range g.columns {
				marked = marked || g.at(r, c).twice
			}
			require.Equal(t, doubtful[machine.StateID(row.state)], marked, row.from)
		}
	})
}

func TestCellText(t *testing.T) {
	t.Parallel()
	d, err := model.Read("heron", designs.HarbourHeron)
	require.NoError(t, err)
	g := newGrid(d, nil)
	for _, tc := range []struct{ from, on, want string }{
		{"roost", "press wake", "watch"},
		{"roost", "press one", "(·)"},
		{"roost", "press sleep", "(roost)"},
		{"roost", "done", ""},
		{"watch", "press one", "(greeting)"},
		{"watch", "hold wake for 800ms", "wade"},
		{"greeting", "press two", "(»striking)"},
		{"greeting", "done", "(back)"},
		{"any performing", "press two", "»striking"},
		{"any", "press one", "·"},
	} {
		from, err := model.ParseFrom(tc.from)
		require.NoError(t, err)
		on, err := model.ParseTrigger(tc.on)
		require.NoError(t, err)
		r, ok := g.rowOf(from)
		require.True(t, ok)
		c, ok := g.columnOf(on)
		require.True(t, ok)
		assert.Equal(t, tc.want, g.at(r, c).text(), "%s on %s", tc.from, tc.on)
	}
	assert.Len(t, newGrid(&model.Design{}, nil).columns, 1, "without a button there is only done")
}

// The matrix says what the marks in its cells mean, in 80 columns too.
func TestLegend(t *testing.T) {
	t.Parallel()
	newScene(t, 80, 24, 16).sees("»when routine ends  · ignored  (…) by any  empty: not said  ! twice  ▸ finding", "✗/order")
	text, err := odd.FS.ReadFile("orders.prop.toml")
	require.NoError(t, err)
	openScene(t, 80, 24, 16, text).sees("»at routine's end  /order: stays  · ignored  (…) by any  ! twice  ▸ finding")
	openScene(t, 220, 50, 16, text).sees("/order: does that and stays")
}
