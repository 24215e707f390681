package pane

import (
	"os"

	"github.com/gdamore/tcell/v2"
)

// A Theme names every style that a screen is drawn with. Colour never says
// anything alone: each style that means something also has a word, a mark or
// an attribute.
type Theme struct {
	Plain, Dim, Strong   tcell.Style
	Bar, BarKey          tcell.Style // the top line and the key line
	Head, HeadHere       tcell.Style // headings, and those of the cursor's row and column
	Cursor, CursorIdle   tcell.Style // of the part that has the keys, and of one that has not
	Inherited            tcell.Style
	Errs, Warning, Notes tcell.Style
	Good                 tcell.Style
	Field                tcell.Style // a value being edited
	Box                  tcell.Style // lines of frames and graphs
	Colours              bool        // any colour can be shown
}

// CursorOf returns the style of a cursor that has the keys, or of one that has not.
func (t *Theme) CursorOf(keys bool) tcell.Style {
	if keys {
		return t.Cursor
	}
	return t.CursorIdle
}

// Colourless reports whether the user asked for no colour (no-color.org).
func Colourless() bool { return os.Getenv("NO_COLOR") != "" }

// NewTheme chooses the styles for a terminal of so many colours: the
// terminal's own sixteen, so that a light and a dark background both stay
// readable.
func NewTheme(colours int) Theme {
	d := tcell.StyleDefault
	t := Theme{
		Plain: d, Dim: d.Dim(true), Strong: d.Bold(true),
		Bar: d.Reverse(true), BarKey: d.Reverse(true).Bold(true),
		Head: d.Underline(true), HeadHere: d.Underline(true).Bold(true),
		Cursor: d.Reverse(true).Bold(true), CursorIdle: d.Underline(true).Bold(true),
		Inherited: d.Dim(true),
		Errs:      d.Bold(true), Warning: d.Bold(true), Notes: d, Good: d,
		Field: d.Reverse(true), Box: d.Dim(true),
	}
	if colours < 8 {
		return t
	}
	t.Colours = colours >= 256
	t.BarKey = t.Bar.Bold(true)
	t.Errs = d.Foreground(tcell.ColorMaroon).Bold(true)
	t.Warning = d.Foreground(tcell.ColorOlive).Bold(true)
	t.Notes = d.Foreground(tcell.ColorTeal)
	t.Good = d.Foreground(tcell.ColorGreen)
	t.Box = d.Foreground(tcell.ColorGray)
	t.Dim = d.Foreground(tcell.ColorGray)
	t.Inherited = t.Dim
	t.Head = d.Foreground(tcell.ColorTeal)
	t.HeadHere = d.Foreground(tcell.ColorTeal).Bold(true).Underline(true)
	t.Field = d.Background(tcell.ColorTeal).Foreground(tcell.ColorBlack)
	if colours < 16 { // gray is one of the upper eight
		t.Box, t.Dim, t.Inherited = d.Dim(true), d.Dim(true), d.Dim(true)
	}
	return t
}
