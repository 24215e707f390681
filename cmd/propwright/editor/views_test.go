package editor

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
)

// What each view must show of the harbour heron, at any size.
var shown = map[viewID]struct {
	keys  []string
	texts []string
}{
	inMatrix: {nil, []string{
		"Harbour Heron", "heron.prop.toml", "[matrix]", "8 states", "z roost ◂", "~ watch", "! squalling",
		"ANY DORMANT", "ANY AMBIENT", "ANY PERFORMING", "press", "wander", "(roost)", "·", "(»strikin",
	}},
	inRemote: {[]string{"F3"}, []string{"[remote]", "receiver", "stop button: sleep", "nec:0x04:0x0C", "any ambient → greeting", "hold: watch → wade"}},
	inRig: {[]string{"F4"}, []string{
		"[rig]", "servo -50..50", "spinner 0.8rev/s", "pixels ×24", "2.4s voice-call", "6 V 5000 mA",
		"10 of 20 pins free", "receiver ┤ 2", "11 ├wheel", "free ┤ 3", "voice-stop ┤ 7", "RX", "SDA", "pin 9 is PB1, OC1A",
	}},
	inRoutines: {[]string{"F5", "Down"}, []string{
		"[routines]", "strike        3.6s", "♪ splash", "for 1.6s", "chase  #60c0ff", "┬1s", "┬2s", "█", "▬", "strike is played by striking",
	}},
	inGraph:    {[]string{"F6"}, []string{"[graph]", "from any state: sleep → roost", "z roost ◂", "~ watch", "─wake─▶│", "hush, after 90s → roost"}},
	inFindings: {[]string{"F7"}, []string{"[findings]", "passes every rule"}},
	inPlay: {[]string{"F8", "2", "4"}, []string{
		"[rehearse]", "1 sleep ■", "! greeting", "performing for 0.000s", "back: watch", "paused", "neck", "├", "●", "┤", "wheel", "rev/s", "voice-call",
		"press one", "→ greeting", "power-up",
	}},
	inHelp: {[]string{"F1", "Home"}, []string{"Take care", "Servos pinch", "their own supply", "Everywhere"}},
}

func TestViews(t *testing.T) {
	t.Parallel()
	for _, size := range []struct{ w, h int }{{80, 24}, {160, 50}} {
		for _, id := range viewOrder {
			t.Run(fmt.Sprintf("%s at %d×%d", id, size.w, size.h), func(t *testing.T) {
				t.Parallel()
				s := newScene(t, size.w, size.h, 16).checked()
				s.keys(shown[id].keys...)
				s.sees(shown[id].texts...)
				if size.w >= wide && id != inHelp {
					s.sees("┌─ ") // the details stand beside
				}
				s.sees("F1 help")
				for i, line := range strings.Split(strings.TrimSuffix(s.text(), "\n"), "\n") {
					assert.Equal(t, size.w, pane.Width(line), "line %d: %q", i, line)
				}
			})
		}
	}
}

// Colour says nothing alone: every view reads the same without.
func TestViewsWithoutColour(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	for _, id := range viewOrder {
		read := func(colours int) string {
			s := newScene(t, 80, 24, colours).checked()
			s.at("any performing", "press two")
			return s.keys(shown[id].keys...).text()
		}
		plain := read(0)
		assert.Equal(t, plain, read(16), id)
		assert.Equal(t, plain, read(1<<24), id)
	}
}

// Without colour the cursor and what is wrong stand out by attributes.
func TestThemesWithoutColourHaveNone(t *testing.T) {
	t.Parallel()
	th := newTheme(0)
	for _, s := range []tcell.Style{th.Plain, th.Dim, th.Bar, th.Cursor, th.Errs, th.Warning, th.Inherited, th.Field, th.kinds[model.Ambient]} {
		fg, bg, _ := s.Decompose()
		assert.False(t, fg.Valid())
		assert.False(t, bg.Valid())
	}
	assert.NotEqual(t, th.Plain, th.Cursor)
	assert.NotEqual(t, th.Plain, th.Errs)
	assert.NotEqual(t, th.Plain, th.Inherited)
	assert.NotEqual(t, th.Cursor, th.CursorIdle)
}

