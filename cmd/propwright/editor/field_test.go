package editor

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCompleted(t *testing.T) {
	t.Parallel()
	all := []string{"watch", "wade", "any"}
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
