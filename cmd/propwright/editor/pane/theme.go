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

// Colours that can be read on a black and on a white background: each contrasts at
// least 4 : 1 with either, where no colour has more than 4.6 : 1 with both (contrast as
// in W3C, Web Content Accessibility Guidelines 2.2, 2023, 1.4.3). A terminal's own
// sixteen would not do: yellow and cyan fade on white, and a bold colour is brighter on
// many.
var (
	Red    = tcell.PaletteColor(196)
	Orange = tcell.PaletteColor(130)
	Green  = tcell.PaletteColor(28)
	Teal   = tcell.PaletteColor(30)
	Purple = tcell.PaletteColor(133)
	Gray   = tcell.PaletteColor(243)
)

// NewTheme chooses the styles for a terminal of so many colours. One of fewer than 256
// is drawn with attributes, and its red.
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
	switch {
	case colours >= 256:
		t.Colours = true
		t.Errs = d.Foreground(Red).Bold(true)
		t.Warning = d.Foreground(Orange).Bold(true)
		t.Notes, t.Head = d.Foreground(Teal), d.Foreground(Teal)
		t.HeadHere = t.Head.Bold(true).Underline(true)
		t.Good = d.Foreground(Green)
		t.Dim, t.Inherited, t.Box = d.Foreground(Gray), d.Foreground(Gray), d.Foreground(Gray)
		t.Field = d.Background(Teal).Foreground(tcell.ColorBlack)
	case colours >= 8:
		t.Errs = d.Foreground(tcell.ColorMaroon).Bold(true)
	}
	return t
}
