package editor

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
)

func TestCompleted(t *testing.T) {
	t.Parallel()
	all := model.KeyValue{Choices: []string{"watch", "wade", "any"}, Heads: []string{"one of "}}
	assert.Equal(t, []string{"one of watch", "one of wade"}, completed("one of wa", all))
	assert.Equal(t, []string{"one of watch, wade"}, completed("one of watch, wad", all))
	assert.Equal(t, []string{"watch", "wade"}, completed("wa", all))
	assert.Equal(t, []string{"any, wade"}, completed("any,wad", all))
	assert.Equal(t, []string{"any, watch", "any, wade", "any, any"}, completed("any, ", all))
	assert.Empty(t, completed("any, zz", all))
}

// The states and triggers of a transition are offered while they are written,
// the next of a list too, and what is offered can be taken.
func TestOffers(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("watch", "press wander").keys("Enter", "'any am").sees("any ambient")
	s.keys("Down", "Enter").sees("from         any ambient  ")
	s.keys("Enter", "', gree").sees("any ambient, greeting").keys("Down", "Enter").sees("from         any ambient, greeting  ")
	s.keys("Down", "'rel", "Down", "Enter").sees("on           release sleep  ")
}

// A value that is refused, and what it nearly is.
func TestEnterTakesTheNearestValue(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).keys("F4", "Enter", "Down", "Down", "Down", "Down", "Down", "Down", "'-12").sees(`"-12" has no unit`, "Enter takes -12deg")
	s.keys("Enter").sees("max          -12deg").keys("'abc").sees("is not an angle", "✗Enter takes").keys("Enter").sees("is not an angle")
}

// tooFast is the design of the rule, with the cursor on the cue that is too fast.
func tooFast(t *testing.T, w, h int) *scene {
	text, err := os.ReadFile("../../../model/designs/rules/too-fast.prop.toml")
	require.NoError(t, err)
	return openScene(t, w, h, 16, text).keys("F5", "Right", "Down", "Down").checked()
}

// What is found is said where it is, while it is written too, and the value that
// ends it takes one key.
func TestFindingsAtTheirField(t *testing.T) {
	t.Parallel()
	s := tooFast(t, 80, 24).sees("it needs 393ms at the least", "Ctrl-T writes over = 393ms", "g play", "m mirror")
	s.keys("Ctrl-T").sees("over of the cue of greet at 3s is now 393ms").checked().keys("Up", "Down").sees("✗at the least", "no errors")

	s.keys("Enter", "Down", "Down", "Down", "Down", "'200ms").awaits("Ctrl-T writes over = 393ms").keys("Ctrl-T").sees("over         393ms", "✗at the least")
	s.keys("Ctrl-T").sees("no finding here says which value to write").keys("Ctrl-U", "'200ms").awaits("it needs 393ms at the least")
	s.keys("Enter").checked().sees("over         200ms", "it needs 393ms at the least", "Ctrl-T writes over = 393ms")
	s.keys("Ctrl-T").checked().sees("over         393ms", "✗at the least")

	s.keys("Esc", "Ctrl-Z", "F7").checked().keys("Ctrl-T").sees("over of the cue of greet at 3s is now 393ms")
	s.checked().keys("Ctrl-T").sees("no finding here says which value to write")
}

func TestFindingsBesideTheView(t *testing.T) {
	t.Parallel()
	tooFast(t, 160, 50).sees("it needs", "Ctrl-T writes over = 393ms", "the cue of greet at 3s; Enter changes it")
}
