package check

import (
	"runtime"
	"testing"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/designs/many"
	"propwright/model/machine"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTooManySituations(t *testing.T) {
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	p := machine.Compile(d)
	_, err = explore(p, machine.RepeatPeriodNEC, 1000)
	assert.ErrorIs(t, err, ErrTooLarge)
	assert.ErrorContains(t, err, "states have been reached; use fewer transitions that defer")
}

// Where there is no memory for all that can come about, the rules that need not
// know it are applied, and the others are named.
func TestWhatIsVerifiedWithoutMemory(t *testing.T) {
	d := many.Ring(300)
	all, err := explore(machine.Compile(d), machine.RepeatPeriodNEC, mostBytes)
	require.NoError(t, err)
	for _, most := range []int{all.kept / 10, all.kept} { // for a part, and for all but what follows the stop button
		s := NewStudy(d)
		s.most = most
		found, err := s.Check(Rules())
		require.ErrorIs(t, err, ErrTooLarge)
		assert.Regexp(t, `not verified: unreachable-state, dead-end, trap, no-stop, slow-stop, instant-loop, shadowed-timer, never-rests, unhandled-button, restless-rest, requirement, wind-up; what the other rules say is verified; use fewer .* begin with state "s0", which is in 1 of`, err)
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

// Memory is counted as what is allocated.
func TestMemoryOfAnExploration(t *testing.T) {
	p := machine.Compile(many.Defers(1, 20, 20))
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	x, err := explore(p, machine.RepeatPeriodNEC, mostBytes)
	require.NoError(t, err)
	runtime.GC()
	runtime.ReadMemStats(&after)
	assert.InEpsilon(t, after.HeapAlloc-before.HeapAlloc, x.kept, 0.4)
	assert.Len(t, x.all.configurations, 20+20*20*21)
}

// What a design says again in other words adds no configurations: back matters in
// performing states only, and only where it can be taken.
func TestSituationsOfTheHeron(t *testing.T) {
	d, err := model.Read("harbour-heron.prop.toml", designs.HarbourHeron)
	require.NoError(t, err)
	p := machine.Compile(d)
	x, err := explore(p, machine.RepeatPeriodNEC, mostBytes)
	require.NoError(t, err)
	for i := range x.all.configurations {
		n := &x.all.configurations[i]
		if x.modes[n.state].kind != model.Performing {
			assert.Equal(t, nowhere, n.back)
		}
	}
}
