package editor

import (
	"testing"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/editor/review"
	"propwright/model"
)

const (
	manyStates   = 200
	manyTriggers = 40
)

// A stroke is from one key to the finished screen.
type stroke func(*tcell.EventKey)

// ourStroke is the matrix of a large design.
func ourStroke(t testing.TB) stroke {
	e := newEditor(nothing(), newTheme(1<<24))
	e.desk.draft.Replace("large", largeDesign(manyStates, manyTriggers))
	d, err := newDesk(e.desk.design(), t.TempDir()+"/large.prop.toml")
	require.NoError(t, err)
	e.sit(d)
	e.review.Stop()
	t.Cleanup(func() { d.close() })
	require.Len(t, e.grid.columns, manyTriggers)
	return onScreen(t, e.app, e.root)
}

// bareStroke is tview's table of the same size with the same texts.
func bareStroke(t testing.TB) stroke {
	d := largeDesign(manyStates, manyTriggers)
	g := newGrid(d, nil)
	table := tview.NewTable().SetFixed(2, 1).SetSelectable(true, true)
	for c := range g.columns {
		table.SetCell(0, c+1, tview.NewTableCell(g.columns[c].head[0]))
		table.SetCell(1, c+1, tview.NewTableCell(g.columns[c].head[1]))
	}
	for r := range g.rows {
		table.SetCell(r+2, 0, tview.NewTableCell(g.rows[r].from.String()))
		for c := range g.columns {
			table.SetCell(r+2, c+1, tview.NewTableCell(g.at(r, c).text()))
		}
	}
	table.Select(2, 1)
	app := tview.NewApplication().SetRoot(table, true)
	return onScreen(t, app, table)
}

func onScreen(t testing.TB, app *tview.Application, p tview.Primitive) stroke {
	screen := tcell.NewSimulationScreen("UTF-8")
	require.NoError(t, screen.Init())
	screen.SetSize(160, 50)
	app.SetScreen(begun{screen})
	app.ForceDraw()
	return func(ev *tcell.EventKey) {
		p.InputHandler()(ev, func(tview.Primitive) {})
		app.ForceDraw()
	}
}

// walk is a walk over all of the matrix.
func walk() []*tcell.EventKey {
	var evs []*tcell.EventKey
	press := func(k tcell.Key, n int) {
		for range n {
			evs = append(evs, tcell.NewEventKey(k, 0, 0))
		}
	}
	press(tcell.KeyDown, manyStates)
	press(tcell.KeyRight, manyTriggers-1)
	press(tcell.KeyUp, manyStates)
	press(tcell.KeyLeft, manyTriggers-1)
	return evs
}

func BenchmarkKeystroke(b *testing.B) {
	for _, bench := range []struct {
		name string
		make func(testing.TB) stroke
	}{{"matrix", ourStroke}, {"bare table", bareStroke}} {
		b.Run(bench.name, func(b *testing.B) {
			do, evs := bench.make(b), walk()
			b.ResetTimer()
			for i := range b.N {
				do(evs[i%len(evs)])
			}
		})
	}
}

// A key in the matrix of 200 states × 40 triggers is as much work as in tview's
// bare table of the same size: memory taken stands for the work.
func TestKeystrokeBesideBareTable(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	allocations := func(do stroke) float64 {
		evs, i := walk(), 0
		return testing.AllocsPerRun(len(evs)/5-1, func() {
			do(evs[i])
			i += 5
		})
	}
	ours, bare := allocations(ourStroke(t)), allocations(bareStroke(t))
	t.Logf("matrix of %d × %d: %.0f allocations a key; bare table: %.0f", manyStates, manyTriggers, ours, bare)
	assert.LessOrEqual(t, ours, 2*bare)
}

// The check runs beside the screen: while it is under way an edit is drawn, and
// keys are answered.
func TestCheckDoesNotBlockTheScreen(t *testing.T) {
	t.Parallel()
	s := newScene(t, 160, 50, 16).checked()
	begun, end := make(chan bool), make(chan bool)
	s.do(func() {
		s.e.review.Inspect = func(d *model.Design) []review.Finding {
			begun <- true
			<-end
			return review.Inspect(d)
		}
	})
	s.at("any", "press sleep").keys("Del")
	<-begun
	s.sees("checking…", "nothing is said").keys("F3").sees("[remote]")
	assert.Empty(t, s.says("watch", "press sleep"))
	close(end)
	s.checked().sees("error")
}
