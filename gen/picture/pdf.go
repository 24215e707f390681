package picture

import (
	"bytes"
	"fmt"
	"strconv"

	"github.com/go-pdf/fpdf"

	"propwright/gen/letters"
)

// PDF prints the picture on sheets of A4 in the Go fonts, in type no smaller than
// Legible, on several sheets where it must: each word and each box is then whole on
// one of them. A box stands for what the fonts cannot write (see Missing).
func (p *Picture) PDF() ([]byte, error) {
	l := p.layout()
	w, h := l.W+2*free, l.H+2*free+footer
	f := letters.Document(p.Label, w, h)
	for i, part := range l.parts {
		f.AddPage()
		t := press{Fpdf: f, scale: l.scale, dx: free - part.x*l.scale, dy: free - part.y*l.scale}
		if len(l.parts) == 1 {
			t.dx, t.dy = free+(l.W-p.W*l.scale)/2, free+(l.H-p.H*l.scale)/2
			t.print(p)
			continue
		}
		f.ClipRect(free, free, l.W, l.H, false)
		t.print(p)
		f.ClipEnd()
		l.frame(f, p.Label, i)
	}
	var b bytes.Buffer
	err := f.Output(&b)
	return b.Bytes(), err
}

// Page prints the picture on a page of its own size.
func (p *Picture) Page() ([]byte, error) {
	f := letters.Document(p.Label, p.W, p.H)
	f.AddPage()
	t := press{Fpdf: f, scale: 1}
	t.print(p)
	var b bytes.Buffer
	err := f.Output(&b)
	return b.Bytes(), err
}

// frame draws the border of a part and names its neighbours below it.
func (l *layout) frame(f *fpdf.Fpdf, label string, i int) {
	f.SetDrawColor(rgb("#909090"))
	f.SetLineWidth(0.5)
	f.SetDashPattern(nil, 0)
	f.Rect(free, free, l.W, l.H, "D")
	text := fmt.Sprintf("%s · sheet %d of %d", label, i+1, len(l.parts))
	here := l.parts[i]
	for _, to := range []struct {
		way         string
		column, row int
	}{{"left", -1, 0}, {"right", 1, 0}, {"above", 0, -1}, {"below", 0, 1}} {
		for j, q := range l.parts {
			if q.column == here.column+to.column && q.row == here.row+to.row {
				text += fmt.Sprintf(" · %s: sheet %d", to.way, j+1)
			}
		}
	}
	f.SetFont(letters.PDFFont, "", Legible)
	f.SetTextColor(rgb("#000000"))
	f.Text(free, free+l.H+footer-1, letters.Written(text))
}

// A press prints a picture on a page: scaled, then moved by dx, dy.
type press struct {
	*fpdf.Fpdf
	scale, dx, dy float64
}

func (t *press) print(p *Picture) {
	p.each(t.path, t.words)
}

func (t *press) path(x *Path) {
	style := ""
	if x.Fill != "none" {
		t.SetFillColor(rgb(x.Fill))
		style = "F"
	}
	if x.Stroke != "none" {
		t.SetDrawColor(rgb(x.Stroke))
		t.SetLineWidth(float64(x.Width) * t.scale)
		t.SetDashPattern(scaled(x.Dashes, t.scale), 0)
		style += "D"
	}
	for _, s := range x.D {
		var at []float64
		for i := 0; i+1 < len(s.At); i += 2 {
			at = append(at, s.At[i]*t.scale+t.dx, s.At[i+1]*t.scale+t.dy)
		}
		switch s.Letter {
		case "M":
			t.MoveTo(at[0], at[1])
		case "L":
			t.LineTo(at[0], at[1])
		case "C":
			t.CurveBezierCubicTo(at[0], at[1], at[2], at[3], at[4], at[5])
		case "Z":
			t.ClosePath()
		}
	}
	t.DrawPath(style)
}

func (t *press) words(w *Words) {
	style := ""
	if w.Weight == "bold" {
		style = "B"
	}
	text := letters.Written(w.Text)
	t.SetFont(letters.PDFFont, style, float64(w.Size)*t.scale)
	t.SetTextColor(rgb(w.Fill))
	t.Text(float64(w.X)*t.scale+t.dx-w.ahead()*t.GetStringWidth(text), float64(w.Y)*t.scale+t.dy, text)
}

// rgb returns the parts of a colour, #rrggbb.
func rgb(s string) (r, g, b int) {
	v, _ := strconv.ParseUint(s[1:], 16, 32) // a constant of the caller
	return int(v >> 16), int(v >> 8 & 255), int(v & 255)
}
