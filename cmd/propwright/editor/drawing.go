package editor

import (
	"fmt"
	"slices"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

// A drawing is the behaviour graph laid out on columns and lines.
//
// The layout is not that of the charts (gen/layered), which draws every arrow
// as a curve: on the cells of a terminal curves are right angles, which need
// columns of their own, and what leads back would be drawn across the states,
// where here it is a text beside its state. Steps from power-up give the
// layers, and that is most of the work.
type drawing struct {
	w, h  int
	nodes []node
	texts []graphText
	lines map[[2]int]uint8 // by column and line the directions that lines leave in
	heads map[[2]int]rune  // arrow heads
}

// A node is a state in its box.
type node struct {
	name       string
	state      int
	kind       model.StateKind
	start      bool
	layer      int // steps from power-up; -1: cannot be reached
	x, y, w, h int
	exits      []string // what leads elsewhere than to the next layer
	in         []arrow  // what comes from the layer before
}

// An arrow leads from a state of the layer before.
type arrow struct {
	from  int // index in nodes
	label string
}

type graphText struct {
	x, y int
	text string
}

// The directions of a line.
const (
	north uint8 = 1 << iota
	south
	west
	east
)

var strokes = map[uint8]rune{
	north | south: '│', west | east: '─', south | east: '┌', south | west: '┐', north | east: '└', north | west: '┘',
	north | south | east: '├', north | south | west: '┤', west | east | south: '┬', west | east | north: '┴',
	north | south | west | east: '┼', north: '│', south: '│', west: '─', east: '─',
}

// rune returns the character at a place of the drawing, or 0.
func (g *drawing) rune(x, y int) rune {
	if r, ok := g.heads[[2]int{x, y}]; ok {
		return r
	}
	return strokes[g.lines[[2]int{x, y}]]
}

const longestLabel = 20

// newDrawing lays out a design's behaviour: layers from left to right.
func newDrawing(d *model.Design, m *grid) *drawing {
	g := &drawing{lines: map[[2]int]uint8{}, heads: map[[2]int]rune{}}
	ways := waysOf(d, m)
	layers := g.layer(d, ways)
	g.connect(ways)
	y := g.general(d)
	g.place(layers, y)
	return g
}

// A way leads from a state to a state on some triggers.
type way struct {
	to    int
	label string
	own   bool // said for the state itself or its kind, not for any state
}

// waysOf lists for each state where its triggers lead, each target once. back
// has no target of its own.
func waysOf(d *model.Design, m *grid) [][]way {
	index := map[string]int{}
	for i := range d.States {
		index[d.States[i].Name] = i
	}
	ways := make([][]way, len(d.States))
	for i := range d.States {
		r, ok := m.rowOf(model.From{State: d.States[i].Name})
		if !ok {
			continue
		}
		for c := range m.columns {
			cl := m.at(r, c)
			if cl.transition == nil || cl.transition.To == "" {
				continue
			}
			label := shortTrigger(m.columns[c].trigger)
			if cl.transition.Defer {
				label = "»" + label
			}
			targets := model.Targets(cl.transition.To)
			if n := len(targets); n > 1 {
				label += fmt.Sprintf(" (1 of %d)", n)
			}
			own := !cl.byAny()
			for _, name := range targets {
				to, known := index[name]
				if !known {
					to = -1 // back
				}
				if j := slices.IndexFunc(ways[i], func(w way) bool { return w.to == to && w.own == own }); j >= 0 {
					ways[i][j].label += ", " + label
					continue
				}
				ways[i] = append(ways[i], way{to, label, own})
			}
		}
	}
	return ways
}

// shortTrigger returns a trigger in few letters: a press is its button.
func shortTrigger(t model.Trigger) string {
	if t.Kind == model.Press {
		return t.Name
	}
	return t.String()
}

// layer makes a node of every state and says how many steps it is from the
// start; layers lists the nodes of each, those not reached last.
func (g *drawing) layer(d *model.Design, ways [][]way) (layers [][]int) {
	start := d.Start()
	g.nodes = make([]node, len(d.States))
	for i := range d.States {
		s := &d.States[i]
		g.nodes[i] = node{name: s.Name, state: i, kind: s.Kind, start: i == start, layer: -1, w: pane.Width(s.Name) + 6}
		if i == start {
			g.nodes[i].w += 2
		}
	}
	if start >= 0 {
		g.nodes[start].layer = 0
		layers = append(layers, []int{start})
	}
	for n := 0; n < len(layers); n++ {
		var next []int
		for _, i := range layers[n] {
			for _, w := range ways[i] {
				if w.to >= 0 && g.nodes[w.to].layer < 0 {
					g.nodes[w.to].layer = n + 1
					next = append(next, w.to)
				}
			}
		}
		if next != nil {
			slices.Sort(next)
			layers = append(layers, next)
		}
	}
	var lost []int
	for i := range g.nodes {
		if g.nodes[i].layer < 0 {
			lost = append(lost, i)
		}
	}
	if lost != nil {
		layers = append(layers, lost)
	}
	return layers
}

// connect draws each way as a line to the next layer, or as text beside its state.
func (g *drawing) connect(ways [][]way) {
	for i := range ways {
		n := &g.nodes[i]
		for _, w := range ways[i] {
			switch {
			case w.to < 0:
				n.exits = append(n.exits, w.label+" → back")
			case n.layer >= 0 && g.nodes[w.to].layer == n.layer+1:
				g.nodes[w.to].in = append(g.nodes[w.to].in, arrow{i, pane.Fit(w.label, longestLabel)})
			case w.own:
				n.exits = append(n.exits, w.label+" → "+g.nodes[w.to].name)
			}
		}
	}
}

// general writes the transitions from any state at the top and returns the next line.
func (g *drawing) general(d *model.Design) int {
	y := 0
	for i := range d.Transitions {
		t := &d.Transitions[i]
		if t.To == "" || !slices.ContainsFunc(t.From, func(f model.From) bool { return f.State == model.Any && f.Kind == "" }) {
			continue
		}
		words := make([]string, len(t.On))
		for j, on := range t.On {
			words[j] = shortTrigger(on)
		}
		s := "from any state: " + strings.Join(words, ", ") + " → " + t.To
		g.texts = append(g.texts, graphText{1, y, s})
		g.w = max(g.w, pane.Width(s)+2)
		y++
	}
	return y
}

// place places the nodes and draws the lines, layer by layer.
func (g *drawing) place(layers [][]int, top int) {
	x := 1
	for k, layer := range layers {
		lost := g.nodes[layer[0]].layer < 0
		label, sources := 0, []int{}
		if k > 0 && !lost {
			for _, i := range layer {
				for _, a := range g.nodes[i].in {
					label = max(label, pane.Width(a.label))
					if !slices.Contains(sources, a.from) {
						sources = append(sources, a.from)
					}
				}
			}
		}
		slices.Sort(sources)
		trunks := x + 1 // the first of the vertical lines
		if k > 0 {
			x += len(sources)*2 + label + 6
		}
		y := top
		if lost {
			g.texts = append(g.texts, graphText{x, y, "not reached:"})
			y++
		}
		widest := 0
		for _, i := range layer {
			widest = max(widest, g.nodes[i].w)
		}
		right := x
		for _, i := range layer {
			n := &g.nodes[i]
			n.x, n.y, n.w = x, y, widest
			n.h = max(len(n.in), 1) + 2
			g.box(n)
			for j, s := range n.exits {
				g.texts = append(g.texts, graphText{x + 2, y + n.h + j, s})
				right = max(right, x+2+pane.Width(s))
			}
			y += n.h + len(n.exits)
			right = max(right, x+n.w)
			g.h = max(g.h, y)
		}
		for _, i := range layer {
			for j, a := range g.nodes[i].in {
				g.line(a, &g.nodes[i], j, trunks+2*slices.Index(sources, a.from), label)
			}
		}
		x = right + 1
		g.w = max(g.w, x)
	}
	// A source's line begins at its box, whose right side the layer's exits
	// may overhang; lines go below them.
}

// box draws a node's box.
func (g *drawing) box(n *node) {
	x2, y2 := n.x+n.w-1, n.y+n.h-1
	for x := n.x + 1; x < x2; x++ {
		g.add(x, n.y, west|east)
		g.add(x, y2, west|east)
	}
	for y := n.y + 1; y < y2; y++ {
		g.add(n.x, y, north|south)
		g.add(x2, y, north|south)
	}
	g.add(n.x, n.y, south|east)
	g.add(x2, n.y, south|west)
	g.add(n.x, y2, north|east)
	g.add(x2, y2, north|west)
}

func (g *drawing) add(x, y int, dir uint8) { g.lines[[2]int{x, y}] |= dir }

// line draws an arrow from its source's box along a vertical line to the
// j-th line of the target's box.
func (g *drawing) line(a arrow, to *node, j, trunk, label int) {
	from := &g.nodes[a.from]
	y1, y2 := from.y+1, to.y+1+j
	x1 := from.x + from.w
	for x := x1; x < trunk; x++ {
		g.add(x, y1, west|east)
	}
	g.add(x1-1, y1, east)
	g.add(trunk, y1, west)
	for y := min(y1, y2); y < max(y1, y2); y++ {
		g.add(trunk, y, south)
		g.add(trunk, y+1, north)
	}
	g.add(trunk, y2, east)
	for x := trunk + 1; x < to.x-1; x++ {
		g.add(x, y2, west|east)
	}
	g.heads[[2]int{to.x - 1, y2}] = '▶'
	g.texts = append(g.texts, graphText{to.x - 2 - pane.Width(a.label), y2, a.label})
}
