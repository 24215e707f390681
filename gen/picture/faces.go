package picture

import (
	"golang.org/x/image/font"

	"propwright/gen/letters"
)

// Helvetica is narrower than the Go fonts, with which a PNG is written: the Go
// fonts are some 6 % wider, and lines of long names with hyphens up to 10 %
// (measured on this project's charts). In this part of their size they are as
// wide.
const narrower = 0.92

type fontKey struct {
	bold bool
	size float64
}

// Faces are the fonts in the sizes that one picture needs.
type Faces map[fontKey]font.Face

func (f Faces) face(bold bool, size float64) font.Face {
	k := fontKey{bold, size}
	if f[k] == nil {
		f[k] = letters.Face(bold, size*narrower)
	}
	return f[k]
}

// Width is a text's width in points. It is measured in a large size, so that
// no rounding to dots counts.
func (f Faces) Width(text string, bold bool, size float64) float64 {
	const large = 64
	return float64(font.MeasureString(f.face(bold, large), letters.Written(text))) / 64 / large * size
}