func TestSmallScreenSaysSo(t *testing.T) {
	t.Parallel()
	newScene(t, 30, 8, 16).sees("too small; 80 × 24")
}

func TestResize(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F4").sees("✗┌─ output")
	s.screen.SetSize(160, 50)
	s.sees("┌─ output neck")
	s.keys("Enter") // into the panel
	s.screen.SetSize(80, 24)
	s.do(func() { s.e.leavePanel() })
	s.sees("F8 rehearse", "[rig]", "✗┌─ output")
	s.screen.SetSize(60, 24)
	s.sees("matrix  remote [rig] routines ", " rehearse ", "✗F8 rehearse")
}

func TestMouse(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	line := func(text string) (x, y int) {
		for y, l := range strings.Split(s.text(), "\n") {
			if i := strings.Index(l, text); i >= 0 {
				return pane.Width(l[:i]), y
			}
		}
		t.Fatalf("%q is not on the screen", text)
		return 0, 0
	}
	x, y := line("wade  ")
	s.mouse(tview.MouseLeftDown, x, y)
	s.do(func() { assert.Equal(t, "watch", s.e.matrixView().row().from.State) })
	s.do(func() { assert.Equal(t, "hold wake for 800ms", s.e.matrixView().trigger().String()) })
	s.mouse(tview.MouseLeftDown, x+1, y).mouse(tview.MouseLeftDoubleClick, x+1, y).sees("✗┌─ the transition") // two places
	s.mouse(tview.MouseLeftDown, x+1, y).mouse(tview.MouseLeftDoubleClick, x+1, y).sees("┌─ the transition from watch")
	s.keys("Left")
	x, y = line("routines")
	s.mouse(tview.MouseLeftDown, x, y).sees("[routines]")
	x, y = line("squall")
	s.mouse(tview.MouseLeftDown, x, y).sees("squall is played by")
	s.mouse(tview.MouseScrollUp, 5, 5).sees("strike is played by") // three up of five
	s.keys("F8")
	x, y = line("2 wake")
	s.mouse(tview.MouseLeftDown, x, y)
	assert.Equal(t, "watch", played(s).State())
	s.mouse(tview.MouseLeftDown, x, y).mouse(tview.MouseLeftDoubleClick, x, y)
	assert.Len(t, played(s).Script().Lines, 2, "a double click is two presses")
	s.keys("Ctrl-P")
	x, y = line("the state–event matrix")
	s.mouse(tview.MouseLeftDown, x, y).sees("[matrix]")
}

// The key line can be clicked, and a click elsewhere keeps what was written.
func TestMouseOnTheKeyLine(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	press := func(text string) *scene {
		for y, l := range strings.Split(s.text(), "\n") {
			if i := strings.LastIndex(l, text); i >= 0 && y == 23 {
				return s.mouse(tview.MouseLeftDown, pane.Width(l[:i])+1, y)
			}
		}
		t.Fatalf("%q is not on the key line", text)
		return s
	}
	s.at("watch", "press wander")
	press(". ignore")
	assert.Equal(t, "·", s.says("watch", "press wander"))
	press("F1 help").sees("In the view “matrix”").keys("Home").sees("Take care")
	press("Esc back").sees("[matrix]")
	press("Ctrl-P actions").sees("┌─ actions")
	press("Esc change nothing")
	noOverlay(s)
	s.keys("Space", "Down", "Down", "'Lurking").sees("label        Lurking").mouse(tview.MouseLeftDown, 12, 1).sees("[remote]", "brings back what you wrote")
	s.do(func() { assert.Nil(t, s.e.panel.field) })
	s.keys("F2", "Space", "Down", "Down", "Enter", "Ctrl-O").sees("label        Lurking")
}

