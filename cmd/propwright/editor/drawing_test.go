package editor

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/random"
)

// The layers are the distances from power-up that an independent graph
// library finds; no two boxes touch; every box is inside the drawing.
func TestGraphLayers(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := random.Design(t)
		m := newGrid(d, nil)
		g := newDrawing(d, m)
		require.Len(t, g.nodes, len(d.States))
		dg := simple.NewDirectedGraph()
		for i := range d.States {
			dg.AddNode(simple.Node(i))
		}
		for i := range d.States {
			r, _ := m.rowOf(model.From{State: d.States[i].Name})
			for c := range m.columns {
				cl := m.at(r, c)
				if cl.transition == nil || cl.transition.Ignore {
					continue
				}
				for j := range d.States {
					if slices.Contains(model.Targets(cl.transition.To), d.States[j].Name) && i != j {
						dg.SetEdge(dg.NewEdge(simple.Node(i), simple.Node(j)))
					}
				}
			}
		}
		shortest := path.DijkstraFrom(simple.Node(d.Start()), dg)
		for i := range g.nodes {
			n := &g.nodes[i]
			want := -1
			if steps, _ := shortest.To(int64(i)); steps != nil {
				want = len(steps) - 1
			}
			assert.Equal(t, want, n.layer, n.name)
			assert.GreaterOrEqual(t, n.x, 0)
			assert.LessOrEqual(t, n.x+n.w, g.w)
			assert.LessOrEqual(t, n.y+n.h, g.h)
			for j := range g.nodes[:i] {
				o := &g.nodes[j]
				apart := n.x+n.w <= o.x || o.x+o.w <= n.x || n.y+n.h <= o.y || o.y+o.h <= n.y
				assert.True(t, apart, "%s and %s overlap", n.name, o.name)
			}
			// Each arrow from the layer before ends at the box.
			for j := range n.in {
				assert.Equal(t, '▶', g.rune(n.x-1, n.y+1+j))
			}
		}
	})
}
