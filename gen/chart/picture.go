package chart

import (
	"encoding/xml"
	"fmt"
	"math"
	"strconv"

	"propwright/gen/letters"
	"propwright/model"
)

// A picture is a chart drawn: paths and text, in points from the upper left
// corner. SVG and PNG show the same picture.
type picture struct {
	XMLName xml.Name `xml:"http://www.w3.org/2000/svg svg"`
	W       float64  `xml:"-"`
	H       float64  `xml:"-"`
	Width   string   `xml:"width,attr"`
	Height  string   `xml:"height,attr"`
	ViewBox string   `xml:"viewBox,attr"`
	Role    string   `xml:"role,attr"`
	Label   string   `xml:"aria-label,attr"`
	Fonts   string   `xml:"font-family,attr"`
	Figures []figure `xml:"g"`
}

// A figure is a box, an arrow or the heading.
type figure struct { // element g
	ID     string `xml:"id,attr,omitempty"`
	Title  string `xml:"title,omitempty"` // shown where the pointer rests
	Shapes []any  // path or words
}

// A path is a line or an area.
type path struct {
	XMLName xml.Name `xml:"path"`
	D       outline  `xml:"d,attr"`
	Fill    string   `xml:"fill,attr"`   // #rrggbb or none
	Stroke  string   `xml:"stroke,attr"` // #rrggbb or none
	Width   number   `xml:"stroke-width,attr,omitempty"`
	Dashes  numbers  `xml:"stroke-dasharray,attr,omitempty"`
}

// Words are a line of text.
type words struct {
	XMLName xml.Name `xml:"text"`
	X       number   `xml:"x,attr"`
	Y       number   `xml:"y,attr"`                     // of the base line
	Anchor  string   `xml:"text-anchor,attr,omitempty"` // middle, or from X on
	Weight  string   `xml:"font-weight,attr,omitempty"`
	Size    number   `xml:"font-size,attr"`
	Fill    string   `xml:"fill,attr"`
	Text    string   `xml:",chardata"`
}

// An outline is the data of a path: the steps M, L, C and Z of SVG, with
// absolute coordinates.
type outline []step

type step struct {
	letter string
	at     numbers // x and y in turn
}

func (o outline) MarshalText() ([]byte, error) {
	var b []byte
	for _, s := range o {
		b = s.at.appendTo(append(b, s.letter...))
	}
	return b, nil
}

// Numbers are lengths, written in tenths.
type numbers []float64

func (n numbers) MarshalText() ([]byte, error) { return n.appendTo(nil), nil }

func (n numbers) appendTo(b []byte) []byte {
	for i, x := range n {
		if i > 0 {
			b = append(b, ' ')
		}
		b = strconv.AppendFloat(b, math.Round(x*10)/10, 'f', -1, 64)
	}
	return b
}

// A number is a length, written in tenths.
type number float64

func (n number) MarshalText() ([]byte, error) { return numbers{float64(n)}.MarshalText() }

// SVG draws the chart.
func (c *Chart) SVG() ([]byte, error) {
	p := c.picture()
	p.Width, p.Height = fmt.Sprintf("%.0fpt", p.W), fmt.Sprintf("%.0fpt", p.H)
	p.ViewBox = fmt.Sprintf("0 0 %.0f %.0f", p.W, p.H)
	p.Role, p.Label = "img", model.Visible(c.Title)+": what leads from state to state"
	p.Fonts = letters.Families
	text, err := xml.MarshalIndent(p, "", " ")
	return append([]byte(xml.Header), append(text, '\n')...), err
}