func TestScrollingKeepsHeadings(t *testing.T) {
	t.Parallel()
	s := openScene(t, 80, 24, 16, largeDesign(200, 40).Format())
	s.keys("Alt-Down", "End").sees("press", "b37", "ANY", "‹ more", "✗b0 ")
	s.keys("Up", "Up", "Up").sees("s199")
	s.keys("Alt-Up", "Home").sees("s0 ", "b0 ", "✗~ s199")
	for range 3 {
		s.keys("PgDn")
	}
	r, _ := cursor(s)
	assert.Equal(t, 3*16, r)
	s.sees("b0 ")
}

// A marked cell and a marked line lead to the finding, and Enter there leads
// back.
func TestFindingsAreMarked(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("roost", "press wake").keys("Del").checked()
	s.sees("▸z roost", "errors").keys("F7").sees("error dead-end", "error unreachable-state", "What to do:")
	s.keys("Enter").sees("[matrix]", "roost")
	s.keys("Ctrl-Z").checked().sees("no errors", "✗▸z")
	// Where there is no room for the details, the cell tells what is wrong with its line.
	newScene(t, 80, 24, 16).at("watch", "press sleep").keys(".").checked().sees("ignored on purpose", `▸ the stop button "sleep" does nothing in state "watch"`)
}

// An older check has nothing to say once there is a newer design.
func TestOldCheckIsNotHeard(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).checked()
	s.at("roost", "press wake").keys("Del", "Ctrl-Z").checked()
	s.do(func() {
		for _, f := range s.e.review.Findings {
			assert.NotEqual(t, check.Error, f.Severity, f.Message)
		}
		assert.Same(t, s.e.desk.design(), s.e.review.Of)
	})
}

func TestErrorsUnderTheField(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	stateDetails(s)
	for range 6 {
		s.keys("Down")
	}
	panelAt("over")(s)
	s.keys("'fast", "Enter").sees(`"fast" is not a time`, "over         fast") // it stays to be mended
	assert.Equal(t, "800ms", s.design().Value(model.Elem{Sort: model.SortState, Index: 1}, "over"))
	for range 4 {
		s.keys("Backspace")
	}
	s.keys("'0.5s", "Enter").sees("✗no time")
	assert.Equal(t, "500ms", s.design().Value(model.Elem{Sort: model.SortState, Index: 1}, "over"))
}

// A name that cannot be a state's is refused, and what was written stays.
func TestNewStateNeedsAName(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("roost", "press one").keys("+", "'Big Bird", "Enter")
	s.sees("is not a name", "Big Bird")
	s.keys("Esc", "+", "Ctrl-O").sees("Big Bird")
}

func TestSplitTransition(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("watch", "press wander").keys("'roost", "Enter")
	assert.Equal(t, "roost", s.says("watch", "press wander"))
	assert.Equal(t, "wade", s.says("watch", "hold wake for 800ms"), "the other trigger of the transition stays")
}

// A design that cannot be built yet is opened all the same, and mended.
func TestUnfinishedDesign(t *testing.T) {
	t.Parallel()
	s := openScene(t, 80, 24, 16, []byte("format = 1\n[prop]\nname = \"x\"\nboard = \"atmega328p\"\n[remote]\npin = 2\nstop = \"off\"\n[[remote.button]]\nname = \"off\"\ncode = \"nec:0x04:0x08\"\n")).checked()
	s.sees("1 unfinished").keys("F7").sees("the design has no state", "What to do:")
	s.keys("F8").sees("cannot be rehearsed yet", "[[state]]")
	s.keys("F6").sees("no state yet").keys("F5").sees("no routine yet")
	s.keys("F2", "Ctrl-N", "'roost", "Enter", "'dormant", "Enter").checked().sees("✗unfinished", "z roost ◂")
}

// A file that another hand changes is noticed while nobody does anything.
func TestChangedOnDiskWhileIdle(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).checked()
	stop := s.e.files.watchDisk(10 * time.Millisecond)
	defer stop()
	other := strings.Replace(string(s.design().Format()), "Harbour Heron", "Another Hand", 1)
	require.NoError(t, os.WriteFile(s.file(), []byte(other), 0o644))
	require.Eventually(t, func() bool {
		told := ""
		s.do(func() { told = s.e.desk.told })
		return told == "CHANGED ON DISK: Ctrl-S asks"
	}, 10*time.Second, 20*time.Millisecond)
	s.sees("CHANGED ON DISK")
}

