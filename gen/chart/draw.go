package chart

import (
	"math"
	"strconv"
	"strings"

	"propwright/gen/layered"
	"propwright/gen/letters"
	"propwright/gen/picture"
	"propwright/model"
)

// The measures of a chart, in points.
const (
	margin    = 14.0                        // round the whole
	headSize  = 11.0                        // of type: names
	smallSize = 9.0                         // of type: everything else
	readable  = picture.Legible / smallSize // the least scale in which a chart is printed
	leading   = 1.2                         // from line to line, in sizes of type
	padX      = 8.0                         // from a box's text to its side
	padY      = 5.0
	corner    = 9.0  // the radius of an ambient state's corners
	slant     = 12.0 // how far a performing state's sides point outwards
	double    = 4.0  // between a dormant state's two lines
	behind    = 4.0  // how far the second sheet of a stack shows
	dotRadius = 3.0  // of power-up
	sampleW   = 26.0 // of the legend's samples
	sampleH   = 12.0
	legendW   = 560.0 // where the legend goes on in its next line
	labelLift = 2.5   // from a label to its arrow
	headLong  = 7.0   // an arrow's head
	headWide  = 5.0
	greyInk   = "#505050"
	labelInk  = "#202020"
)

// A textLine is a line of text in a box or at an arrow.
type textLine struct {
	text   string
	bold   bool
	size   float64
	colour string
	part   int // the line of the box it is a part of; -1: the head
}

// height is that of lines of text.
func height(lines []textLine) (h float64) {
	for _, l := range lines {
		h += l.size * leading
	}
	return h
}

func widest(f picture.Faces, lines []textLine) (w float64) {
	for _, l := range lines {
		w = max(w, f.Width(l.text, l.bold, l.size))
	}
	return w
}

// lines returns a box's lines of text, broken where they are long.
func (x *Box) lines() []textLine {
	all := []textLine{{model.Visible(markSigns[x.Mark] + x.Head), true, headSize, "#000000", -1}}
	for i, l := range x.Lines {
		for j, part := range letters.Wrap(markSigns[l.Mark]+l.Text, letters.Columns(lineWidth)) {
			if j > 0 && x.Shape == EveryShape {
				part = "\u00a0\u00a0" + part
			}
			all = append(all, textLine{model.Visible(part), false, smallSize, markColours[l.Mark], i})
		}
	}
	return all
}

// SVG draws the chart.
func (c *Chart) SVG() ([]byte, error) { return c.picture().SVG() }

// PNG draws the chart as an image, in the Go fonts. What they cannot write is
// a box (see Missing).
func (c *Chart) PNG() ([]byte, error) { return c.picture().PNG() }

// PDF prints the chart on sheets of A4, also in the Go fonts.
func (c *Chart) PDF() ([]byte, error) { return c.picture().PDF() }

// Sheets says how many sheets PDF prints, and the size of the smallest type on
// them, in points.
func (c *Chart) Sheets() (n int, smallest float64) { return c.picture().Sheets() }

// Missing lists the characters that an image's font cannot write.
func (c *Chart) Missing() string { return c.picture().Missing() }

// picture draws the chart.
func (c *Chart) picture() *picture.Picture {
	d := drawing{chart: c, faces: picture.Faces{}}
	d.measure()
	p := &picture.Picture{Label: model.Visible(c.Title) + ": what leads from state to state"}
	heading := d.heading(p)
	if c.rows {
		d.inRows()
	} else {
		page := picture.A4.OnItsSide()
		d.graph.LayOut(page.W/readable-2*margin, page.H/readable-2*margin-heading)
	}
	p.W = max(p.W, math.Ceil(d.graph.W+2*margin))
	p.H = math.Ceil(heading + d.graph.H + 2*margin)
	d.dx, d.dy = margin, margin+heading
	p.Figures = append([]picture.Figure{{Shapes: []any{picture.Path{D: picture.Polygon(0, 0, p.W, 0, p.W, p.H, 0, p.H), Fill: "#ffffff", Stroke: "none"}}}}, p.Figures...)
	for i := range c.Boxes {
		p.Figures = append(p.Figures, d.box(i))
	}
	p.Figures = append(p.Figures, d.powerUp()...)
	for i := range c.Arrows {
		p.Figures = append(p.Figures, d.arrow(i))
	}
	return p
}

type drawing struct {
	chart  *Chart
	faces  picture.Faces
	lines  [][]textLine  // of each box
	labels [][]textLine  // of each arrow
	graph  layered.Graph // the boxes and power-up; the arrows and power-up's
	dx, dy float64       // where the graph is
}

