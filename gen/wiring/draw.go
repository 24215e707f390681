package wiring

import (
	"fmt"
	"math"

	"propwright/gen/letters"
	"propwright/gen/picture"
	"propwright/model"
)

// The measures of a drawing in points: A4 on its side, higher where a prop has
// many wires. From left to right: the board, the resistors, the parts.
const (
	pageW, pageH   = 842.0, 595.0
	margin         = 30.0
	headSize       = 13.0
	size           = 9.0
	lineH          = 11.5
	boardL, boardR = margin, 150.0
	pullX          = 205.0 // where a pull resistor leaves the wire
	seriesX        = 330.0
	partL, partR   = 420.0, 620.0
	feedX          = 640.0
	row            = 34.0
	ink            = "#000000"
	soft           = "#505050"
	paper          = "#ffffff"
	boardFill      = "#e8eef4"
	partFill       = "#f4f1e6"
)

type drawing struct {
	page  picture.Picture
	faces picture.Faces
	y     float64
}

// SVG draws the plan.
func (p *Plan) SVG() ([]byte, error) { return p.picture().SVG() }

// PNG draws the plan as an image, in the Go fonts.
func (p *Plan) PNG() ([]byte, error) { return p.picture().PNG() }

// Missing lists the characters that an image's font cannot write.
func (p *Plan) Missing() string { return p.picture().Missing() }

func (p *Plan) picture() *picture.Picture {
	d := &drawing{faces: picture.Faces{}, y: margin}
	d.page = picture.Picture{W: pageW, Label: model.Visible(p.heading())}
	d.page.Figures = make([]picture.Figure, 1) // the paper, whose size is not known yet
	for _, line := range d.wrap(p.heading(), true, headSize, pageW-2*margin) {
		d.y += headSize
		d.figure("", d.words(margin, d.y, headSize, "bold", line))
	}
	d.y += lineH
	d.chip(p, 0, p.Board)
	for _, bus := range p.Buses {
		d.y += lineH
		d.chip(p, bus, bus.String())
	}
	d.feeds(p)
	for i, n := range p.Notes {
		d.paragraph(fmt.Sprintf("%d", i+1), n)
	}
	d.y += lineH / 2
	for _, c := range cautions() {
		d.paragraph("–", c)
	}
	d.page.H = math.Ceil(max(pageH, d.y+margin-lineH))
	d.page.Figures[0].Shapes = []any{picture.Path{D: picture.Polygon(0, 0, pageW, 0, pageW, d.page.H, 0, d.page.H), Fill: paper, Stroke: "none"}}
	return &d.page
}

// chip draws the board, or an expander, with the wires on it.
func (d *drawing) chip(p *Plan, bus model.Bus, name string) {
	top := d.y
	d.y += row / 2
	for _, w := range p.Wires {
		if w.Bus == bus {
			d.wire(w)
			d.y += row
		}
	}
	frame := d.box(boardL, top, boardR, d.y-row/4, boardFill)
	d.page.Figures[1].Shapes = append([]any{frame}, d.page.Figures[1].Shapes...)
	d.figure("", d.words((boardL+boardR)/2-40, d.y-row/4-5, size, "bold", name))
}

// wire draws a pin's or a channel's wire to its part.
func (d *drawing) wire(w Wire) {
	y := d.y
	pin := fmt.Sprintf("pin %d", w.Pin)
	if w.Analog != "" {
		pin += ", " + w.Analog
	}
	if w.Bus != 0 {
		pin = fmt.Sprintf("channel %d", w.Pin)
	}
	shapes := []any{
		picture.Words{X: boardR - 8, Y: picture.Number(y + 3), Anchor: "end", Size: size, Fill: ink, Text: pin},
		d.words(boardL+8, y+3, size, "", w.Port),
		line(boardR, y, partL, y),
	}
	if w.Pull != "" {
		shapes = append(shapes, dot(pullX, y), line(pullX, y, pullX, y+12, pullX+14, y+12), d.box(pullX+14, y+7.5, pullX+44, y+16.5, paper),
			d.words(pullX+19, y+14.5, 7, "", "10 kΩ"), line(pullX+44, y+12, pullX+58, y+12))
		if w.Pull == "ground" {
			shapes = append(shapes, ground(pullX+58, y+12)...)
		} else {
			shapes = append(shapes, d.words(pullX+61, y+15, size, "", w.Pull))
		}
	}
	if w.Series != "" {
		shapes = append(shapes, d.box(seriesX, y-4.5, seriesX+38, y+4.5, paper), d.words(seriesX+8, y-7, 7, "", w.Series))
	}
	shapes = append(shapes, d.box(partL, y-row/2+2, partR, y+row/2-2, partFill),
		d.words(partL+8, y-2, size, "bold", w.Part), d.words(partL+8, y+lineH-2, size, "", w.What))
	if w.Feed != "" {
		shapes = append(shapes, line(partR, y-5, feedX, y-5), d.words(feedX+4, y-2, size, "", "+ "+w.Feed))
		shapes = append(shapes, line(partR, y+6, feedX, y+6))
		shapes = append(shapes, ground(feedX, y+6)...)
	}
	shapes = append(shapes, d.words(feedX+80, y-2, size, "", numbers(w.Notes)))
	d.figure(w.Part+": "+w.What, shapes...)
}

