package card

import (
	"bytes"
	"strconv"
	"time"

	"github.com/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"propwright/gen/letters"
)

// PDF writes the card as a document of one A5 page with its font in it; what
// that font cannot write is a box (see Missing). The same card gives the same
// bytes.
func (c *Card) PDF() ([]byte, error) {
	f := fpdf.NewCustom(&fpdf.InitType{
		OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: pageWidth, Ht: pageHeight},
	})
	never := time.Unix(0, 0).UTC() // a date would differ from build to build
	f.SetCreationDate(never)
	f.SetModificationDate(never)
	f.SetCatalogSort(true)
	f.SetTitle(letters.Written(c.Title)+": operator's card", true)
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes("go", "", goregular.TTF)
	f.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	f.AddPage()
	for _, i := range lay(c).items {
		style := ""
		if i.fill != "" && i.kind != textItem {
			f.SetFillColor(rgb(i.fill))
			style = "F"
		}
		if i.stroke != "" {
			f.SetDrawColor(rgb(i.stroke))
			f.SetLineWidth(i.pen)
			style += "D"
		}
		switch i.kind {
		case boxItem:
			f.RoundedRect(i.x, i.y, i.w, i.h, i.r, "1234", style)
		case signItem:
			var pts []fpdf.PointType
			for _, pt := range i.octagon() {
				pts = append(pts, fpdf.PointType{X: pt[0], Y: pt[1]})
			}
			f.Polygon(pts, style)
		case lineItem:
			f.Line(i.x, i.y, i.x+i.w, i.y+i.h)
		case textItem:
			face := ""
			if i.bold {
				face = "B"
			}
			text := letters.Written(i.text)
			f.SetFont("go", face, i.size)
			f.SetTextColor(rgb(i.fill))
			x := i.x
			if i.middle {
				x -= f.GetStringWidth(text) / 2
			}
			f.Text(x, i.y, text)
		}
	}
	var b bytes.Buffer
	err := f.Output(&b)
	return b.Bytes(), err
}

// Missing lists the characters that a PDF's font cannot write.
func (c *Card) Missing() string {
	texts := []string{c.Title}
	for _, i := range lay(c).items {
		texts = append(texts, i.text)
	}
	return letters.Missing(texts...)
}

func rgb(s string) (r, g, b int) {
	v, _ := strconv.ParseUint(s[1:], 16, 32) // this package's own colours
	return int(v >> 16), int(v >> 8 & 255), int(v & 255)
}