// What is wrong with a requirement is said while it is written.
func TestRequirementIsJudgedAsItIsWritten(t *testing.T) {
	t.Parallel()
	s := newScene(t, 160, 50, 16).checked()
	s.do(s.e.panel.addRequire)
	s.keys("'reachabel watch").sees("reachable")
	s.keys("Esc")
	s.do(s.e.panel.addRequire)
	s.keys("'reachable watch", "Enter").checked()
	require.Len(t, s.design().Requires, 1)
	require.Equal(t, "reachable watch", s.design().Requires[0].That)
	s.keys("Ctrl-Z")
	require.Empty(t, s.design().Requires)
}

func TestChangedOnDisk(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	other := strings.Replace(string(s.design().Format()), "Harbour Heron", "Another Hand", 1)
	require.NoError(t, os.WriteFile(s.file(), []byte(other), 0o644))
	s.at("roost", "press one").keys("'watch", "Enter").checked().sees("CHANGED ON DISK")
	s.keys("Ctrl-S").sees("the file has changed on disk", "overwritten.")
	text, err := os.ReadFile(s.file())
	require.NoError(t, err)
	require.Equal(t, other, string(text))
	s.keys("Down", "Enter").sees("Another Hand") // take it from disk
	s.keys("Ctrl-Z").sees("Harbour Heron", "not saved")
	assert.Equal(t, "watch", s.says("roost", "press one"))
	require.NoError(t, os.WriteFile(s.file(), []byte(other+"\n"), 0o644))
	s.keys("Ctrl-S", "Down", "Down", "Enter").sees("is saved")
	text, err = os.ReadFile(s.file())
	require.NoError(t, err)
	assert.Equal(t, string(s.design().Format()), string(text))
}

func TestRecovery(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("roost", "press one").keys("'watch", "Enter").crash()
	var b beginning
	require.Eventually(t, func() bool {
		var err error
		b, err = begin(s.file())
		if err == nil && b.lost == nil {
			b.desk.lock.Release()
		}
		return err == nil && b.lost != nil
	}, waitFor, tick)
	again := &scene{t: t, dir: s.dir}
	again.run(80, 24, 16, func(e *Editor) { e.files.take(b) })
	again.sees("bring back what was not saved?")
	again.keys("Esc").sees("choose one of the answers")
	again.keys("Enter").sees("not saved")
	assert.Equal(t, "watch", again.says("roost", "press one"))
	again.keys("Ctrl-Z")
	assert.Equal(t, "(·)", again.says("roost", "press one"))
}

// Undo goes back to the beginning, redo to the end, whatever was done.
func TestUndoIsWithoutLimit(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	s := newScene(t, 80, 24, 16)
	before := string(s.design().Format())
	for i := range 60 {
		s.at("roost", "press one").keys([]string{".", "w", "Del"}[i%3])
		if i%3 == 1 {
			s.keys("'atch", "Enter")
		}
	}
	s.at("watch", "press one").keys("Ctrl-R", "'2", "Enter")
	after := string(s.design().Format())
	for range 80 {
		s.keys("Ctrl-Z")
	}
	assert.Equal(t, before, string(s.design().Format()))
	s.sees("nothing to take back", "✗not saved")
	for range 80 {
		s.keys("Ctrl-Y")
	}
	assert.Equal(t, after, string(s.design().Format()))
}

// An edit during a rehearsal is rehearsed at once.
func TestRehearsalFollowsEdits(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F8", "2", "4").sees("! greeting")
	s.at("any ambient", "press one").keys("'strik", "Enter", "F8").sees("! striking", "was done again")
}

