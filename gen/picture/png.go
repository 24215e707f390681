package picture

import (
	"bytes"
	"math"

	"github.com/fogleman/gg"

	"propwright/gen/letters"
)

// DotsPerPoint is the resolution of a PNG; a chart that would have more than
// mostDots is drawn coarser.
const (
	DotsPerPoint = 2.0
	mostDots     = 64e6
)

// PNG paints the picture in the Go fonts. A box stands for what they cannot write
// (see Missing).
func (p *Picture) PNG() ([]byte, error) {
	d := painter{faces: Faces{}}
	return d.paint(p)
}

// Missing lists the characters of the picture that the Go fonts cannot write.
func (p *Picture) Missing() string {
	var texts []string
	p.each(func(*Path) {}, func(w *Words) { texts = append(texts, w.Text) })
	return letters.Missing(texts...)
}

type painter struct {
	*gg.Context
	scale float64
	faces Faces
}

func (p *painter) paint(x *Picture) ([]byte, error) {
	p.scale = min(DotsPerPoint, math.Sqrt(mostDots/(x.W*x.H)))
	p.Context = gg.NewContext(int(math.Ceil(x.W*p.scale)), int(math.Ceil(x.H*p.scale)))
	x.each(p.path, p.words)
	var b bytes.Buffer
	err := p.EncodePNG(&b)
	return b.Bytes(), err
}

func (p *painter) path(x *Path) {
	for _, s := range x.D {
		at := scaled(s.At, p.scale)
		switch s.Letter {
		case "M":
			p.MoveTo(at[0], at[1])
		case "L":
			p.LineTo(at[0], at[1])
		case "C":
			p.CubicTo(at[0], at[1], at[2], at[3], at[4], at[5])
		case "Z":
			p.ClosePath()
		}
	}
	if x.Fill != "none" {
		p.SetHexColor(x.Fill)
		p.FillPreserve()
	}
	if x.Stroke != "none" {
		p.SetHexColor(x.Stroke)
		p.SetLineWidth(float64(x.Width) * p.scale)
		p.SetDash(scaled(x.Dashes, p.scale)...)
		p.StrokePreserve()
	}
	p.ClearPath()
}

func scaled(n Numbers, by float64) []float64 {
	var out []float64
	for _, x := range n {
		out = append(out, x*by)
	}
	return out
}

func (p *painter) words(w *Words) {
	p.SetFontFace(p.faces.face(w.Weight == "bold", float64(w.Size)*p.scale))
	p.SetHexColor(w.Fill)
	p.DrawStringAnchored(letters.Written(w.Text), float64(w.X)*p.scale, float64(w.Y)*p.scale, w.ahead(), 0)
}
