package editor

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs"
)

// A scene is an editor that runs on a simulated screen.
type scene struct {
	t      testing.TB
	e      *Editor
	screen tcell.SimulationScreen
	dir    string
	ended  chan error
}

// newScene opens the harbour heron in a folder of its own.
func newScene(t testing.TB, w, h, colours int) *scene {
	t.Helper()
	return openScene(t, w, h, colours, designs.HarbourHeron)
}

// openScene opens a design's text.
func openScene(t testing.TB, w, h, colours int, text []byte) *scene {
	t.Helper()
	dir := t.TempDir()
	file := filepath.Join(dir, "heron.prop.toml")
	require.NoError(t, os.WriteFile(file, text, 0o644))
	b, err := begin(file)
	require.NoError(t, err)
	s := &scene{t: t, dir: dir}
	s.run(w, h, colours, func(e *Editor) { e.files.take(b) })
	return s
}

func (s *scene) run(w, h, colours int, first func(*Editor)) {
	s.e = newEditor(nothing(), newTheme(colours))
	first(s.e)
	s.screen = tcell.NewSimulationScreen("UTF-8")
	require.NoError(s.t, s.screen.Init())
	s.screen.SetSize(w, h)
	s.e.app.SetScreen(begun{s.screen})
	s.ended = make(chan error, 1)
	go func() { s.ended <- s.e.app.Run() }()
	s.do(func() {})
	s.t.Cleanup(s.end)
}

// end stops the editor, if it still runs, and its journal.
func (s *scene) end() {
	s.e.app.Stop()
	select {
	case err := <-s.ended:
		require.NoError(s.t, err)
	case <-time.After(10 * time.Second):
		s.t.Error("the editor does not end")
	}
	s.e.stopClocks()
	require.NoError(s.t, s.e.desk.close())
}

// crash is what the end of the process does to the file's lock.
func (s *scene) crash() *scene {
	s.do(func() { s.e.desk.lock.Release() })
	return s
}

// do does something on the screen's goroutine and draws.
func (s *scene) do(f func()) {
	done := make(chan struct{})
	s.e.app.QueueUpdateDraw(func() { f(); close(done) })
	<-done
}

// keys presses keys by the key table's names; "'text" types a text.
func (s *scene) keys(names ...string) *scene {
	s.t.Helper()
	for _, name := range names {
		for _, ev := range s.events(name) {
			s.do(func() { s.e.root.InputHandler()(ev, nil) })
		}
	}
	return s
}

// events are the key events of a name.
func (s *scene) events(name string) []*tcell.EventKey {
	s.t.Helper()
	if text, ok := strings.CutPrefix(name, "'"); ok {
		var evs []*tcell.EventKey
		for _, r := range text {
			evs = append(evs, tcell.NewEventKey(tcell.KeyRune, r, 0))
		}
		return evs
	}
	mod := tcell.ModMask(0)
	bare := name
	for _, m := range []struct {
		prefix string
		mask   tcell.ModMask
	}{{"Alt-", tcell.ModAlt}, {"Shift-", tcell.ModShift}} {
		if rest, ok := strings.CutPrefix(bare, m.prefix); ok {
			mod, bare = mod|m.mask, rest
		}
	}
	special := map[string]tcell.Key{
		"Up": tcell.KeyUp, "Down": tcell.KeyDown, "Left": tcell.KeyLeft, "Right": tcell.KeyRight, "Home": tcell.KeyHome, "End": tcell.KeyEnd,
		"PgUp": tcell.KeyPgUp, "PgDn": tcell.KeyPgDn, "Ins": tcell.KeyInsert, "Del": tcell.KeyDelete, "Backspace": tcell.KeyBackspace2,
		"Enter": tcell.KeyEnter, "Tab": tcell.KeyTab, "Esc": tcell.KeyEscape,
	}
	if letter, ok := strings.CutPrefix(bare, "Ctrl-"); ok {
		if k, ok := special[letter]; ok {
			return []*tcell.EventKey{tcell.NewEventKey(k, 0, tcell.ModCtrl)}
		}
		return []*tcell.EventKey{tcell.NewEventKey(tcell.KeyCtrlA+tcell.Key(letter[0]-'A'), 0, tcell.ModCtrl)}
	}
	if k, ok := special[bare]; ok {
		return []*tcell.EventKey{tcell.NewEventKey(k, 0, mod)}
	}
	if bare == "Space" {
		return []*tcell.EventKey{tcell.NewEventKey(tcell.KeyRune, ' ', mod)}
	}
	if n, ok := strings.CutPrefix(bare, "F"); ok && n != "" {
		i := slices.Index(strings.Split("1 2 3 4 5 6 7 8 9", " "), n)
		require.GreaterOrEqual(s.t, i, 0, name)
		return []*tcell.EventKey{tcell.NewEventKey(tcell.KeyF1+tcell.Key(i), 0, mod)}
	}
	require.Len(s.t, []rune(bare), 1, "no key is called %q", name)
	return []*tcell.EventKey{tcell.NewEventKey(tcell.KeyRune, []rune(bare)[0], mod)}
}

// mouse does something with the mouse.
func (s *scene) mouse(action tview.MouseAction, x, y int) *scene {
	s.do(func() {
		s.e.root.MouseHandler()(action, tcell.NewEventMouse(x, y, tcell.Button1, 0), nil)
	})
	return s
}

// text is the screen's text.
func (s *scene) text() string {
	var b strings.Builder
	s.do(func() {})
	cells, w, _ := s.screen.GetContents()
	for i, c := range cells {
		b.WriteString(string(c.Runes))
		if i%w == w-1 {
			b.WriteByte('\n')
		}
	}
	return b.String()
}

// sees fails unless the screen shows every text, or, after "✗", does not.
func (s *scene) sees(texts ...string) *scene {
	s.t.Helper()
	screen := s.text()
	for _, text := range texts {
		if no, ok := strings.CutPrefix(text, "✗"); ok {
			require.NotContains(s.t, screen, no)
			continue
		}
		require.Contains(s.t, screen, text)
	}
	return s
}

// design is the design as it is.
func (s *scene) design() *model.Design {
	var d *model.Design
	s.do(func() { d = s.e.desk.design() })
	return d
}

// checked waits until the check has ended.
func (s *scene) checked() *scene {
	s.t.Helper()
	require.Eventually(s.t, func() bool {
		pending := true
		s.e.app.QueueUpdate(func() { pending = s.e.review.Pending })
		return !pending
	}, 20*time.Second, 5*time.Millisecond)
	return s
}

// at puts the matrix's cursor on a cell.
func (s *scene) at(from, on string) *scene {
	s.t.Helper()
	f, err := model.ParseFrom(from)
	require.NoError(s.t, err)
	trigger, err := model.ParseTrigger(on)
	require.NoError(s.t, err)
	s.do(func() {
		s.e.show(inMatrix)
		s.e.matrixView().goTo(f, &trigger)
		s.e.follow()
	})
	return s
}

// says is what a cell says, inherited or not.
func (s *scene) says(from, on string) string {
	s.t.Helper()
	f, err := model.ParseFrom(from)
	require.NoError(s.t, err)
	trigger, err := model.ParseTrigger(on)
	require.NoError(s.t, err)
	g := newGrid(s.design(), nil)
	r, ok := g.rowOf(f)
	require.True(s.t, ok, from)
	c, ok := g.columnOf(trigger)
	if !ok {
		return "no column"
	}
	return g.at(r, c).text()
}

const (
	waitFor = 2 * time.Minute
	tick    = 5 * time.Millisecond
)