// feeds draws what feeds the parts: supply, switch, fuse; a regulator.
func (d *drawing) feeds(p *Plan) {
	d.y += lineH
	for i, f := range p.Feeds {
		x := margin
		shapes := []any{d.words(x, d.y+3, size, "bold", "+ "+f.Name)}
		if i == 1 { // the supply itself
			x += 60
			shapes = append(shapes, d.box(x, d.y-9, x+44, d.y+9, partFill), d.words(x+6, d.y+3, size, "", "supply"),
				line(x+44, d.y, x+60, d.y), dot(x+60, d.y), line(x+60, d.y, x+78, d.y-9), dot(x+80, d.y), // a switch
				line(x+80, d.y, x+96, d.y), d.box(x+96, d.y-5, x+124, d.y+5, "none"), line(x+96, d.y, x+140, d.y)) // a fuse
			x += 90
		}
		lines := d.wrap(f.What+" "+numbers(f.Notes), false, size, pageW-margin-x-64)
		for k, text := range lines {
			shapes = append(shapes, d.words(x+64, d.y+3+lineH*float64(k), size, "", text))
		}
		d.figure("feed "+f.Name, shapes...)
		d.y += lineH*float64(len(lines)) + 8
	}
}

func (d *drawing) paragraph(mark, text string) {
	var shapes []any
	for k, line := range d.wrap(text, false, size, pageW-2*margin-20) {
		if k == 0 {
			shapes = append(shapes, d.words(margin, d.y+3, size, "bold", mark))
		}
		shapes = append(shapes, d.words(margin+20, d.y+3, size, "", line))
		d.y += lineH
	}
	d.figure("", shapes...)
}

// wrap breaks a text into lines that fit also where a viewer has no Helvetica: in DejaVu
// Sans, which many take in its place, these notes are up to 1.15 times as wide as in the
// Go fonts (measured).
func (d *drawing) wrap(text string, bold bool, size, width float64) []string {
	return letters.Wrap(text, func(line string) bool { return 1.25*d.faces.Width(line, bold, size) <= width })
}

func (d *drawing) figure(title string, shapes ...any) {
	d.page.Figures = append(d.page.Figures, picture.Figure{Title: model.Visible(title), Shapes: shapes})
}

func (d *drawing) words(x, y, size float64, weight, text string) picture.Words {
	return picture.Words{X: picture.Number(x), Y: picture.Number(y), Weight: weight, Size: picture.Number(size), Fill: ink, Text: model.Visible(text)}
}

func (d *drawing) box(l, t, r, b float64, fill string) picture.Path {
	return picture.Path{D: picture.Polygon(l, t, r, t, r, b, l, b), Fill: fill, Stroke: ink, Width: 0.8}
}

func line(at ...float64) picture.Path {
	return picture.Path{D: picture.Line(at...), Fill: "none", Stroke: ink, Width: 0.8}
}

// dot returns the mark of a joint.
func dot(x, y float64) picture.Path {
	const r = 2.0
	return picture.Path{D: picture.Polygon(x-r, y, x, y-r, x+r, y, x, y+r), Fill: ink, Stroke: "none"}
}

// ground returns the symbol of ground, at the end of a wire that comes from the left: three bars
// (IEC 60617, earth).
func ground(x, y float64) (bars []any) {
	for i, half := range []float64{6, 4, 2} {
		at := x + 3*float64(i)
		bars = append(bars, line(at, y-half, at, y+half))
	}
	return bars
}
