package card

import (
	"bytes"
	"cmp"
	"html/template"
	"sync"

	"propwright/gen"
	"propwright/gen/picture"
	"propwright/model/check"
	"propwright/templates"
)

var sheet = sync.OnceValue(func() *template.Template {
	return template.Must(template.ParseFS(templates.Card, "card/card.html.tmpl"))
})

// picture returns the card as it is printed.
func (c *Card) picture() *picture.Picture { return lay(c).picture(c) }

func (l *layer) picture(c *Card) *picture.Picture {
	p := &picture.Picture{W: l.w, H: l.h, Label: c.Title + ": operator's card. To stop press " + c.Stop + "."}
	paper := picture.Path{D: picture.Polygon(0, 0, p.W, 0, p.W, p.H, 0, p.H), Fill: white, Stroke: "none"}
	p.Figures = []picture.Figure{{Shapes: append([]any{paper}, l.shapes...)}}
	return p
}

// Paper returns what one prints the card on, A5 or A4.
func (c *Card) Paper() string { return lay(c).name }

// HTML writes the card as a page of one sheet that needs nothing else.
func (c *Card) HTML() ([]byte, error) {
	l := lay(c)
	svg, err := l.picture(c).Element()
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = sheet().Execute(&b, struct {
		Title, Paper string
		Picture      template.HTML
	}{c.Title, l.name, template.HTML(svg)})
	return b.Bytes(), err
}

// SVG writes the card as a picture of its own, as large as it is to be printed.
func (c *Card) SVG() ([]byte, error) { return c.picture().SVG() }

// PDF writes the card as a document of one page in the Go fonts. Prop and states whose
// labels these cannot write have their names (see Missing). The same card gives the
// same bytes.
func (c *Card) PDF() ([]byte, error) { return cmp.Or(c.named, c).picture().Page() }

// Missing lists the characters of labels that a PDF's font cannot write.
func (c *Card) Missing() string { return c.picture().Missing() }

// Size returns how large the table's type is, in points: the largest that fits.
func (c *Card) Size() float64 { return lay(c).size }

// Files returns the card of a build.
func Files(s *check.Study) ([]gen.File, error) {
	text, err := New(s, "").HTML()
	if err != nil {
		return nil, err
	}
	return []gen.File{{Path: "card.html", Text: text}}, nil
}
