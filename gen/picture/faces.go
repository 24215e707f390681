package picture

import (
	"golang.org/x/image/font"

	"propwright/gen/letters"
)

type fontKey struct {
	bold bool
	size float64
}

// Faces are the fonts in the sizes that one picture needs.
type Faces map[fontKey]font.Face

func (f Faces) face(bold bool, size float64) font.Face {
	k := fontKey{bold, size}
	if f[k] == nil {
		f[k] = letters.Face(bold, size)
	}
	return f[k]
}

// Width returns a text's width in points. It is measured at a large size, so that
// rounding to dots does not count. In Helvetica, which an SVG asks for, a text is
// 0.96 to 1 times as wide (measured on the cards of this project in Liberation Sans,
// which has Helvetica's widths).
func (f Faces) Width(text string, bold bool, size float64) float64 {
	const large = 64
	return float64(font.MeasureString(f.face(bold, large), letters.Written(text))) / 64 / large * size
}
