package editor

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/editor/review"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/machine"
)

// A lone view is one view over a workspace, without an Editor.
type lone struct {
	navigator // what a view asks for beyond what is below is a failure
	*workspace
	t      *testing.T
	screen tcell.SimulationScreen
	row    *screen
	view   view
	played string // the finding whose witness was to be played last
}

// alone is a view of the harbour heron.
func alone(t *testing.T, in viewID) *lone {
	d, err := model.Read("heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	k, err := newDesk(d, filepath.Join(t.TempDir(), "heron.prop.toml"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, k.close()) })
	l := &lone{t: t, screen: tcell.NewSimulationScreen("UTF-8")}
	require.NoError(t, l.screen.Init())
	l.screen.SetSize(100, 30)
	l.workspace = newWorkspace(l, k, newTheme(16), func(do func()) { do() }, func() {})
	l.row = &screens[slices.IndexFunc(screens, func(s screen) bool { return s.in == in })]
	l.view = l.row.view(l.workspace)
	l.view.renew()
	return l
}

func (l *lone) changed() { l.layOut(); l.view.renew() }
func (l *lone) follow()  {}

func (l *lone) playWitness(f review.Finding) { l.played = f.Message }

func (l *lone) goTo(at model.Elem) {
	require.True(l.t, l.view.(arriver).arrive(at), "%v", at)
}

// keys gives keys to the dialog on top, or else to the view; Ctrl-N adds.
func (l *lone) keys(names ...string) *lone {
	l.t.Helper()
	for _, name := range names {
		for _, ev := range (&scene{t: l.t}).events(name) {
			l.key(ev)
			l.draw()
		}
	}
	return l
}

func (l *lone) key(ev *tcell.EventKey) {
	l.t.Helper()
	name := pane.KeyName(ev)
	if d := l.over.Top(); d != nil {
		switch name {
		case "Enter":
			d.Take()
		case "Esc":
			d.Leave()
		default:
			require.True(l.t, d.Key(ev), name)
		}
		return
	}
	if name == "Ctrl-N" {
		l.row.add(l.view)
		return
	}
	for _, a := range slices.Concat(l.row.actions, listActions) {
		if slices.Contains(a.keys, name) {
			a.do(l.view)
			return
		}
	}
	l.view.(typist).typed(ev.Rune())
}

func (l *lone) draw() {
	p := pane.NewPen(l.screen)
	p.Clear(l.theme.Plain)
	l.view.draw(p, true)
	if d := l.over.Top(); d != nil {
		d.Draw(p)
	}
	l.screen.Show()
}

// sees fails unless the view shows every text, or, after "✗", does not.
func (l *lone) sees(texts ...string) *lone {
	l.t.Helper()
	l.draw()
	var b strings.Builder
	cells, _, _ := l.screen.GetContents()
	for _, c := range cells {
		b.WriteString(string(c.Runes))
	}
	for _, text := range texts {
		if no, ok := strings.CutPrefix(text, "✗"); ok {
			assert.NotContains(l.t, b.String(), no)
		} else {
			assert.Contains(l.t, b.String(), text)
		}
	}
	return l
}

// Each view does its work over a workspace alone: no Editor is there.
func TestViewsAlone(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		in viewID
		do func(*lone)
	}{
		{inMatrix, func(l *lone) {
			l.sees("8 states", "ANY DORMANT").keys("Down", "Right", "Right", "Right", "'wad").sees("» wade").keys("Enter").sees("✗» wade")
			assert.Equal(t, "wade", l.grid.at(1, 3).text())
			l.keys("Down").sees("z roost ◂")
		}},
		{inRemote, func(l *lone) {
			l.sees("stop button: sleep").keys("Ctrl-N", "'hush nec:0x04:0x18", "Enter").sees("hush is there already").keys("Esc")
			l.keys("Ctrl-N", "'calm", "Enter").sees("calm", "nothing yet")
			assert.Equal(t, "calm", l.desk.design().Name(l.view.place()))
		}},
		{inRig, func(l *lone) {
			l.sees("servo -50..50", "10 of 20 pins free").keys("Ctrl-N", "'input", "Enter", "'door", "Enter").sees("door", "9 of 20 pins free")
			assert.Equal(t, model.SortInput, l.view.place().Sort)
		}},
		{inRoutines, func(l *lone) {
			l.sees("┬1s").keys("Ctrl-N", "'nod", "Enter").sees("nod", "no cue yet").keys("Up").sees("✗no cue yet")
		}},
		{inGraph, func(l *lone) {
			l.sees("from any state: sleep → roost").keys("Down", "End")
			assert.NotEqual(t, "roost", l.desk.design().Name(l.view.place()))
		}},
		{inFindings, func(l *lone) {
			wake := []machine.Act{{Kind: machine.ActPress, Name: "wake"}}
			l.review.Finish(l.desk.design(), []review.Finding{
				{Finding: check.Finding{Severity: check.Warning, Message: "It hums.", Witness: wake}},
				{Finding: check.Finding{Severity: check.Error, Rule: "rest", Message: "It falls.", Advice: "hold it"}},
			})
			l.view.renew()
			l.sees("error rest", "What to do: hold it").keys("Down").sees("✗What to do", "Seen by: press wake").keys("p")
			assert.Equal(t, "It hums.", l.played)
		}},
		{inPlay, func(l *lone) { l.sees("back: roost", "paused").keys("2", "n", ".").sees("~ watch", "press wake") }},
		{inHelp, func(l *lone) { l.sees("Take care").keys("PgDn").sees("✗Take care") }},
	} {
		t.Run(string(c.in), func(t *testing.T) { t.Parallel(); c.do(alone(t, c.in)) })
	}
}