// largeDesign has so many states and triggers; every state answers some.
func largeDesign(states, triggers int) *model.Design {
	d := &model.Design{Prop: model.Prop{Name: "large", Label: "Large", Board: "atmega328p", RestWithin: 3e9}, Remote: model.Remote{Pin: 2, Stop: "b0"}}
	for i := range triggers - 1 { // done is one too
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: fmt.Sprintf("b%d", i), Code: fmt.Sprintf("nec:0x04:0x%02x", i)})
	}
	for i := range states {
		s := model.State{Name: fmt.Sprintf("s%d", i), Kind: model.Ambient}
		if i == 0 {
			s.Kind = model.Dormant
		}
		d.States = append(d.States, s)
	}
	press := func(i int) []model.Trigger { return []model.Trigger{{Kind: model.Press, Name: fmt.Sprintf("b%d", i)}} }
	for i := range states {
		for k := 1; k < triggers-1; k++ {
			if (i*7+k*3)%5 == 0 {
				continue // not said
			}
			d.Transitions = append(d.Transitions, model.Transition{
				From: []model.From{{State: fmt.Sprintf("s%d", i)}}, On: press(k), To: fmt.Sprintf("s%d", (i*13+k*29+1)%states),
			})
		}
	}
	d.Transitions = append(d.Transitions, model.Transition{From: []model.From{{State: model.Any}}, On: press(0), To: "s0"})
	return d
}

// Enter on a finding goes to what it is about, also to what no view shows,
// says what to do, and Esc leads back to the findings.
func TestFindingOfARequirement(t *testing.T) {
	t.Parallel()
	for _, size := range []struct{ w, h int }{{80, 24}, {160, 50}} {
		s := newScene(t, size.w, size.h, 16)
		s.do(s.e.panel.addRequire)
		s.keys("'wade within 1s after press one", "Enter", "Esc").checked().keys("F7")
		s.sees("error requirement", "is broken").keys("Enter")
		s.sees("┌─ the requirement", "that         wade within 1s after press one", "What to do: ")
		s.do(func() {
			assert.True(t, s.e.inPanel)
			assert.Equal(t, model.SortRequire, s.e.panel.elem.Sort)
		})
		s.keys("Esc").sees("[findings]", "error requirement")
		s.do(func() { assert.False(t, s.e.inPanel) })
	}
}

// The details are open at the key that a finding is about.
func TestFindingPointsAtItsKey(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F4", "Down", "Enter", "Down", "Down", "'9", "Enter").checked().keys("F7").sees("error pin-clash")
	s.keys("Enter").sees("[rig]", "▸beak").keys("Enter").sees("┌─ output beak")
	panelAt("pin")(s)
}

// What stops a build stands first.
func TestFindingsAreSorted(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F5", "Ctrl-N", "'idle", "Enter").at("roost", "press wake").keys("Del").checked()
	s.do(func() {
		all := s.e.review.Findings
		require.Greater(t, len(all), 2)
		for i := range all[1:] {
			assert.LessOrEqual(t, all[i].Severity, all[i+1].Severity)
		}
		assert.Equal(t, check.Warning, all[len(all)-1].Severity)
	})
}

// A list that is longer than the screen says so at its side.
func TestMoreIsMarked(t *testing.T) {
	t.Parallel()
	s := openScene(t, 80, 24, 16, largeDesign(60, 40).Format()).checked()
	for _, key := range []string{"F2", "F3", "F7", "F1", "Ctrl-P", "Space"} {
		s.keys("F2", "Alt-Up", key)
		if key == "F1" {
			s.keys("Home")
		}
		s.sees("▼", "✗▲")
		switch key {
		case "Ctrl-P":
			s.keys("PgDn", "PgDn", "PgDn", "PgDn", "PgDn", "PgDn").sees("▲").keys("Esc")
			continue // what lies below has marks of its own
		case "F2":
			s.keys("Alt-Down")
		default:
			s.keys("End")
		}
		s.sees("▲", "✗▼").keys("Esc")
	}
	newScene(t, 80, 24, 16).keys("F4").sees("✗▼", "✗▲")
}

