package pane_test

import (
	"math"
	"testing"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"

	"propwright/cmd/propwright/editor/pane"
)

// luminance is a colour's relative luminance (W3C, Web Content Accessibility
// Guidelines 2.2, 2023).
func luminance(c tcell.Color) float64 {
	r, g, b := c.RGB()
	linear := func(v int32) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b)
}

// What is written in a colour can be read on a light and on a dark terminal. Only
// red and magenta of a terminal's own colours could be, and a terminal may change them.
func TestColoursReadOnBlackAndOnWhite(t *testing.T) {
	for _, colours := range []int{0, 8, 16, 88, 256, 1 << 24} {
		th := pane.NewTheme(colours)
		for _, s := range []tcell.Style{
			th.Plain, th.Dim, th.Strong, th.Bar, th.BarKey, th.Head, th.HeadHere, th.Cursor, th.CursorIdle,
			th.Inherited, th.Errs, th.Warning, th.Notes, th.Good, th.Field, th.Box,
		} {
			fg, bg, _ := s.Decompose()
			switch {
			case !fg.Valid():
				assert.False(t, bg.Valid(), "the terminal's own colour on another background")
			case bg.Valid():
				assert.Greater(t, (luminance(bg)+0.05)/(luminance(fg)+0.05), 4.0, "black on a colour")
			case colours < 256:
				assert.Equal(t, tcell.ColorMaroon, fg)
			default:
				l := luminance(fg)
				assert.GreaterOrEqual(t, math.Round(10*(l+0.05)/0.05)/10, 4.0, "%v on black", fg)
				assert.GreaterOrEqual(t, math.Round(10*1.05/(l+0.05))/10, 4.0, "%v on white", fg)
			}
		}
	}
}