// measure makes the graph.
func (d *drawing) measure() {
	c := d.chart
	number := map[string]int{}
	start := -1
	for i := range c.Boxes {
		x := &c.Boxes[i]
		number[x.ID] = i
		lines := x.lines()
		d.lines = append(d.lines, lines)
		w, h := widest(d.faces, lines)+2*padX, height(lines)+2*padY
		switch x.states() {
		case PerformingShape:
			w += 2 * (slant - padX/2)
		case DormantShape:
			w, h = w+2*double, h+2*double
		}
		if x.Shape == EveryShape {
			w, h = w+behind, h+behind
		}
		d.graph.Nodes = append(d.graph.Nodes, layered.Node{W: w, H: h})
		if x.Start && !c.rows {
			start = i
		}
	}
	for i := range c.Arrows {
		a := &c.Arrows[i]
		e := layered.Edge{From: number[a.From], To: number[a.To]}
		var label []textLine
		if text := a.label(); text != "" {
			colour := labelInk
			if a.Mark != Same {
				colour = markColours[a.Mark]
			}
			for _, l := range strings.Split(text, "\n") {
				label = append(label, textLine{model.Visible(l), false, smallSize, colour, 0})
			}
		}
		d.labels = append(d.labels, label)
		if a.Line >= 0 {
			e.Fixed, e.Leave = true, d.lineAt(e.From, a.Line)
		}
		d.addEdge(e, label)
	}
	if start >= 0 {
		d.graph.Nodes = append(d.graph.Nodes, layered.Node{W: 2 * dotRadius, H: 2 * dotRadius})
		d.addEdge(layered.Edge{From: len(c.Boxes), To: start}, powerUp)
	}
}

var powerUp = []textLine{{"power-up", false, smallSize, labelInk, 0}}

func (d *drawing) addEdge(e layered.Edge, label []textLine) {
	if label != nil {
		e.W, e.H = widest(d.faces, label), height(label)+labelLift
	}
	d.graph.Edges = append(d.graph.Edges, e)
}

// lineAt returns how far below the middle of a box a line of it is.
func (d *drawing) lineAt(box, line int) float64 {
	y := (behind - height(d.lines[box])) / 2
	for _, l := range d.lines[box] {
		if l.part == line {
			return y + l.size*leading/2
		}
		y += l.size * leading
	}
	return 0
}

// inRows places boxes without arrows to be read like a page.
func (d *drawing) inRows() {
	g := &d.graph
	columns := d.chart.columns()
	wide := make([]float64, columns)
	for i, n := range g.Nodes {
		wide[i%columns] = max(wide[i%columns], n.W)
	}
	const gap = 18
	for row := 0; row < len(g.Nodes); row += columns {
		nodes := g.Nodes[row:min(row+columns, len(g.Nodes))]
		high, x := 0.0, 0.0
		for i := range nodes {
			high = max(high, nodes[i].H)
			nodes[i].X, nodes[i].Y = x+wide[i]/2, g.H+nodes[i].H/2
			x += wide[i] + gap
		}
		g.W = max(g.W, x-gap)
		g.H += high + gap
	}
}

// heading writes the title and the legend, which are above the graph, and
// returns their height.
func (d *drawing) heading(p *picture.Picture) float64 {
	title := []textLine{{text: model.Visible(d.chart.Title), bold: true, size: headSize, colour: "#000000"}}
	f := picture.Figure{ID: "heading", Shapes: written(title, margin, margin, "")}
	const line, gap = sampleH + 5.0, 16.0
	x, y, right := margin, margin+height(title)+3, margin+widest(d.faces, title)
	next := func() { x, y = margin, y+line }
	for _, k := range d.chart.Legend {
		words := []textLine{{text: model.Visible(k.Text), size: smallSize, colour: greyInk}}
		sample := k.sample(x+sampleW/2, y+sampleH/2)
		w := widest(d.faces, words)
		if sample != nil {
			w += sampleW + 5
		}
		if x > margin && (sample == nil || x+w > margin+legendW) {
			next()
			sample = k.sample(x+sampleW/2, y+sampleH/2)
		}
		f.Shapes = append(append(f.Shapes, sample...), written(words, x+w-widest(d.faces, words), y, "")...)
		right = max(right, x+w)
		if x += w + gap; sample == nil {
			next()
		}
	}
	if x > margin {
		next()
	}
	p.Figures = append(p.Figures, f)
	p.W = math.Ceil(right + margin)
	return y
}

