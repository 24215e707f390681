package editor

import (
	"fmt"
	"strings"
	"testing"

	"github.com/rivo/tview"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

// Where a text or an answer is wanted, a key of another place says why it
// does nothing, and what leads on.
func TestKeysOfOtherPlaces(t *testing.T) {
	t.Parallel()
	newScene(t, 80, 24, 16).keys("Space", "Down", "Enter", "F8").sees("F8 does nothing here: first Enter takes this, or Esc leaves it")
	newScene(t, 80, 24, 16).keys("Ctrl-P", "Ctrl-S").sees("Ctrl-S does nothing here")
	newScene(t, 80, 24, 16).at("wade", "press one").keys("Ctrl-X", "Ctrl-F").sees("Ctrl-F does nothing here")
	s := newScene(t, 80, 24, 16).at("roost", "press one").keys("+", "'Ab", "Ctrl-U").sees("✗does nothing") // it empties the text
	s.do(func() { assert.Empty(t, s.e.over.Top().Input.Text()) })
}

// A question that must be answered offers no key that leaves it.
func TestMustBeAnswered(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	s.do(func() {
		s.e.over.Ask(&pane.Dialog{Title: "yes?", Must: true, Items: []pane.Item{{Text: "yes"}, {Text: "no"}}})
	})
	s.sees("yes?", "✗Esc").keys("Esc").sees("choose one of the answers", "yes?")
	s.keys("F8").sees("F8 does nothing here: first Enter takes this", "✗Esc").keys("Enter")
	noOverlay(s)
}

// All that goes with a deletion is counted where it cannot all be shown.
func TestLongQuestionSaysHowMuchMore(t *testing.T) {
	t.Parallel()
	d := largeDesign(60, 5)
	s := openScene(t, 80, 24, 16, d.Format()).keys("F3", "Down", "Down", "Ctrl-X")
	s.sees("delete button b1?", "lines more", "» delete all that", "keep it")
}

// The wheel moves the cursor of what lies on top.
func TestWheelInAList(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("Ctrl-P").mouse(tview.MouseScrollDown, 5, 5)
	inTheList("actions", 3)(s)
	s.mouse(tview.MouseScrollUp, 40, 20)
	inTheList("actions", 0)(s)
	s.keys("Esc").at("wade", "press one").keys("Ctrl-X").mouse(tview.MouseScrollDown, 5, 5).sees("» keep it")
}

// A name that another has is refused while it is written.
func TestRenameIsJudgedAsItIsWritten(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("wade", "press one").keys("Ctrl-R", "Ctrl-U", "'watch").sees("state watch is there already; choose another name")
	s.keys("'er").sees("✗already", "everything that names it follows").keys("Enter").sees("wade is now watcher")
}

// A requirement's names are judged while it is written, too.
func TestRequirementNamesAreJudged(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	s.do(s.e.panel.addRequire)
	s.sees("one of: reachable STATE; ").keys("'reachable wach").sees(`there is no state "wach"`, `write "watch"`)
}

// The guide's answers can be gone back over, and an output taken away again.
func TestGuideGoesBack(t *testing.T) {
	s := emptyScene(t, "").keys("Enter", "'bird", "Enter", "Enter", "Enter").sees("4 of 6", "Esc back")
	s.keys("'servo", "Enter", "'neck", "Enter", "'switch", "Enter", "'lamp", "Enter").sees("2 outputs so far")
	s.keys("'take lamp", "Enter").sees("one output so far, neck").keys("Enter", "Enter").sees("6 of 6", "neck (servo)", "✗lamp")
	s.keys("Esc").sees("5 of 6").keys("Esc").sees("4 of 6").keys("Esc").sees("3 of 6")
}

// The cautions give way to a high box, and are whole or not there.
func TestCautionsStandClear(t *testing.T) {
	s := emptyScene(t, "").sees("Servos pinch").keys("Enter", "'bird", "Enter", "Enter", "Enter")
	s.keys("'servo", "Enter", "'neck", "Enter").sees("4 of 6", "✗Servos", "✗Unplug")
}

// The two keys that lead to all others are always on the key line.
func TestKeysThatLeadToAllOthers(t *testing.T) {
	t.Parallel()
	for _, id := range viewOrder {
		s := newScene(t, 80, 24, 16).keys(shown[id].keys...).sees("Ctrl-P actions  F1 help")
		if id == inRemote || id == inRig || id == inRoutines {
			s.sees("Ctrl-N add", "Ctrl-S save")
		}
		if id != inHelp {
			s.keys("Enter", "Esc").sees("Ctrl-P actions  F1 help")
		}
	}
}

// A message that one line cannot hold takes more, until the next key.
func TestLongMessage(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	words := strings.Repeat("word ", 30) + "end"
	s.do(func() { s.e.say(words) })
	s.sees("end ").keys("Down").sees("✗word")
	s.do(func() { s.e.say(strings.Repeat("word ", 500)) })
	s.sees("wade") // the view is not covered whole
}

// The details come back to the line from which a part was opened.
func TestPanelComesBack(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F5", "Enter", "End").sees("+ add a cue")
	line := func() (at int) { s.do(func() { at = s.e.panel.at }); return at }
	s.keys("Up", "Up")
	was := line()
	s.keys("Enter").sees("┌─ the cue of").keys("Esc").sees("┌─ routine")
	assert.Equal(t, was, line())
	s.keys("End", "Enter", "Enter").sees("┌─ the cue of").keys("Ctrl-N", "Enter").sees("┌─ the cue of")
	s.keys("Esc").sees("┌─ routine").keys("Esc").sees("✗┌─ routine", "[routines]")
}

// What is moved in a list is told, and stays under the cursor.
func TestMovingInTheDetails(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("watch", "press wander").keys("Enter", "Down", "Down", "Ctrl-U")
	s.sees("is now number").sees("┌─ the transition from watch")
	panelAt("to")(s)
	s.keys("F5", "Enter", "End", "Up")
	cues := len(s.design().Routines[0].Cues)
	s.keys("Ctrl-U").sees(fmt.Sprintf("is now number %d of %d", cues-1, cues))
	s.keys("Ctrl-U").sees(fmt.Sprintf("is now number %d of %d", cues-2, cues))
}

// A performing state and a routine of one name find each other.
func TestRoutineOfAStatesName(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("watch", "press sleep").keys("+", "'bow", "Enter", "Enter").keys("F5", "Ctrl-N", "'bow", "Enter").sees("bow is played by bow")
	s.keys("Ctrl-Z").sees("taken back: add routine bow", "✗bow is played")
	s.keys("Ctrl-Y", "Ctrl-N", "'dip", "Enter").sees("no state plays dip").at("watch", "press wake").keys("+", "'dip", "Enter", "Enter")
	at, ok := s.design().Find(model.SortState, "dip")
	require.True(t, ok)
	assert.Equal(t, "dip", s.design().States[at.Index].Plays)
}

// How a trigger and a requirement can be written stands under the field.
func TestFormsUnderTheField(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("watch", "press wander").keys("Enter", "Down", "Enter")
	s.sees("hold BUTTON for 800ms", "after 20s..40s", "rise INPUT", "fall INPUT")
}

// An element that is gone takes its details along: what it was part of is
// shown, else the view; never what came after it in the list.
func TestDetailsOfWhatIsGone(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F5", "Enter", "End", "Enter").sees("of which output?").keys("Enter").sees("┌─ the cue of")
	s.keys("Ctrl-Z").sees("┌─ routine", "taken back: add the cue")
	s.keys("Home", "End", "Up", "Up", "Enter").sees("┌─ the cue of").keys("Ctrl-X").sees("┌─ routine", "is deleted")
	s.keys("Esc").at("wade", "press one").keys("Space").sees("┌─ state wade").keys("Ctrl-X", "Enter").sees("✗┌─", "[matrix]", "state wade is deleted")
	s.keys("F3", "End", "Ctrl-N", "'hush-2", "Enter", "Enter").sees("┌─ button hush-2").keys("Ctrl-Z").sees("✗┌─", "[remote]")
}

// There may be nothing to bring back.
func TestNothingToRecall(t *testing.T) {
	t.Parallel()
	newScene(t, 80, 24, 16).keys("Space", "Enter", "Ctrl-O").sees("nothing was written and left so far")
}

// A button that does nothing on purpose is not one that nothing is said of.
func TestRemoteTellsSilence(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F3", "Ctrl-N", "'spare", "Enter").sees("nothing yet", "✗on purpose")
	s.at("any", "press spare").keys(".", "F3").sees("nothing, on purpose", "✗nothing yet")
	s.keys("Home").sees("the receiver; Enter changes its pin and the stop button")
}

// A remote's keys may be numbers; states may not.
func TestNamesThatAreNumbers(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16)
	d := s.design()
	require.NoError(t, newName(d, model.SortButton, "7"))
	require.NoError(t, newName(d, model.SortMessage, "1"))
	require.Error(t, newName(d, model.SortState, "7"))
	require.Error(t, newName(d, model.SortButton, "-7"))
	require.NoError(t, differ(model.SortButton, []string{"0", "1", "2"}))

	s.keys("F3", "Ctrl-N").sees("a new button").keys("'7 nec:0x04:0x77", "Enter").sees("7")
	_, there := s.design().Find(model.SortButton, "7")
	require.True(t, there)
}

// Enter opens what says something in a cell, also where that is another line's; of an empty
// cell it asks where it leads, as a double click does.
func TestEnterInTheMatrix(t *testing.T) {
	t.Parallel()
	for _, size := range [][2]int{{80, 24}, {160, 50}} {
		s := newScene(t, size[0], size[1], 16)
		s.at("wade", "press one").keys("Enter").sees("┌─ the transition from any ambient").keys("Esc")
		s.at("roost", "hold wake for 800ms").sees("nothing is said; type a state's name")
		s.keys("Enter").sees("roost, on hold wake for 800ms, goes to").keys("'wade", "Enter")
		assert.Equal(t, "wade", s.says("roost", "hold wake for 800ms"))
		s.at("any dormant", "hold wake for 800ms").keys("Enter").sees("any dormant, on hold wake for 800ms, goes to").keys("Esc")
		s.keys("Space").sees("any dormant is not a state of its own")
	}
}
