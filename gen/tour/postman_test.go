package tour

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/random"
)

// cost sums a walk's, and requires that it is closed and takes what is needed.
func cost(t require.TestingT, arcs []arc, walk []int) (sum int64) {
	at := 0
	taken := map[int]bool{}
	for _, i := range walk {
		require.Equal(t, at, arcs[i].from)
		at, taken[i], sum = arcs[i].to, true, sum+arcs[i].cost
	}
	require.Zero(t, at, "back at the start")
	for i, a := range arcs {
		require.True(t, !a.need || taken[i], "arc %d is taken", i)
	}
	return sum
}

// Thimbleby's worked example (from memory): six arcs of cost 1, a walk of 10.
func TestThimblebysExample(t *testing.T) {
	arcs := []arc{{0, 1, 1, true}, {0, 2, 1, true}, {1, 2, 1, true}, {1, 3, 1, true}, {2, 3, 1, true}, {3, 0, 1, true}}
	assert.EqualValues(t, 10, cost(t, arcs, postman(4, arcs)))
}

// Parts that do not hang together are joined.
func TestPartsAreJoined(t *testing.T) {
	arcs := []arc{{0, 0, 1, true}, {0, 1, 5, false}, {1, 0, 5, false}, {1, 2, 2, false}, {2, 2, 1, true}, {2, 1, 2, false}, {0, 2, 9, false}}
	assert.EqualValues(t, 16, cost(t, arcs, postman(3, arcs)))
}

// bound is the least cost of a walk, found by gonum's simplex method: of the
// numbers of times that arcs are taken, once at least where they are needed,
// with which as many lead to each vertex as away from it.
func bound(t require.TestingT, vertices int, arcs []arc) float64 {
	var c []float64
	var columns []arc
	base := 0.0
	b := make([]float64, vertices)
	for _, a := range arcs {
		if a.need {
			base += float64(a.cost)
			b[a.to]--
			b[a.from]++
		}
		if a.from != a.to { // a loop changes no balance
			columns, c = append(columns, a), append(c, float64(a.cost))
		}
	}
	if len(columns) == 0 || vertices == 1 {
		return base
	}
	// The last vertex's balance follows from the others'.
	m := mat.NewDense(vertices-1, len(columns), nil)
	for j, a := range columns {
		if a.to < vertices-1 {
			m.Set(a.to, j, m.At(a.to, j)+1)
		}
		if a.from < vertices-1 {
			m.Set(a.from, j, m.At(a.from, j)-1)
		}
	}
	least, _, err := lp.Simplex(c, m, b[:vertices-1], 1e-9, nil)
	require.NoError(t, err)
	return base + least
}

// hangTogether reports whether the arcs that are needed and vertex 0 do.
func hangTogether(vertices int, arcs []arc) bool {
	part := make([]int, vertices)
	for v := range part {
		part[v] = v
	}
	for range arcs {
		for _, a := range arcs {
			if a.need {
				part[a.from], part[a.to] = min(part[a.from], part[a.to]), min(part[a.from], part[a.to])
			}
		}
	}
	for _, a := range arcs {
		if a.need && part[a.from] != 0 {
			return false
		}
	}
	return true
}

// The walks of designs are as short as their lower bounds, which know nothing of parts
// that must be joined.
func TestWalksAreShortest(t *testing.T) {
	size := random.Size{
		States: random.Range{Lo: 1, Hi: 5}, Buttons: random.Range{Lo: 1, Hi: 4}, Inputs: random.Range{Lo: 0, Hi: 1},
		Routines: random.Range{Lo: 0, Hi: 2}, Transitions: random.Range{Lo: 2, Hi: 14},
	}
	drawn := rapid.Custom(func(t *rapid.T) *model.Design { return size.Design(t) })
	most, whole := 0, 0 // places, designs
	for i := range 200 {
		s := check.NewStudy(drawn.Example(i))
		g := newWalker(s).explore()
		walk := postman(len(g.places), g.arcs)
		least, length := bound(t, len(g.places), g.arcs), float64(cost(t, g.arcs, walk))
		if hangTogether(len(g.places), g.arcs) {
			require.InDelta(t, least, length, 0.5, "ms, design %d", i)
			whole++
		} else {
			require.GreaterOrEqual(t, length, least-0.5, "ms, design %d", i)
		}
		most = max(most, len(g.places))
	}
	require.Greater(t, most, 10)
	require.Greater(t, whole, 150)
}