// sample draws a key's shape or line round x, y; nil where it has none.
func (k *Key) sample(x, y float64) []any {
	switch {
	case k.Box != nil:
		return k.Box.border(x, y, sampleW, sampleH)
	case k.Arrow != nil:
		p := k.Arrow.stroke()
		return withHead(p, picture.Line(x-sampleW/2, y, x+sampleW/2-headLong, y), x+sampleW/2, y, -1)
	}
	return nil
}

// written writes lines of text from y downwards.
func written(lines []textLine, x, y float64, anchor string) (all []any) {
	for _, l := range lines {
		w := picture.Words{X: picture.Number(x), Y: picture.Number(y + l.size), Anchor: anchor, Size: picture.Number(l.size), Fill: l.colour, Text: l.text}
		if l.bold {
			w.Weight = "bold"
		}
		all = append(all, w)
		y += l.size * leading
	}
	return all
}

// box draws a box at its node.
func (d *drawing) box(i int) picture.Figure {
	x, n := &d.chart.Boxes[i], d.graph.Nodes[i]
	px, py := n.X+d.dx, n.Y+d.dy
	g := picture.Figure{ID: "box" + strconv.Itoa(i), Title: x.Tooltip, Shapes: x.border(px, py, n.W, n.H)}
	top := py - height(d.lines[i])/2
	if x.Shape != EveryShape {
		g.Shapes = append(g.Shapes, written(d.lines[i], px, top, "middle")...)
		return g
	}
	left := px - (widest(d.faces, d.lines[i])+behind)/2
	g.Shapes = append(g.Shapes, written(d.lines[i], left, top+behind/2, "")...)
	return g
}

// states returns the shape of the states that a box is about.
func (x *Box) states() Shape {
	if x.Of != 0 {
		return x.Of
	}
	return x.Shape
}

// border draws a box without its words, of a width and height round x, y. What
// holds in many states is a stack of two sheets in the states' shape.
func (x *Box) border(px, py, w, h float64) []any {
	p := picture.Path{Fill: fills[x.states()], Stroke: markColours[x.Mark], Width: 1}
	if x.Mark != Same {
		p.Width = 2
	}
	if x.Mark == Removed {
		p.Dashes = dotted
	}
	var all []any
	sheet := func(x *Box, px, py, w, h float64) {
		p.D = x.outline(px, py, w, h)
		all = append(all, p)
	}
	if x.Shape == EveryShape {
		w, h = w-behind, h-behind
		sheet(x, px+behind/2, py-behind/2, w, h)
		px, py = px-behind/2, py+behind/2
		sheet(x, px, py, w, h)
	} else {
		sheet(x, px, py, w, h)
	}
	if x.states() == DormantShape {
		in := min(double, h/4)
		sheet(x, px, py, w-2*in, h-2*in)
	}
	return all
}

// outline returns a box's border, of a width and height round x, y.
func (x *Box) outline(px, py, w, h float64) picture.Outline {
	l, r, t, b := px-w/2, px+w/2, py-h/2, py+h/2
	switch x.states() {
	case PerformingShape:
		s := min(slant, h/2)
		return picture.Polygon(l, py, l+s, t, r-s, t, r, py, r-s, b, l+s, b)
	case AmbientShape:
		return picture.Rounded(l, t, r, b, min(corner, h/2))
	}
	return picture.Polygon(l, t, r, t, r, b, l, b)
}

// inset returns how far inside its node's side a box's border is, dy from the
// middle.
func (x *Box) inset(dy, h float64) float64 {
	if x.Shape == EveryShape { // its second sheet is higher by half of what shows
		dy, h = dy+behind/2, h-behind
	}
	dy = math.Abs(dy)
	switch over := dy - (h/2 - corner); {
	case x.states() == PerformingShape:
		return slant * dy / (h / 2)
	case x.states() == AmbientShape && over > 0:
		return corner - math.Sqrt(corner*corner-over*over)
	}
	return 0
}

// powerUp draws the dot and its arrow, if the chart has them.
func (d *drawing) powerUp() []picture.Figure {
	box := len(d.chart.Boxes)
	if len(d.graph.Nodes) == box {
		return nil
	}
	n := d.graph.Nodes[box]
	x, y, r := n.X+d.dx, n.Y+d.dy, dotRadius
	dot := picture.Path{D: picture.Rounded(x-r, y-r, x+r, y+r, r), Fill: "#000000", Stroke: "none"}
	return []picture.Figure{
		{ID: "start", Title: "power-up", Shapes: []any{dot}},
		{ID: "power-up", Title: "power-up", Shapes: d.edge(len(d.chart.Arrows), picture.Path{Stroke: markColours[Same], Width: 1}, powerUp)},
	}
}

