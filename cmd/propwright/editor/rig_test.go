package editor

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs/odd"
)

// bellBuoy is a design with a sound board that is sent messages; one more of them
// plays something.
func bellBuoy(t *testing.T, w, h int) *scene {
	text, err := os.ReadFile("../../../model/designs/bell-buoy.prop.toml")
	require.NoError(t, err)
	return openScene(t, w, h, 16, []byte(strings.Replace(string(text), "[[output.message]]", "[[output.message]]\nname = \"bells\"\nbytes = \"7E FF 06 03 00 02 EF\"\n\n[[output.message]]", 1)))
}

// A new sound plays what no other does; what it plays is in the list, and chosen
// rather than written.
func TestNewSoundPlaysAFreeMessage(t *testing.T) {
	t.Parallel()
	s := bellBuoy(t, 80, 24).keys("F4").sees("1.5s horn blast")
	s.keys("Ctrl-N", "'sound on horn", "Enter", "'gong", "Enter", "F4")
	track := func() *model.Track { return s.design().Track("gong") }
	assert.Equal(t, model.Play{Output: "horn", Value: "bells"}, track().Play)
	s.sees("1s horn bells").keys("Enter", "Down", "Down", "Down").sees("play         horn bells").keys("Enter").sees("» horn bells", "  horn blast", "  gull", "✗{")
	s.keys("Up", "Enter").sees("play         gull  ")
	assert.Equal(t, model.Play{Output: "gull"}, track().Play)

	s.keys("'horn").sees("which message", "horn blast", "horn bells").keys("Down", "Down", "Enter").sees("play         horn blast  ")
	assert.Equal(t, model.Play{Output: "horn", Value: "blast"}, track().Play)
	s.keys("Down", "'horn be", "Enter").sees("no message").keys("'lls", "Enter").sees("stop         horn bells")
	assert.Equal(t, model.Play{Output: "horn", Value: "bells"}, track().Stop)
	s.keys("'bells", "Enter").sees("stop         bells")
	assert.Equal(t, model.Play{Value: "bells"}, track().Stop)
	s.sees("✗{")
}

// A target of several is written in words, too, and its states are offered.
func TestSeveralTargetsInWords(t *testing.T) {
	t.Parallel()
	s := newScene(t, 80, 24, 16).at("watch", "press wander").keys("Enter", "Down", "Down", "Enter").sees("any of STATE, STATE", "✗{")
	s.keys("Esc", "'any of gree").sees("any of greeting").keys("Down", "Enter").sees("at least two states")
	s.keys("', roos", "Down", "Enter").sees("to           any of ")
}

// So are orders, poses and idle moves.
func TestOrdersInWords(t *testing.T) {
	t.Parallel()
	text, err := odd.FS.ReadFile("orders.prop.toml")
	require.NoError(t, err)
	s := openScene(t, 80, 24, 16, text).at("any ambient", "press left").keys("Enter", "Down", "Down", "Down").sees("do           head by ", "✗{")
	s.keys("Enter", "End", "', lan").sees("lantern toggle", "lantern on", "lantern off").keys("Down", "Enter").sees("lantern toggle", "✗{")
	s.keys("'lantern blue", "Enter").sees("lantern", "stands where true or false is wanted").keys("Esc")
	s.at("watch", "press sleep").keys("Space", "Down", "Down", "Down", "Down", "Down").sees("pose         eyes #102040", "drift        head -20deg..20deg every", "✗{")
	s.keys("'eyes breathe orange period 2s", "Enter").sees("pose         eyes breathe #ffa500 period 2s")
}
