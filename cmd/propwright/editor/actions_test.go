package editor

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

// An effect says how to get to where a key is heard and what must be so once
// it has been pressed.
type effect struct {
	before func(*scene)
	after  func(*scene)
}

func shows(texts ...string) func(*scene) { return func(s *scene) { s.sees(texts...) } }
func keys(names ...string) func(*scene)  { return func(s *scene) { s.keys(names...) } }
func nothingFirst(*scene)                {}

// status fails unless the status line holds a text.
func status(text string) func(*scene) {
	return func(s *scene) {
		s.do(func() { assert.Contains(s.t, s.e.message, text) })
	}
}

// cellSays fails unless a cell of the matrix says a text.
func cellSays(from, on, want string) func(*scene) {
	return func(s *scene) { assert.Equal(s.t, want, s.says(from, on)) }
}

func cursor(s *scene) (r, c int) {
	s.do(func() { r, c = s.e.matrixView().r, s.e.matrixView().c })
	return r, c
}

func cursorAt(r, c int) func(*scene) {
	return func(s *scene) {
		gotR, gotC := cursor(s)
		assert.Equal(s.t, [2]int{r, c}, [2]int{gotR, gotC})
	}
}

func on(from, trigger string) func(*scene) { return func(s *scene) { s.at(from, trigger) } }

func stateDetails(s *scene) { s.at("watch", "press sleep").keys("Space") }

func panelAt(key string) func(*scene) {
	return func(s *scene) {
		s.do(func() {
			l := s.e.panel.lines[s.e.panel.at]
			if assert.NotNil(s.t, l.key) {
				assert.Equal(s.t, key, l.key.Key)
			}
		})
	}
}

func viewIs(id viewID) func(*scene) {
	return func(s *scene) { s.do(func() { assert.Equal(s.t, id, s.e.view) }) }
}

func inTheList(title string, pick int) func(*scene) {
	return func(s *scene) {
		s.do(func() {
			if c := s.e.over.Top(); assert.NotNil(s.t, c) {
				assert.Equal(s.t, title, c.Title)
				assert.Equal(s.t, pick, c.Pick)
			}
		})
	}
}

func noOverlay(s *scene) { s.do(func() { assert.Nil(s.t, s.e.over.Top()) }) }

// spoiled is a scene whose stop button says nothing in some states; what the
// check finds can be played.
func spoiled(s *scene) {
	s.at("any", "press sleep").keys("Del").checked().keys("F7")
	s.do(func() {
		for i, f := range s.e.review.Findings {
			if len(f.Witness) > 0 {
				s.e.views[inFindings].(*findings).At = i
				return
			}
		}
		s.t.Error("nothing is found that can be played")
	})
}

func played(s *scene) *rehearsal.Player {
	var p *rehearsal.Player
	s.do(func() { p = s.e.playView().player })
	require.NotNil(s.t, p)
	return p
}

func inState(state string) func(*scene) {
	return func(s *scene) { assert.Equal(s.t, state, played(s).State()) }
}

// atStart asks what to begin with, in a folder without designs.
func atStart(s *scene) {
	s.t.(*testing.T).Chdir(s.t.TempDir())
	s.do(func() { s.e.files.askStart("") })
}

