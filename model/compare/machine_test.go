package compare

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/random"
)

// A design drawn at random and the same after some edits: the reference
// machine, put into each state, does something else with an event just where
// the comparison says so.
func TestAnyEditIsWhatTheMachineDoes(t *testing.T) {
	size := random.Usual
	size.Comments, size.Ambiguous, size.Buttons.Hi = false, true, 3
	size.Transitions = random.Range{Lo: 3, Hi: 12}
	rapid.Check(t, func(t *rapid.T) {
		old := read(t, string(size.Design(t).Format()))
		now := read(t, string(old.Format()))
		for range rapid.IntRange(1, 3).Draw(t, "edits") {
			alter(t, now)
		}
		now, err := model.Read("now.prop.toml", now.Format())
		if err != nil {
			t.Skip("an edit that no file may hold")
		}
		c := Compare(old, now)
		did, does := answers(t, old), answers(t, now)
		for cell, what := range did {
			on, err := model.ParseTrigger(cell.event)
			require.NoError(t, err)
			require.Equal(t, what != does[cell], c.Differs(cell.state, on), "%s in %s: did %q, does %q", cell.event, cell.state, what, does[cell])
		}
		for cell, what := range does {
			if _, both := did[cell]; !both && what != "" {
				on, err := model.ParseTrigger(cell.event)
				require.NoError(t, err)
				require.True(t, c.Differs(cell.state, on), "%s in %s: %q", cell.event, cell.state, what)
			}
		}
	})
}

// alter changes a transition, or where it stands.
func alter(t *rapid.T, d *model.Design) {
	if len(d.Transitions) == 0 {
		return
	}
	i := rapid.IntRange(0, len(d.Transitions)-1).Draw(t, "transition")
	tr := &d.Transitions[i]
	switch rapid.IntRange(0, 6).Draw(t, "edit") {
	case 0:
		d.Transitions = slices.Delete(d.Transitions, i, i+1)
	case 1:
		tr.To, tr.Do, tr.Ignore = rapid.SampledFrom(d.States).Draw(t, "to").Name, nil, false
		tr.Unstate("do")
	case 2:
		tr.To, tr.Do, tr.Ignore, tr.Defer = "", nil, true, false
		tr.Unstate("do")
	case 3:
		tr.Defer = !tr.Defer && tr.To != ""
	case 4:
		tr.From = []model.From{{State: rapid.SampledFrom(d.States).Draw(t, "from").Name}}
	case 5:
		tr.On = []model.Trigger{{Kind: model.Press, Name: rapid.SampledFrom(d.Remote.Buttons).Draw(t, "on").Name}}
	case 6:
		d.Transitions = append(slices.Delete(slices.Clone(d.Transitions), i, i+1), *tr)
	}
}

// answers puts the reference machine into each state of a design and lets each
// event happen there.
func answers(t require.TestingT, d *model.Design) map[effectKey]string {
	// A button of its own leads into each state; it is pressed in the same
	// step, so that no timer can come in between.
	with := *d
	with.Remote.Buttons, with.Transitions = slices.Clone(d.Remote.Buttons), slices.Clone(d.Transitions)
	into := func(i int) string { return fmt.Sprintf("into-state-number-%d", i) }
	for i := range d.States {
		with.Remote.Buttons = append(with.Remote.Buttons, model.Button{Name: into(i)})
		with.Transitions = append(with.Transitions, model.Transition{
			From: []model.From{{State: model.Any}}, On: []model.Trigger{{Kind: model.Press, Name: into(i)}}, To: d.States[i].Name,
		})
	}
	p := machine.Compile(&with)
	said := map[effectKey]string{}
	for i := range d.States {
		enter, ok := p.Event(model.Trigger{Kind: model.Press, Name: into(i)})
		require.True(t, ok)
		for e, on := range p.Events {
			if slices.ContainsFunc(with.Remote.Buttons[len(d.Remote.Buttons):], func(b model.Button) bool { return b.Name == on.Name }) {
				continue
			}
			m := machine.New(p, 1)
			var last *machine.Change
			m.Observe = func(c machine.Change) {
				if c.Cause == machine.CauseEvent {
					last = &c
				}
			}
			m.Post(enter)
			m.Post(machine.EventID(e))
			m.Advance(1)
			require.Equal(t, machine.EventID(e), last.Event)
			said[effectKey{d.States[i].Name, on.String()}] = outcome(p, last)
		}
	}
	return said
}
