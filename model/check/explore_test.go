package check

import (
	"testing"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/machine"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTooManySituations(t *testing.T) {
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	p := machine.Compile(d)
	_, err = explore(p, machine.RepeatPeriodNEC, 10)
	assert.ErrorIs(t, err, ErrTooLarge)
	assert.ErrorContains(t, err, "over 10")
}

// What a design says again in other words adds no configurations: back matters in
// performing states only, and only where it can be taken.
func TestSituationsOfTheHeron(t *testing.T) {
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	p := machine.Compile(d)
	x, err := explore(p, machine.RepeatPeriodNEC, mostConfigurations)
	require.NoError(t, err)
	for i := range x.all.configurations {
		n := &x.all.configurations[i]
		if x.modes[n.state].kind != model.Performing {
			assert.Equal(t, nowhere, n.back)
		}
	}
}