// effects has every action of the key table.
var effects = map[string]effect{
	"matrix":    {keys("F3"), viewIs(inMatrix)},
	"remote":    {nothingFirst, shows("[remote]", "nec:0x04:0x18", "■ stop")},
	"rig":       {nothingFirst, shows("[rig]", "atmega328p: 10 of 20 pins free", "voice-splash")},
	"routines":  {nothingFirst, shows("[routines]", "squall", "♪ call")},
	"graph":     {nothingFirst, shows("[graph]", "from any state: sleep → roost", "z roost ◂")},
	"findings":  {func(s *scene) { s.checked() }, shows("[findings]", "passes every rule")},
	"rehearsal": {nothingFirst, shows("[rehearse]", "back: roost", "power-up")},
	"help":      {nothingFirst, shows("In the view “matrix”", "✗Servos pinch")},

	"save": {func(s *scene) { s.at("roost", "press one").keys("'watch", "Enter") }, func(s *scene) {
		status("is saved")(s)
		d, err := model.Load(s.file())
		require.NoError(s.t, err)
		assert.Equal(s.t, string(s.design().Format()), string(d.Format()))
		s.sees("✗not saved")
	}},
	"undo": {func(s *scene) { s.at("roost", "press one").keys("'watch", "Enter") }, cellSays("roost", "press one", "(·)")},
	"redo": {func(s *scene) {
		s.at("roost", "press one").keys("'watch", "Enter", "Ctrl-Z")
		cellSays("roost", "press one", "(·)")(s)
	}, cellSays("roost", "press one", "watch")},
	"palette": {nothingFirst, func(s *scene) {
		s.sees("┌─ actions").keys("'behaviour graph", "Enter")
		viewIs(inGraph)(s)
	}},
	"search": {nothingFirst, func(s *scene) { s.keys("'preening", "Enter"); cursorAt(7, 0)(s) }},
	"add": {nothingFirst, func(s *scene) {
		s.keys("'bow", "Enter", "'perf", "Enter")
		at, ok := s.design().Find(model.SortState, "bow")
		require.True(s.t, ok)
		assert.Equal(s.t, model.Performing, s.design().States[at.Index].Kind)
	}},
	"rename": {on("watch", "press one"), func(s *scene) {
		s.keys("'-out", "Enter").sees("watch-out")
		cellSays("roost", "press wake", "watch-out")(s)
	}},
	"duplicate": {on("wade", "press one"), func(s *scene) {
		_, ok := s.design().Find(model.SortState, "wade-2")
		assert.True(s.t, ok)
		cellSays("wade-2", "press wake", "watch")(s)
	}},
	"delete": {on("wade", "press one"), func(s *scene) {
		s.sees("delete state wade?", "With it:").keys("Enter")
		_, ok := s.design().Find(model.SortState, "wade")
		assert.False(s.t, ok)
		s.keys("Ctrl-Z")
		cellSays("wade", "press wake", "watch")(s)
	}},
	"up-list":   {on("wade", "press one"), func(s *scene) { assert.Equal(s.t, "wade", s.design().States[1].Name) }},
	"down-list": {on("watch", "press one"), func(s *scene) { assert.Equal(s.t, "watch", s.design().States[2].Name) }},
	"prop":      {nothingFirst, shows("the prop", "rest_within", "harbour-heron")},
	"save-as": {nothingFirst, func(s *scene) {
		s.keys("'x", "Enter") // after the prop's own name
		names, err := filepath.Glob(filepath.Join(s.dir, "*.prop.tomlx.prop.toml"))
		require.NoError(s.t, err)
		assert.Len(s.t, names, 1)
	}},
	"quit": {func(s *scene) { s.at("roost", "press one").keys("'watch", "Enter") }, func(s *scene) {
		s.sees("leave?", "save them and leave").keys("Down", "Enter")
		noOverlay(s)
	}},

	"quit-asked": {func(s *scene) { s.at("wade", "press one").keys("Ctrl-R", "'r") }, func(s *scene) {
		s.sees("leave?", "What you are writing is in no file yet").keys("Ctrl-C", "Enter").sees("wader", "✗leave?")
	}},
	"quit-steps": {func(s *scene) { atStart(s); s.keys("Enter", "'bird", "Enter") }, func(s *scene) {
		s.sees("leave?").keys("Enter").sees("2 of 6")
	}},
	"quit-field": {func(s *scene) { stateDetails(s); s.keys("Down", "'x") }, func(s *scene) {
		s.sees("leave?").keys("Enter")
		assert.NotNil(s.t, s.e.panel.field)
	}},
	"fix": {nothingFirst, func(s *scene) {
		s.do(func() {
			assert.Contains(s.t, []string{"no finding here says which value to write; F7 shows them all", "the design is being checked; once more in a moment"}, s.e.message)
		})
	}},

	"left":       {on("watch", "press wander"), cursorAt(2, 2)},
	"right":      {on("watch", "press wander"), cursorAt(2, 4)},
	"up":         {on("watch", "press wander"), cursorAt(1, 3)},
	"down":       {on("watch", "press wander"), cursorAt(3, 3)},
	"page-up":    {on("any", "press wander"), cursorAt(0, 3)},
	"page-down":  {on("roost", "press wander"), cursorAt(11, 3)},
	"line-start": {on("watch", "press wander"), cursorAt(2, 0)},
	"line-end":   {on("watch", "press wander"), cursorAt(2, 12)},
	"top":        {on("watch", "press wander"), cursorAt(0, 3)},
	"bottom":     {on("watch", "press wander"), cursorAt(11, 3)},
	"details":    {func(s *scene) { s.keys("F3") }, shows("┌─ the remote", "pin          2")},

	"fill": {on("roost", "press one"), func(s *scene) {
		s.sees("roost, on press one, goes to").keys("'ad", "Enter") // w was the key
		cellSays("roost", "press one", "wade")(s)
	}},
	"ignore": {on("watch", "press wander"), cellSays("watch", "press wander", "·")},
	"defer":  {on("any performing", "press two"), cellSays("any performing", "press two", "striking")},
	"unsay":  {on("watch", "press wander"), cellSays("watch", "press wander", "(·)")},
	"again": {func(s *scene) {
		s.at("roost", "press one").keys("'wade", "Enter").at("roost", "press two")
	}, cellSays("roost", "press two", "wade")},
	"new-state": {on("roost", "press one"), func(s *scene) {
		s.keys("'nap", "Enter", "'dorm", "Enter")
		cellSays("roost", "press one", "nap")(s)
		s.keys("Ctrl-Z") // one edit
		_, ok := s.design().Find(model.SortState, "nap")
		assert.False(s.t, ok)
	}},
	"trigger": {on("wade", "press one"), func(s *scene) {
		s.keys("'7s", "Enter").sees("7s").keys("'roost", "Enter")
		cellSays("wade", "after 7s", "roost")(s)
	}},
	"open": {on("watch", "press wander"), shows("┌─ the transition from watch", "to           wade")},
	"row":  {on("watch", "press wander"), shows("┌─ state watch", "Looking out over the harbour")},

	"panel-up":        {func(s *scene) { stateDetails(s); s.keys("Down", "Down") }, panelAt("kind")},
	"panel-down":      {stateDetails, panelAt("kind")},
	"panel-page-up":   {func(s *scene) { stateDetails(s); s.keys("End") }, func(s *scene) { s.do(func() { assert.Less(s.t, s.e.panel.at, len(s.e.panel.lines)-10) }) }},
	"panel-page-down": {stateDetails, func(s *scene) { s.do(func() { assert.Greater(s.t, s.e.panel.at, 10) }) }},
	"panel-top":       {func(s *scene) { stateDetails(s); s.keys("Down", "Down") }, panelAt("name")},
	"panel-bottom":    {stateDetails, func(s *scene) { s.do(func() { assert.Equal(s.t, len(s.e.panel.lines)-1, s.e.panel.at) }) }},
	"panel-type": {func(s *scene) { stateDetails(s); s.keys("Down", "Down") }, func(s *scene) {
		s.keys("'Awake", "Enter")
		assert.Equal(s.t, "xAwake", s.design().States[1].Label)
	}},
	"panel-open": {func(s *scene) { stateDetails(s); s.keys("Down", "Down") }, func(s *scene) {
		s.keys("'!", "Enter")
		assert.Equal(s.t, "Looking out over the harbour!", s.design().States[1].Label)
	}},
	"panel-clear": {func(s *scene) { stateDetails(s); s.keys("Down", "Down") }, func(s *scene) { assert.Empty(s.t, s.design().States[1].Label) }},
	"panel-leave": {stateDetails, func(s *scene) { s.sees("✗┌─ state watch"); s.do(func() { assert.False(s.t, s.e.inPanel) }) }},

	"accept": {func(s *scene) { stateDetails(s); s.keys("Down", "Down", "Enter", "'!") }, func(s *scene) {
		assert.Equal(s.t, "Looking out over the harbour!", s.design().States[1].Label)
	}},
	"abandon": {func(s *scene) { stateDetails(s); s.keys("Down", "Down", "Enter", "'!") }, func(s *scene) {
		assert.Equal(s.t, "Looking out over the harbour", s.design().States[1].Label)
		s.do(func() {
			assert.Nil(s.t, s.e.panel.field)
			assert.Equal(s.t, "Looking out over the harbour!", s.e.over.Dropped)
		})
	}},
	"fix-field": {func(s *scene) { stateDetails(s); s.keys("Enter") }, shows("no finding here says which value to write")},
	"recall": {func(s *scene) { stateDetails(s); s.keys("Down", "Down", "Enter", "'!", "Esc", "Enter") }, func(s *scene) {
		s.keys("Enter")
		assert.Equal(s.t, "Looking out over the harbour!", s.design().States[1].Label)
	}},
	"new-line": {func(s *scene) {
		s.at("watch", "press sleep").keys("Space", "Enter", "Ctrl-J").sees("only a note and a comment may").keys("Esc")
		s.keys(strings.Split("Down Down Down Down Down Down Down Down 'one", " ")...)
	}, func(s *scene) {
		s.sees("one¶").keys("'two", "Enter")
		assert.Equal(s.t, "one\ntwo", s.design().Value(model.Elem{Sort: model.SortState, Index: 1}, "note"))
	}},
	"choice-up":   {func(s *scene) { stateDetails(s); s.keys("Down", "Enter") }, func(s *scene) { s.sees("» dormant") }},
	"choice-down": {func(s *scene) { stateDetails(s); s.keys("Down", "Enter") }, func(s *scene) { s.sees("» performing") }},

	"chooser-up":        {keys("Ctrl-P", "Down", "Down"), inTheList("actions", 1)},
	"chooser-down":      {keys("Ctrl-P"), inTheList("actions", 1)},
	"chooser-page-up":   {keys("Ctrl-P", "PgDn", "Down"), inTheList("actions", 1)},
	"chooser-page-down": {keys("Ctrl-P"), inTheList("actions", 10)},
	"chooser-take":      {keys("Ctrl-P", "'the rig"), viewIs(inRig)},

	"step-back": {func(s *scene) { atStart(s); s.keys("Enter", "'bird", "Enter").sees("2 of 6", "Esc back") }, shows("1 of 6", "bird")},
	"start-leave": {atStart, func(s *scene) {
		require.NoError(s.t, <-s.ended)
		s.ended <- nil // for the end
		assert.True(s.t, s.e.stopped)
	}},
	"demo": {atStart, func(s *scene) { s.sees("harbour-heron.prop.toml", "the demo, as"); noOverlay(s) }},

	"prompt-take":   {func(s *scene) { s.at("wade", "press one").keys("Ctrl-R", "'r") }, func(s *scene) { assert.Equal(s.t, "wader", s.design().States[2].Name) }},
	"leave":         {func(s *scene) { s.at("wade", "press one").keys("Ctrl-R", "'r") }, func(s *scene) { noOverlay(s); assert.Equal(s.t, "wade", s.design().States[2].Name) }},
	"prompt-recall": {func(s *scene) { s.at("wade", "press one").keys("Ctrl-R", "'r", "Esc", "Ctrl-R") }, shows("wader")},

	"answer-up":   {func(s *scene) { s.at("wade", "press one").keys("Ctrl-X", "Down") }, shows("» delete all that")},
	"answer-down": {func(s *scene) { s.at("wade", "press one").keys("Ctrl-X") }, shows("» keep it")},
	"answer-take": {func(s *scene) { s.at("wade", "press one").keys("Ctrl-X") }, func(s *scene) { noOverlay(s); status("is deleted")(s) }},

	"learn": {keys("F3"), func(s *scene) { s.sees("learn the remote from", "a keymap file").keys("Esc"); noOverlay(s) }},
	"lesson-take": {lessonFrom(necFrame(1)), func(s *scene) {
		s.sees("which button will you press?").keys("Esc")
		assert.Equal(s.t, "nec:0x31:0x01", codeOf(s, "sleep"))
	}},
	"lesson-again": {lessonFrom(necFrame(1), necFrame(2)), func(s *scene) {
		s.awaits("gives sleep the code nec:0x31:0x02").keys("Esc", "Esc")
	}},
	"lesson-leave": {lessonFrom(necFrame(1)), func(s *scene) {
		s.sees("which button will you press?").keys("Esc").sees("nothing is learned")
		assert.Equal(s.t, "nec:0x04:0x08", codeOf(s, "sleep"))
	}},

	"finding-go": {spoiled, func(s *scene) { s.do(func() { assert.NotEqual(s.t, inFindings, s.e.view) }) }},
	"witness": {spoiled, func(s *scene) {
		viewIs(inPlay)(s)
		n := 0
		s.do(func() { n = len(s.e.playView().steps) })
		require.Positive(s.t, n)
		for range n {
			s.keys("n")
		}
		status("this is what was found")(s)
	}},

	"play-press": {keys("F8", "Down"), inState("watch")},
	"play-digit": {keys("F8"), inState("watch")},
	"play-hold": {keys("F8", "2", "n"), func(s *scene) {
		s.do(func() { assert.Equal(s.t, "wake", s.e.playView().held) })
		for range 100 {
			s.keys(".")
		}
		inState("wade")(s)
		s.keys("h")
		s.do(func() { assert.Empty(s.t, s.e.playView().held) })
	}},
	"play-run": {keys("F8"), func(s *scene) {
		require.Eventually(s.t, func() bool {
			now := false
			s.do(func() { now = s.e.playView().player.Now() > 0 })
			return now
		}, waitFor, tick)
		s.keys("Space")
		s.do(func() { assert.False(s.t, s.e.playView().clock.running) })
	}},
	"play-next":   {keys("F8", "2", "4"), func(s *scene) { inState("greeting")(s); s.keys("n"); inState("watch")(s) }},
	"play-frame":  {keys("F8"), func(s *scene) { assert.EqualValues(s.t, 20, played(s).Now().Milliseconds()) }},
	"play-faster": {keys("F8"), shows("paused at 2×")},
	"play-slower": {keys("F8"), shows("paused at 0.5×")},
	"play-anew":   {keys("F8", "2"), inState("roost")},
	"play-expect": {keys("F8", "2"), func(s *scene) {
		lines := played(s).Script().Lines
		assert.Equal(s.t, "expect watch", lines[len(lines)-1].String())
	}},
	"play-prop": {keys("F8"), func(s *scene) { s.sees("write live = true below [prop]") }},
	"play-save": {keys("F8", "2", "e"), func(s *scene) {
		s.keys("'waking", "Enter")
		script, err := rehearsal.Load(rehearsal.File(s.file(), "waking"))
		require.NoError(s.t, err)
		assert.Equal(s.t, machine.Act{Kind: machine.ActPress, Name: "wake"}, script.Lines[0].Act)
		_, misses, err := rehearsal.Run(machine.Compile(s.design()), script)
		require.NoError(s.t, err)
		assert.Empty(s.t, misses)
	}},

	"cue-mark":     {keys("F5", "Down", "Right"), shows("• 0s")},
	"cue-mark-all": {keys("F5", "Down"), shows("• 0s     wheel", "• 2.4s   wheel")},
	"cue-value":    {keys("F5", "Down", "Right", "Down", "Down"), shows("“to” of 1 cue", "2")},
	"cue-shift":    {keys("F5", "Down"), shows("shift 9 cues by")},
	"cue-stretch":  {keys("F5", "Down"), shows("stretch 9 cues to")},
	"cue-snap":     {keys("F5", "Down"), shows("snap 9 cues to a beat of")},
	"cue-copy":     {keys("F5", "Down"), status("9 cues copied")},
	"cue-paste":    {keys("F5", "Down", "c", "Up"), shows("paste 9 into greet, the first at", "3.4s")},
	"cue-field":    {keys("F5", "Down"), shows("set what in 9 cues?")},
	"cue-mirror":   {keys("F5", "Down"), shows("neck           20deg")},
	"cue-voice":    {keys("F5", "Down"), shows("nothing here follows a track")},
	"routine-run": {keys("F5"), func(s *scene) {
		s.byHand(0).passes(600*time.Millisecond).sees("playing 0.600s", "neck 30deg")
	}},
	"routine-loop":     {keys("F5"), func(s *scene) { s.byHand(0).sees("looping 0.000s") }},
	"routine-back":     {keys("F5", ">"), shows("at 0.480s")},
	"routine-on":       {keys("F5"), shows("at 0.020s")},
	"routine-far-back": {keys("F5", ">", "."), shows("at 0.020s")},
	"routine-far-on":   {keys("F5"), shows("at 0.500s")},
	"routine-picture": {keys("F5"), func(s *scene) {
		name := s.design().Routines[0].Name
		text, err := os.ReadFile(strings.TrimSuffix(s.file(), designSuffix) + "." + name + ".svg")
		require.NoError(s.t, err)
		assert.Contains(s.t, string(text), ": "+name+", played from rest")
	}},

	"help-leave": {keys("F5", "F1"), viewIs(inRoutines)},
}

