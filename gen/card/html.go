package card

import (
	"bytes"
	"fmt"
	"html"
	"html/template"
	"strings"
	"sync"

	"propwright/gen"
	"propwright/gen/letters"
	"propwright/model/check"
	"propwright/templates"
)

var sheet = sync.OnceValue(func() *template.Template {
	return template.Must(template.ParseFS(templates.Card, "card/card.html.tmpl"))
})

// HTML writes the card as a page of one A5 sheet that needs nothing else.
func (c *Card) HTML() ([]byte, error) {
	var b bytes.Buffer
	err := sheet().Execute(&b, struct {
		*Card
		Width, Height float64
		Fonts         template.CSS
		Picture       template.HTML
	}{c, pageWidth, pageHeight, letters.Families, template.HTML(lay(c).svg())})
	return b.Bytes(), err
}

// SVG writes the card as a picture of its own, as large as it is to be printed.
func (c *Card) SVG() ([]byte, error) {
	var b bytes.Buffer
	fmt.Fprintf(&b, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%gmm\" height=\"%gmm\" viewBox=\"0 0 %[1]g %[2]g\" role=\"img\" aria-label=\"%[3]s\" font-family=\"%[4]s\">\n",
		pageWidth, pageHeight, html.EscapeString(c.Title+": operator's card. To stop press "+c.Stop+"."), letters.Families)
	fmt.Fprintf(&b, "<rect width=\"%g\" height=\"%g\" fill=\"#ffffff\"/>\n%s</svg>\n", pageWidth, pageHeight, lay(c).svg())
	return b.Bytes(), nil
}

// Size is how large the table's type is, in points: the largest that fits.
func (c *Card) Size() float64 { return lay(c).size }

// svg writes the page's items, whose texts are escaped.
func (p *page) svg() string {
	var b strings.Builder
	for _, i := range p.items {
		paint := ""
		if i.kind != textItem {
			paint = fmt.Sprintf(` fill="%s"`, none(i.fill))
			if i.stroke != "" {
				paint += fmt.Sprintf(` stroke="%s" stroke-width="%.2f"`, i.stroke, i.pen)
			}
		}
		switch i.kind {
		case boxItem:
			fmt.Fprintf(&b, `<rect x="%.2f" y="%.2f" width="%.2f" height="%.2f" rx="%.2f"%s/>`, i.x, i.y, i.w, i.h, i.r, paint)
		case signItem:
			b.WriteString(`<polygon points="`)
			for n, pt := range i.octagon() {
				if n > 0 {
					b.WriteByte(' ')
				}
				fmt.Fprintf(&b, "%.2f,%.2f", pt[0], pt[1])
			}
			fmt.Fprintf(&b, `"%s/>`, paint)
		case lineItem:
			fmt.Fprintf(&b, `<line x1="%.2f" y1="%.2f" x2="%.2f" y2="%.2f"%s/>`, i.x, i.y, i.x+i.w, i.y+i.h, paint)
		case textItem:
			// Type is set in millimetres, as all lengths here.
			fmt.Fprintf(&b, `<text x="%.2f" y="%.2f" font-size="%.3f" fill="%s"`, i.x, i.y, i.size*0.3528, i.fill)
			if i.bold {
				b.WriteString(` font-weight="bold"`)
			}
			if i.middle {
				b.WriteString(` text-anchor="middle"`)
			}
			fmt.Fprintf(&b, ">%s</text>", html.EscapeString(i.text))
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func none(fill string) string {
	if fill == "" {
		return "none"
	}
	return fill
}

// octagon gives the corners of a sign.
func (i *item) octagon() [8][2]float64 {
	const cut = 0.2929 // of the side: 1/(2+√2)
	x0, x1, x2, x3 := i.x, i.x+i.w*cut, i.x+i.w*(1-cut), i.x+i.w
	y0, y1, y2, y3 := i.y, i.y+i.h*cut, i.y+i.h*(1-cut), i.y+i.h
	return [8][2]float64{{x1, y0}, {x2, y0}, {x3, y1}, {x3, y2}, {x2, y3}, {x1, y3}, {x0, y2}, {x0, y1}}
}

// Files gives the card of a build.
func Files(s *check.Study) ([]gen.File, error) {
	text, err := New(s).HTML()
	if err != nil {
		return nil, err
	}
	return []gen.File{{Path: "card.html", Text: text}}, nil
}
