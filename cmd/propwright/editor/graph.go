package editor

import (
	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

const inGraph scope = "graph"

// graph draws the behaviour graph: states in layers by how many steps they
// are from power-up, lines to the next layer, and beside each state what
// leads elsewhere.
type graph struct {
	*workspace
	drawing   *drawing // nil: to be laid out when it is looked at
	name      string   // of the state that the cursor was on
	at        int      // the state under the cursor, as an index in drawing.nodes
	left, top int
	shown     struct{ w, h int }
}

func (v *graph) renew() {
	if v.drawing != nil && v.at < len(v.drawing.nodes) {
		v.name = v.drawing.nodes[v.at].name
	}
	v.drawing = nil
}

// laid returns the drawing of the design as it is now.
func (v *graph) laid() *drawing {
	if v.drawing == nil {
		v.drawing = newDrawing(v.desk.design(), v.grid)
		v.at = 0
		for i := range v.drawing.nodes {
			if v.drawing.nodes[i].name == v.name {
				v.at = i
			}
		}
	}
	return v.drawing
}

func (v *graph) draw(p pane.Pen, here bool) {
	t := v.theme
	g := v.laid()
	if len(g.nodes) == 0 {
		p.Text(2, 1, t.Plain, "There is no state yet. Ctrl-N makes one.")
		return
	}
	n := &g.nodes[v.at]
	v.shown.w, v.shown.h = p.W, p.H
	v.left = panned(v.left, n.x, n.x+n.w, p.W, g.w)
	v.top = panned(v.top, n.y, n.y+n.h, p.H, g.h)
	for y := range p.H {
		for x := range p.W {
			if r := g.rune(x+v.left, y+v.top); r != 0 {
				p.Set(x, y, r, t.Box)
			}
		}
	}
	for i := range g.texts {
		l := &g.texts[i]
		v.write(p, l.x, l.y, l.text, t.Dim)
	}
	for i := range g.nodes {
		n := &g.nodes[i]
		style := t.kinds[n.kind]
		if i == v.at {
			style = t.CursorOf(here)
		}
		mark := kindMark(n.kind) + " " + n.name
		if n.start {
			mark += " ◂"
		}
		v.write(p, n.x+1, n.y+1, pane.Pad(" "+mark, n.w-2), style)
		if v.review.Marks(model.Elem{Sort: model.SortState, Index: n.state}) {
			v.write(p, n.x, n.y+1, "▸", t.Errs)
		}
	}
}

// write writes a text of the drawing.
func (v *graph) write(p pane.Pen, x, y int, s string, style tcell.Style) {
	x -= v.left
	for _, r := range s { // names and triggers are of single-width letters
		p.Set(x, y-v.top, r, style)
		x++
	}
}

// panned returns the first column to show so that from..to is among those shown.
func panned(left, from, to, shown, all int) int {
	left = min(left, max(from-2, 0))
	left = max(left, to+2-shown)
	return max(min(left, all-shown), 0)
}

// Move goes to the nearest state on a side.
func (v *graph) Move(dx, dy int) {
	g := v.laid()
	if len(g.nodes) == 0 {
		return
	}
	here := &g.nodes[v.at]
	best, far := -1, 0
	for i := range g.nodes {
		n := &g.nodes[i]
		along, across := (n.x-here.x)*sign(dx), abs(n.y-here.y)
		if dx == 0 {
			along, across = (n.y-here.y)*sign(dy), abs(n.x-here.x)*4
		}
		if along <= 0 {
			continue
		}
		if d := along + across; best < 0 || d < far {
			best, far = i, d
		}
	}
	if best >= 0 {
		v.at = best
	}
}

func sign(n int) int {
	switch {
	case n < 0:
		return -1
	case n > 0:
		return 1
	}
	return 0
}

func abs(n int) int { return max(n, -n) }

func (v *graph) Page(dy int) {
	for range 5 {
		v.Move(0, dy)
	}
}

func (v *graph) End(dx int) {
	for range len(v.laid().nodes) {
		v.Move(dx, 0)
	}
}

func (v *graph) Far(dy int) {
	for range len(v.laid().nodes) {
		v.Move(0, dy)
	}
}

func (v *graph) place() model.Elem {
	if v.at < len(v.laid().nodes) {
		return model.Elem{Sort: model.SortState, Index: v.laid().nodes[v.at].state}
	}
	return model.Elem{Sort: model.SortProp}
}

func (v *graph) arrive(at model.Elem) bool {
	for i := range v.laid().nodes {
		if at.Sort == model.SortState && v.laid().nodes[i].state == at.Index {
			v.at = i
			return true
		}
	}
	return false
}

func (v *graph) click(x, y int) bool {
	x, y = x+v.left, y+v.top
	for i := range v.laid().nodes {
		if n := &v.laid().nodes[i]; x >= n.x && x < n.x+n.w && y >= n.y && y < n.y+n.h {
			v.at = i
			return true
		}
	}
	return false
}

func (v *graph) where() string {
	if v.at >= len(v.laid().nodes) {
		return ""
	}
	n := &v.laid().nodes[v.at]
	if n.layer < 0 {
		return n.name + " cannot be reached from power-up"
	}
	return n.name + ": " + string(n.kind) + "; the arrows go from state to state"
}