// file is the scene's design file.
func (s *scene) file() string { return filepath.Join(s.dir, "heron.prop.toml") }

// Every key of the key table is pressed where it is heard, and must do what
// the table says.
func TestEveryKey(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	for _, a := range actions {
		ef, ok := effects[a.id]
		if !assert.True(t, ok, "nothing says what %s must do", a.id) {
			continue
		}
		for _, k := range a.keys {
			t.Run(a.id+" "+k, func(t *testing.T) {
				if a.in != inStart && a.in != inSteps { // these change the folder
					t.Parallel()
				}
				s := newScene(t, 80, 24, 16)
				ef.before(s)
				switch k {
				case "a…z":
					k = "w"
				case "0…9":
					k = "2"
				case "a character":
					k = "x"
				}
				s.keys(k)
				ef.after(s)
			})
		}
	}
	assert.Len(t, effects, len(actions))
}

// Ctrl-C leaves at once, also from a dialog, where nothing would be lost.
func TestCtrlCLeaves(t *testing.T) {
	t.Parallel()
	for _, open := range [][]string{nil, {"Ctrl-P"}, {"Ctrl-R"}, {"Space", "Enter"}, {"F8"}} {
		s := newScene(t, 80, 24, 16).keys(open...)
		s.e.app.QueueUpdate(func() { s.e.root.InputHandler()(s.events("Ctrl-C")[0], nil) })
		require.NoError(t, <-s.ended)
		s.ended <- nil // for the end
		assert.True(t, s.e.stopped)
	}
}

