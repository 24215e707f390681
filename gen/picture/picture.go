// Package picture writes a drawing of paths and words as SVG, paints it as PNG,
// or prints it as PDF. All three look the same; PNG and PDF use the Go fonts.
//
// It knows how wide a text is, and how drawings are written. It refuses to know
// what is drawn.
package picture

import (
	"encoding/xml"
	"math"
	"strconv"
	"strings"

	"propwright/gen/letters"
)

// A Picture is a drawing: paths and text, in points from the upper left corner.
type Picture struct {
	XMLName xml.Name `xml:"http://www.w3.org/2000/svg svg"`
	W       float64  `xml:"-"`
	H       float64  `xml:"-"`
	Width   string   `xml:"width,attr"` // set by SVG, as all below but Label and Figures
	Height  string   `xml:"height,attr"`
	ViewBox string   `xml:"viewBox,attr"`
	Role    string   `xml:"role,attr"`
	Label   string   `xml:"aria-label,attr"` // what it shows, for a screen reader
	Fonts   string   `xml:"font-family,attr"`
	Figures []Figure `xml:"g"`
}

// A Figure is a part of a picture: a box, an arrow, the heading.
type Figure struct { // element g
	ID     string `xml:"id,attr,omitempty"`
	Title  string `xml:"title,omitempty"` // shown when the pointer rests on it
	Shapes []any  // Path or Words
}

// each calls one of two functions for each shape, in drawing order.
func (p *Picture) each(path func(*Path), words func(*Words)) {
	for _, g := range p.Figures {
		for _, s := range g.Shapes {
			switch s := s.(type) {
			case Path:
				path(&s)
			case Words:
				words(&s)
			}
		}
	}
}

// A Path is a line or an area.
type Path struct {
	XMLName xml.Name `xml:"path"`
	D       Outline  `xml:"d,attr"`
	Fill    string   `xml:"fill,attr"`   // #rrggbb or none
	Stroke  string   `xml:"stroke,attr"` // #rrggbb or none
	Width   Number   `xml:"stroke-width,attr,omitempty"`
	Dashes  Numbers  `xml:"stroke-dasharray,attr,omitempty"`
}

// Words are a line of text.
type Words struct {
	XMLName xml.Name `xml:"text"`
	X       Number   `xml:"x,attr"`
	Y       Number   `xml:"y,attr"`                     // of the base line
	Anchor  string   `xml:"text-anchor,attr,omitempty"` // middle or end; empty: begins at X
	Weight  string   `xml:"font-weight,attr,omitempty"`
	Size    Number   `xml:"font-size,attr"`
	Fill    string   `xml:"fill,attr"`
	Length  Number   `xml:"textLength,attr,omitempty"`   // set by SVG, as Adjust
	Adjust  string   `xml:"lengthAdjust,attr,omitempty"` // how a viewer keeps Length
	Text    string   `xml:",chardata"`
}

// fit has a viewer that lacks the fonts that it is asked for keep the width that was left
// for the words (SVG 1.1, section 10.5). Browsers do, librsvg 2.54 does not.
func (w Words) fit(faces Faces) Words {
	w.Length = Number(faces.Width(strings.Join(strings.Fields(w.Text), " "), w.Weight == "bold", float64(w.Size)))
	w.Adjust = "spacingAndGlyphs"
	return w
}

// An Outline is the data of a path.
type Outline []Step

// A Step is one of M, L, C and Z of SVG, with absolute coordinates.
type Step struct {
	Letter string
	At     Numbers // x and y in turn
}

// To returns a Step.
func To(letter string, at ...float64) Step { return Step{letter, at} }

// Polygon returns the outline through corners, x and y in turn.
func Polygon(at ...float64) Outline { return append(Line(at...), To("Z")) }

// Line returns the outline through points, x and y in turn.
func Line(at ...float64) Outline {
	o := Outline{To("M", at[:2]...)}
	for i := 2; i < len(at); i += 2 {
		o = append(o, To("L", at[i:i+2]...))
	}
	return o
}

// Rounded returns a rectangle from l, t to r, b whose corners have the radius c.
func Rounded(l, t, r, b, c float64) Outline {
	k := c * (1 - arc)
	return Outline{
		To("M", l+c, t), To("L", r-c, t), To("C", r-k, t, r, t+k, r, t+c),
		To("L", r, b-c), To("C", r, b-k, r-k, b, r-c, b),
		To("L", l+c, b), To("C", l+k, b, l, b-k, l, b-c),
		To("L", l, t+c), To("C", l, t+k, l+k, t, l+c, t), To("Z"),
	}
}

// arc is the distance, in radii, of a cubic curve's control points from its ends
// where it approximates a quarter of a circle: 4/3 (√2 − 1).
const arc = 0.5523

func (o Outline) MarshalText() ([]byte, error) {
	var b []byte
	for _, s := range o {
		b = s.At.appendTo(append(b, s.Letter...))
	}
	return b, nil
}

// Numbers are lengths, written in tenths.
type Numbers []float64

func (n Numbers) MarshalText() ([]byte, error) { return n.appendTo(nil), nil }

func (n Numbers) appendTo(b []byte) []byte {
	for i, x := range n {
		if i > 0 {
			b = append(b, ' ')
		}
		b = strconv.AppendFloat(b, math.Round(x*10)/10, 'f', -1, 64)
	}
	return b
}

// A Number is a length, written in tenths.
type Number float64

func (n Number) MarshalText() ([]byte, error) { return Numbers{float64(n)}.MarshalText() }

// SVG writes the picture as a document.
func (p *Picture) SVG() ([]byte, error) {
	text, err := p.Element()
	return append([]byte(xml.Header), append(text, '\n')...), err
}

// Element writes the picture as an element of SVG, which a page of HTML can hold.
func (p *Picture) Element() ([]byte, error) {
	size, err := Numbers{p.W, p.H}.MarshalText()
	if err != nil {
		return nil, err
	}
	w, h, _ := strings.Cut(string(size), " ")
	p.Width, p.Height, p.ViewBox = w+"pt", h+"pt", "0 0 "+string(size)
	p.Role, p.Fonts = "img", letters.Families
	faces := Faces{}
	for _, g := range p.Figures {
		for i, s := range g.Shapes {
			if w, ok := s.(Words); ok {
				g.Shapes[i] = w.fit(faces)
			}
		}
	}
	return xml.MarshalIndent(p, "", " ")
}
