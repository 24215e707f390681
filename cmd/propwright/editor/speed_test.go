package editor

import (
	"slices"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/editor/review"
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

// A key in the matrix of 200 states × 40 triggers takes at most twice as long
// to the finished screen as in tview's bare table of the same size, in the
// same run.
func TestKeystrokeBesideBareTable(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	ours, bare, evs := ourStroke(t), bareStroke(t), walk()
	median := func(do stroke) time.Duration {
		var took []time.Duration
		for i, ev := range evs {
			if i%3 != 0 { // every third is enough, and quicker
				continue
			}
			begin := time.Now()
			do(ev)
			took = append(took, time.Since(begin))
		}
		slices.Sort(took)
		return took[len(took)/2]
	}
	best := func(do stroke) time.Duration { return min(median(do), median(do)) }
	a, b := best(ours), best(bare)
	t.Logf("matrix of %d × %d: %v a key; bare table: %v; ratio %.2f", manyStates, manyTriggers, a, b, float64(a)/float64(b))
	assert.LessOrEqual(t, a, 2*b)
}

// The check of a large design runs beside the screen: an edit is drawn at
// once, and the screen never waits for the check.
func TestCheckDoesNotBlockTheScreen(t *testing.T) {
	s := openScene(t, 160, 50, 16, largeDesign(manyStates, manyTriggers).Format()).checked()
	worst := time.Duration(0)
	beats := 0
	s.at("s7", "press b5").keys("'s9")
	begin := time.Now()
	s.keys("Enter")
	edited := time.Since(begin)
	for pending := true; pending; {
		asked := time.Now()
		s.do(func() { pending = s.e.review.Pending })
		worst = max(worst, time.Since(asked))
		beats++
		time.Sleep(time.Millisecond)
	}
	took := time.Since(begin) - review.Pause
	t.Logf("edit drawn after %v; check ended after %v; meanwhile the screen was drawn %d times, worst gap %v", edited, took, beats, worst)
	assert.Greater(t, beats, 10, "the check was over before anything could be seen")
	assert.Less(t, worst, took/2, "a screen that waits for the check waits as long as it takes")
}
