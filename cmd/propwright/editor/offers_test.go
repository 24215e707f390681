package editor

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"propwright/model"
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

// Everything that is offered can be written.
func TestOffersCanBeTaken(t *testing.T) {
	t.Parallel()
	d := newScene(t, 80, 24, 16).design()
	at := model.Elem{Sort: model.SortTransition}
	for _, key := range []string{"from", "on"} {
		all := offers(d, at.Sort, key)
		assert.NotEmpty(t, all)
		for _, s := range all {
			_, err := d.With(at, key, s)
			assert.NoError(t, err, s)
		}
	}
	assert.Empty(t, offers(d, at.Sort, "note"))
	assert.Empty(t, offers(d, model.SortState, "from"))
}
