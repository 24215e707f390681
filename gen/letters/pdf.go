package letters

import (
	"time"

	"github.com/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// PDFFont is the family name of the Go fonts in a document, regular and bold.
const PDFFont = "go"

// Document begins a PDF document of w × h points a page with the Go fonts in it. It is
// dated 1970, so that the same pages give the same bytes.
func Document(title string, w, h float64) *fpdf.Fpdf {
	f := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "pt", Size: fpdf.SizeType{Wd: w, Ht: h}})
	never := time.Unix(0, 0).UTC()
	f.SetCreationDate(never)
	f.SetModificationDate(never)
	f.SetCatalogSort(true)
	f.SetTitle(Written(title), true)
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes(PDFFont, "", goregular.TTF)
	f.AddUTF8FontFromBytes(PDFFont, "B", gobold.TTF)
	return f
}
