package check

import (
	"testing"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/designs/many"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTooManySituations(t *testing.T) {
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	s := NewStudy(d)
	s.options.Bytes = 1000
	_, err = s.Check(nil)
	assert.NoError(t, err)
	_, err = s.Rest()
	assert.ErrorIs(t, err, ErrTooLarge)
	assert.ErrorContains(t, err, "states have been reached; use fewer transitions that defer")
}

// Where there is no memory for all that can come about, the rules that need not
// know it are applied, and the others are named.
func TestWhatIsVerifiedWithoutMemory(t *testing.T) {
	d := many.Ring(300)
	x, err := explored.Of(NewStudy(d))
	require.NoError(t, err)
	all := x.Size().Bytes
	for _, most := range []int{all / 10, all} { // for a part, and for all but what follows the stop button
		s := NewStudy(d)
		s.options.Bytes = most
		found, err := s.Check(Rules())
		require.ErrorIs(t, err, ErrTooLarge)
		assert.Regexp(t, `not verified: unreachable-state, dead-end, trap, no-stop, slow-stop, instant-loop, shadowed-timer, never-rests, unhandled-button, order-at-rest, restless-rest, requirement, wind-up, unsilenced-sound; what the other rules say is verified; use fewer .* begin with state "s0", which is in 1 of`, err)
		require.Len(t, found, 1, "%v", found)
		assert.Equal(t, "silent-state", found[0].Rule)
		assert.Len(t, found[0].States, 299)
		assert.NotEmpty(t, found[0].Witness)
		_, err = s.Rest()
		assert.ErrorIs(t, err, ErrTooLarge)
		_, err = s.Check(rigRules[:3])
		assert.NoError(t, err)
	}
}
