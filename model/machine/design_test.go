package machine_test

import (
	"testing"
	"time"

	"propwright/model"
	"propwright/model/machine"

	"github.com/stretchr/testify/require"
)

// A heron is the small prop that the rules' tests share: greet takes 2 s.
func heron(t testing.TB, transitions ...model.Transition) *model.Design {
	return &model.Design{
		File: "heron.prop.toml",
		Remote: model.Remote{Stop: "sleep", Buttons: []model.Button{
			{Name: "sleep"}, {Name: "wake"}, {Name: "one"}, {Name: "two"},
		}},
		Inputs: []model.Input{{Name: "tail"}},
		Routines: []model.Routine{
			{Name: "bow", Length: 2 * time.Second},
			{Name: "sway", Length: time.Second, Loop: true},
			{Name: "wink"},
		},
		States: []model.State{
			{Name: "roost", Kind: model.Dormant},
			{Name: "watch", Kind: model.Ambient},
			{Name: "fish", Kind: model.Ambient},
			{Name: "greet", Kind: model.Performing, Plays: "bow"},
			{Name: "dance", Kind: model.Performing, Plays: "sway"},
			{Name: "wink", Kind: model.Performing, Plays: "wink"},
		},
		Transitions: transitions,
	}
}

// tr makes the transition from, on, to; to may be "ignore" and may have
// " defer" behind it.
func tr(t testing.TB, from, on, to string) model.Transition {
	f, err := model.ParseFrom(from)
	require.NoError(t, err)
	o, err := model.ParseTrigger(on)
	require.NoError(t, err)
	x := model.Transition{From: []model.From{f}, On: []model.Trigger{o}, To: to}
	if to == "ignore" {
		x.To, x.Ignore = "", true
	}
	return x
}

func deferred(x model.Transition) model.Transition {
	x.Defer = true
	return x
}

// A player drives a machine by words and reads its state by name.
type player struct {
	testing.TB
	*machine.Rehearsal
	p *machine.Program
}

func play(t testing.TB, d *model.Design, acts ...string) *player {
	p := machine.Compile(d)
	pl := &player{t, machine.Rehearse(machine.New(p, 1), machine.RepeatPeriodNEC), p}
	pl.do(acts...)
	return pl
}

func (p *player) do(acts ...string) {
	p.Helper()
	for _, s := range acts {
		a, err := machine.ParseAct(s)
		require.NoError(p, err)
		require.NoError(p, p.Play(a))
	}
}

func (p *player) state() string { return p.p.Name(p.Machine.State()) }

func (p *player) post(trigger string) {
	p.Helper()
	tr, err := model.ParseTrigger(trigger)
	require.NoError(p, err)
	e, ok := p.p.Event(tr)
	require.True(p, ok, trigger)
	p.Machine.Post(e)
}
