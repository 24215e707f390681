package editor

import (
	"fmt"
	"io/fs"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/editor/review"
	"propwright/model"
	"propwright/model/designs"
)

// Whatever keys are pressed in whatever order, the editor goes on, the file
// can be written and read, and undo leads back to the beginning.
func TestRandomKeys(t *testing.T) {
	t.Parallel()
	var names []string
	for _, a := range actions {
		for _, k := range a.keys {
			switch {
			case a.id == "quit", a.id == "save", a.id == "save-as", a.id == "play-save", a.id == "play-run":
				// Files and clocks have tests of their own.
			case k == "a…z" || k == "0…9" || k == "a character":
				names = append(names, "a", "w", "é", "1", "3", "0", "-", "鷺", "\"", "{", "#")
			default:
				names = append(names, k, k)
			}
		}
	}
	texts := [][]byte{designs.HarbourHeron, []byte("format = 1\n"), []byte("format = 1\n[prop]\nname = \"x\"\nboard = \"nowhere\"\n[[state]]\nname = \"a\"\n[[state]]\nname = \"a\"\nkind = \"dormant\"\n[[transition]]\nfrom = \"b\"\non = \"press q\"\nto = \"c\"\n")}
	files, err := fs.Glob(designs.FS, "*.prop.toml")
	require.NoError(t, err)
	for _, name := range files {
		text, err := designs.FS.ReadFile(name)
		require.NoError(t, err)
		texts = append(texts, text)
	}
	seeds := 4
	if testing.Short() {
		seeds = 1
	}
	for i, text := range texts {
		for seed := range seeds {
			t.Run(fmt.Sprintf("design %d, seed %d", i, seed), func(t *testing.T) {
				t.Parallel()
				pressAtRandom(t, text, names, uint64(i), uint64(seed))
			})
		}
	}
}

// pressAtRandom opens a design, presses keys of those named, and takes all
// back.
func pressAtRandom(t *testing.T, text []byte, names []string, i, seed uint64) {
	d, _ := model.Read("x.prop.toml", text)
	require.NotNil(t, d)
	k, err := newDesk(d, filepath.Join(t.TempDir(), "x.prop.toml"))
	require.NoError(t, err)
	before := string(d.Format())
	e := newEditor(nothing(), newTheme(16))
	e.review.Inspect = func(*model.Design) []review.Finding { return nil } // it is asked for below
	e.sit(k)
	screen := tcell.NewSimulationScreen("UTF-8")
	require.NoError(t, screen.Init())
	screen.SetSize([]int{80, 160, 40}[seed%3], []int{24, 50, 10}[seed%3])
	e.app.SetScreen(begun{screen})
	random := rand.New(rand.NewPCG(i, seed))
	keyNames := &scene{t: t}
	var pressed []string
	require.NotPanics(t, func() {
		for n := range 600 {
			name := names[random.IntN(len(names))]
			pressed = append(pressed, name)
			for _, ev := range keyNames.events(name) {
				e.key(ev)
			}
			if n%7 == 0 {
				e.app.ForceDraw()
			}
			if n%50 == 0 { // a check ends
				e.review.Stop()
				e.review.Finish(e.desk.design(), review.Inspect(e.desk.design()))
				e.judged()
			}
		}
	}, "keys %q", pressed)
	e.review.Stop()
	read, err := model.Read("x.prop.toml", e.desk.design().Format())
	require.NotNil(t, read, "%v\n%s", err, e.desk.design().Format())
	for {
		if _, ok := e.desk.draft.Undo(); !ok {
			break
		}
	}
	require.Equal(t, before, string(e.desk.design().Format()))
	require.NoError(t, k.close())
}
