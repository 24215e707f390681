package chart

import (
	"bytes"
	"fmt"
	"image/color"
	"math"
	"strconv"
	"strings"

	"github.com/fogleman/gg"
	"golang.org/x/image/font"

	"propwright/gen/letters"
)

// dotsPerPoint is how fine a PNG is; a chart so large that it would have more
// than mostDots is drawn coarser.
const (
	dotsPerPoint = 2.0
	mostDots     = 64e6
)

// PNG draws the chart as an image. It draws Graphviz's SVG, whose few shapes
// are polygons, ellipses, cubic curves and text. What its font cannot write is
// a box (see Missing).
func (c *Chart) PNG() ([]byte, error) {
	svg, err := c.picture()
	if err != nil {
		return nil, err
	}
	p := painter{faces: map[fontKey]font.Face{}}
	return p.paint(svg)
}

// Missing lists the characters that an image's font cannot write.
func (c *Chart) Missing() string {
	texts := append([]string{c.Title}, c.Legend...)
	for i := range c.Boxes {
		texts = append(texts, c.Boxes[i].Head)
		for _, l := range c.Boxes[i].Lines {
			texts = append(texts, l.Text)
		}
	}
	return letters.Missing(texts...)
}

type painter struct {
	*gg.Context
	scale float64
	faces map[fontKey]font.Face
}

type fontKey struct {
	bold bool
	size float64
}

func (p *painter) paint(svg *element) ([]byte, error) {
	box := numbers(svg.attr("viewBox"))
	if len(box) != 4 {
		return nil, fmt.Errorf("the chart's SVG has no viewBox")
	}
	p.scale = min(dotsPerPoint, math.Sqrt(mostDots/max(1, box[2]*box[3])))
	p.Context = gg.NewContext(max(1, int(math.Ceil(box[2]*p.scale))), max(1, int(math.Ceil(box[3]*p.scale))))
	p.SetColor(color.White)
	p.Clear()
	p.draw(svg, 0, 0)
	var b bytes.Buffer
	err := p.EncodePNG(&b)
	return b.Bytes(), err
}

// draw draws an element whose origin is at dx, dy in points.
func (p *painter) draw(e *element, dx, dy float64) {
	if t := e.attr("transform"); t != "" {
		if i := strings.Index(t, "translate("); i >= 0 {
			if n := numbers(t[i+len("translate("):]); len(n) >= 2 {
				dx, dy = dx+n[0], dy+n[1]
			}
		}
	}
	at := func(x, y float64) (float64, float64) { return (x + dx) * p.scale, (y + dy) * p.scale }
	switch e.name {
	case "polygon", "polyline":
		n := numbers(e.attr("points"))
		for i := 0; i+1 < len(n); i += 2 {
			x, y := at(n[i], n[i+1])
			p.LineTo(x, y)
		}
		if e.name == "polygon" {
			p.ClosePath()
		}
		p.ink(e)
	case "ellipse":
		x, y := at(number(e.attr("cx")), number(e.attr("cy")))
		p.DrawEllipse(x, y, number(e.attr("rx"))*p.scale, number(e.attr("ry"))*p.scale)
		p.ink(e)
	case "path":
		// M x,y C x1,y1 x2,y2 x,y x1,y1 … as Graphviz writes it.
		n := numbers(e.attr("d"))
		if len(n) >= 2 {
			p.MoveTo(at(n[0], n[1]))
		}
		for i := 2; i+5 < len(n); i += 6 {
			x1, y1 := at(n[i], n[i+1])
			x2, y2 := at(n[i+2], n[i+3])
			x3, y3 := at(n[i+4], n[i+5])
			p.CubicTo(x1, y1, x2, y2, x3, y3)
		}
		p.ink(e)
	case "text":
		p.text(e, at)
	}
	for _, c := range e.children {
		p.draw(c, dx, dy)
	}
}

// ink fills and strokes the path as the element says.
func (p *painter) ink(e *element) {
	if fill := e.attr("fill"); fill != "" && fill != "none" && fill != "transparent" {
		p.SetColor(colourOf(fill))
		p.FillPreserve()
	}
	if stroke := e.attr("stroke"); stroke != "" && stroke != "none" && stroke != "transparent" {
		p.SetColor(colourOf(stroke))
		width := 1.0
		if w := e.attr("stroke-width"); w != "" {
			width = number(w)
		}
		p.SetLineWidth(width * p.scale)
		p.SetDash()
		if dash := numbers(e.attr("stroke-dasharray")); dash != nil {
			for i := range dash {
				dash[i] *= p.scale
			}
			p.SetDash(dash...)
		}
		p.StrokePreserve()
	}
	p.ClearPath()
}

func (p *painter) text(e *element, at func(x, y float64) (float64, float64)) {
	p.SetFontFace(p.face(fontKey{e.attr("font-weight") == "bold", number(e.attr("font-size"))}))
	fill := e.attr("fill")
	if fill == "" {
		fill = "black"
	}
	p.SetColor(colourOf(fill))
	x, y := at(number(e.attr("x")), number(e.attr("y")))
	anchor := map[string]float64{"middle": 0.5, "end": 1}[e.attr("text-anchor")]
	p.DrawStringAnchored(letters.Written(e.text), x, y, anchor, 0)
}

// narrower makes the Go fonts as wide as Helvetica, for which Graphviz leaves
// room: they are some 6 % wider, and lines of long names with hyphens up to
// 10 % (measured on this project's charts).
const narrower = 0.92

func (p *painter) face(k fontKey) font.Face {
	f, ok := p.faces[k]
	if !ok {
		f = letters.Face(k.bold, k.size*p.scale*narrower)
		p.faces[k] = f
	}
	return f
}

func colourOf(s string) color.Color {
	if h, ok := strings.CutPrefix(s, "#"); ok {
		if v, err := strconv.ParseUint(h, 16, 32); err == nil {
			return color.RGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), 255}
		}
	}
	if s == "white" {
		return color.White
	}
	return color.Black
}

func number(s string) float64 {
	f, _ := strconv.ParseFloat(s, 64) // 0 where there is none
	return f
}

// numbers reads the numbers of a list, whatever parts them.
func numbers(s string) []float64 {
	var out []float64
	for _, w := range strings.FieldsFunc(s, func(r rune) bool { return !strings.ContainsRune("0123456789.-+", r) }) {
		if f, err := strconv.ParseFloat(w, 64); err == nil {
			out = append(out, f)
		}
	}
	return out
}