// Lengths of strokes and gaps.
var (
	dashed = picture.Numbers{5, 3}
	dotted = picture.Numbers{1.5, 3}
)

// arrow draws an arrow and its label.
func (d *drawing) arrow(i int) picture.Figure {
	a := &d.chart.Arrows[i]
	return picture.Figure{ID: "arrow" + strconv.Itoa(i), Title: a.Tooltip, Shapes: d.edge(i, a.stroke(), d.labels[i])}
}

// stroke returns the line of an arrow, without its way.
func (a *Arrow) stroke() picture.Path {
	p := picture.Path{Stroke: markColours[a.Mark], Width: 1}
	switch {
	case a.Mark != Same:
		p.Width = 1.8
	case a.Line >= 0:
		p.Stroke = "#707070"
	}
	switch {
	case a.Mark == Removed:
		p.Dashes = dotted
	case a.Waits:
		p.Dashes = dashed
	}
	return p
}

// edge draws an edge of the graph as p says.
func (d *drawing) edge(i int, p picture.Path, label []textLine) (all []any) {
	e := &d.graph.Edges[i]
	if e.From == e.To {
		x, y := e.LoopX+d.dx, d.graph.Nodes[e.To].Y+d.graph.Nodes[e.To].H/2+d.dy
		l, r, low := x-layered.LoopW/2, x+layered.LoopW/2, y+layered.LoopH*4/3
		p.D, p.Fill = picture.Outline{picture.To("M", l, y), picture.To("C", l, low, r, low, r, y+headLong)}, "none"
		head := picture.Path{Fill: p.Stroke, Stroke: "none", D: picture.Polygon(r, y, r-headWide/2, y+headLong, r+headWide/2, y+headLong)}
		all = []any{p, head}
	} else {
		way, tip, toLeft := d.line(e)
		all = withHead(p, way, tip, e.Runs[len(e.Runs)-1].Y+d.dy, toLeft)
	}
	return append(all, written(label, e.LabelX+d.dx, e.LabelY+d.dy-(height(label)+labelLift)/2, "middle")...)
}

// withHead draws a way as p says, with an arrow's head whose tip is at x, y.
// The head's base is to the left of the tip with toLeft -1, to the right with 1.
func withHead(p picture.Path, way picture.Outline, x, y, toLeft float64) []any {
	p.D, p.Fill = way, "none"
	base := x + headLong*toLeft
	return []any{p, picture.Path{Fill: p.Stroke, Stroke: "none", D: picture.Polygon(x, y, base, y-headWide/2, base, y+headWide/2)}}
}

// line returns the way of an edge to the base of its head, and what withHead asks of
// the head.
func (d *drawing) line(e *layered.Edge) (o picture.Outline, tip, toLeft float64) {
	runs := e.Runs
	first, last := runs[0], runs[len(runs)-1]
	forward := 1.0
	if d.graph.Nodes[e.From].X > d.graph.Nodes[e.To].X {
		forward = -1
	}
	first.X0 -= forward * d.inset(e.From, first.Y)
	tip = last.X1 + forward*d.inset(e.To, last.Y) + d.dx
	last.X1 = tip - d.dx - forward*headLong
	for i, r := range runs {
		if i == 0 {
			r.X0 = first.X0
			o = append(o, picture.To("M", r.X0+d.dx, r.Y+d.dy))
		} else {
			before := runs[i-1]
			m := (before.X1+r.X0)/2 + d.dx
			o = append(o, picture.To("C", m, before.Y+d.dy, m, r.Y+d.dy, r.X0+d.dx, r.Y+d.dy))
		}
		if i == len(runs)-1 {
			r.X1 = last.X1
		}
		if r.X0 != r.X1 {
			o = append(o, picture.To("L", r.X1+d.dx, r.Y+d.dy))
		}
	}
	return o, tip, -forward
}

// inset is that of a node's border at the height y.
func (d *drawing) inset(node int, y float64) float64 {
	if node == len(d.chart.Boxes) {
		return 0 // power-up
	}
	n := d.graph.Nodes[node]
	return d.chart.Boxes[node].inset(y-n.Y, n.H)
}