// People look for an action by a word of their own.
func TestPaletteFindsActionsByOtherWords(t *testing.T) {
	t.Parallel()
	for word, first := range map[string]string{
		"undo": "take back the last edit", "quit": "leave the editor", "exit": "leave the editor", "save": "save the design  ",
		"copy": "duplicate: a state", "pins": "the rig: outputs", "prop": "the prop itself",
	} {
		newScene(t, 80, 24, 16).keys("Ctrl-P", "'"+word).sees("» " + first)
	}
}

// An action of another view is found too, and leads there.
func TestPaletteLeadsToOtherViews(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("Ctrl-P", "'trim").sees("by hand", "F4 t").keys("Enter")
	s.sees("[rig]", "t: move the servo by hand").keys("t").sees("┌─ move neck by hand")
}

func TestQuitLeaves(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	s.e.app.QueueUpdate(func() { s.e.files.quit() })
	require.NoError(t, <-s.ended)
	s.ended <- nil // for the end
	_, err := os.Stat(s.file())
	require.NoError(t, err)
}

// A new name is not taken for one that only has its letters: Enter offers to
// make it. One that a name begins with is that name.
func TestNewNameIsNotTakenForAnother(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("roost", "press one").keys("'sad").sees("» new state “sad”", "spreading").keys("Enter").sees("state sad is", "an idle life that goes on until something happens")
	s.keys("Esc", "'wad").sees("» wade").keys("Enter")
	assert.Equal(t, "wade", s.says("roost", "press one"))
	s.keys("'any", "Enter").sees("cannot be a state's name").keys("Esc")
	noOverlay(s)
}