// A chip of many pins scrolls to the one under the cursor; what is wrong with
// a pin stays on the screen.
func TestChipOfManyPins(t *testing.T) {
	t.Parallel()
	text := strings.NewReplacer("atmega328p", "atmega2560", "pin = 8\n", "pin = 30\n", "pin = 12\n", "pin = 51\n").Replace(string(designs.HarbourHeron))
	s := openScene(t, 80, 24, 16, []byte(text)).keys("F4").sees("neck ┤ 9", "pin 9 is PH6", "▼", "IN4", "✗IN…", "✗┤ 30")
	s.keys("Down", "Down", "Down", "Down", "Down").sees("water ┤ 30", "pin 30 is PC7", "▲")
	s.keys("Down", "Down").sees("51 ├voice-splash", "pin 51 is PB2", "✗┤ 30")
	s.keys("Home").sees("neck ┤ 9", "pin 9 is PH6")
	openScene(t, 160, 50, 16, []byte(text)).keys("F4").sees("neck ┤ 9", "water ┤ 30", "51 ├voice-splash", "✗▼")
}

// Home and End lead to the first and last line where there are no columns.
func TestHomeAndEnd(t *testing.T) {
	t.Parallel()
	for key, ends := range map[string][2]string{
		"F3": {"the remote", "button hush"}, "F4": {"output neck", "the prop"}, "F1": {"Take care", "performing: a routine plays"},
	} {
		s := newScene(t, 80, 24, 16).keys(key, "End").sees(ends[1])
		s.keys("Home").sees(ends[0])
	}
}

// The details beside the rehearsal are those of the state that a digit has
// led to.
func TestDetailsFollowTheRehearsal(t *testing.T) {
	t.Parallel()
	newScene(t, 160, 50, 16).keys("F8").sees("┌─ state roost").keys("2").sees("┌─ state watch")
}

// The lesson's box stays where it is while presses come in, and at every size
// without colour its words say what is going on.
func TestLessonStaysInPlace(t *testing.T) {
	t.Parallel()
	for _, size := range []struct{ w, h int }{{80, 24}, {160, 50}} {
		s := newScene(t, size.w, size.h, 0)
		lessonFrom(necFrame(1)[:9], necFrame(1)[:9], necFrame(1))(s)
		box := func() (before string) { // the screen above it may say that the check is done meanwhile
			before, _, _ = strings.Cut(s.text(), "┌─ learn sleep")
			return fmt.Sprint(strings.Count(before, "\n"), " ", pane.Width(before[strings.LastIndexByte(before, '\n')+1:]))
		}
		at := box()
		s.sees("» Enter gives sleep the code nec:0x31:0x01").keys("r").awaits("No more presses come.")
		assert.Equal(t, at, box())
		for i, line := range strings.Split(strings.TrimSuffix(s.text(), "\n"), "\n") {
			assert.Equal(t, size.w, pane.Width(line), "line %d: %q", i, line)
		}
	}
}

// The sketch for a board to listen is written from here, for the design's pin.
func TestCaptureSketch(t *testing.T) {
	t.Parallel()
	s := newScene(t, 160, 50, 16).keys("F3", "l", "'capture", "Enter").sees("the sketch is in", "receiver on pin 2")
	text, err := os.ReadFile(filepath.Join(s.dir, "capture", "capture.ino"))
	require.NoError(t, err)
	assert.Contains(t, string(text), "2")
	noOverlay(s)
}

// A cell can ask something of an output; its details show how, and say it in a sentence.
func TestCellWithOrders(t *testing.T) {
	s := newScene(t, 120, 40, 16).at("watch", "press wander").keys("'do neck", "Enter")
	cellSays("watch", "press wander", "/neck by 5deg")(s)
	s.at("watch", "press wander").keys("Enter").sees("its state goes on: neck by 5deg", "add an order")
	tr := s.design().Transitions
	i := slices.IndexFunc(tr, func(t model.Transition) bool { return len(t.Do) > 0 })
	require.GreaterOrEqual(t, i, 0)
	assert.Equal(t, model.Degrees(5), tr[i].Do[0].By)
	s.at("watch", "press wander").keys(".")
	cellSays("watch", "press wander", "·")(s)
}
