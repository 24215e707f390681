package timed

import (
	"runtime"
	"slices"
	"testing"

	"propwright/model"
	"propwright/model/designs"
	"propwright/model/designs/many"
	"propwright/model/machine"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// exploreAll explores a program whose states rest at once.
func exploreAll(p *machine.Program, period uint32) *Space {
	o := &oracle{p: p}
	rest := slices.Repeat([]int64{Never}, len(p.Design.States))
	for s := range rest {
		if o.rests(s) {
			rest[s] = 0
		}
	}
	return Explore(p, Options{Period: period, Rest: rest, Bytes: 1 << 30})
}

// Memory is counted as what is allocated.
func TestMemoryOfAnExploration(t *testing.T) {
	p := machine.Compile(many.Defers(1, 20, 20))
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	x := exploreAll(p, machine.RepeatPeriodNEC)
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
	x := exploreAll(p, machine.RepeatPeriodNEC)
	for i := range x.all.configurations {
		n := &x.all.configurations[i]
		if x.modes[n.state].kind != model.Performing {
			assert.Equal(t, nowhere, n.back)
		}
	}
}

// As many states, as many situations: none of the shapes has more for each state
// in a larger design.
func TestSituationsOfMany(t *testing.T) {
	for _, shape := range many.Shapes {
		of := func(n int) int {
			return exploreAll(machine.Compile(shape.Design(n)), machine.RepeatPeriodNEC).Size().Configurations
		}
		small, large := of(100), of(1000)
		assert.GreaterOrEqual(t, small, 10, shape.Name)
		assert.LessOrEqual(t, large, 11*small, shape.Name)
	}
}
