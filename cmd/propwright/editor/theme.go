package editor

import (
	"os"

	"github.com/gdamore/tcell/v2"

	"propwright/model"
)

// A theme names every style that the editor draws with. Colour never says
// anything alone: each style that means something also has a word, a mark or
// an attribute.
type theme struct {
	plain, dim, strong   tcell.Style
	bar, barKey          tcell.Style // the top line and the key line
	head, headHere       tcell.Style // headings, and those of the cursor's row and column
	cursor, cursorIdle   tcell.Style // of the part that has the keys, and of one that has not
	inherited            tcell.Style
	errs, warning, notes tcell.Style
	good                 tcell.Style
	field                tcell.Style // a value being edited
	box                  tcell.Style // lines of frames and graphs
	kinds                map[model.StateKind]tcell.Style
	colours              bool // light can be shown in its own colour
}

// colourless reports whether the user asked for no colour (no-color.org).
func colourless() bool { return os.Getenv("NO_COLOR") != "" }

// newTheme chooses the styles for a terminal of so many colours: the
// terminal's own sixteen, so that a light and a dark background both stay
// readable.
func newTheme(colours int) theme {
	d := tcell.StyleDefault
	t := theme{
		plain: d, dim: d.Dim(true), strong: d.Bold(true),
		bar: d.Reverse(true), barKey: d.Reverse(true).Bold(true),
		head: d.Underline(true), headHere: d.Underline(true).Bold(true),
		cursor: d.Reverse(true).Bold(true), cursorIdle: d.Underline(true).Bold(true),
		inherited: d.Dim(true),
		errs:      d.Bold(true), warning: d.Bold(true), notes: d, good: d,
		field: d.Reverse(true), box: d.Dim(true),
		kinds: map[model.StateKind]tcell.Style{model.Dormant: d, model.Ambient: d, model.Performing: d.Bold(true)},
	}
	if colours < 8 {
		return t
	}
	t.colours = colours >= 256
	t.barKey = t.bar.Bold(true)
	t.errs = d.Foreground(tcell.ColorMaroon).Bold(true)
	t.warning = d.Foreground(tcell.ColorOlive).Bold(true)
	t.notes = d.Foreground(tcell.ColorTeal)
	t.good = d.Foreground(tcell.ColorGreen)
	t.box = d.Foreground(tcell.ColorGray)
	t.dim = d.Foreground(tcell.ColorGray)
	t.inherited = t.dim
	t.head = d.Foreground(tcell.ColorTeal)
	t.headHere = d.Foreground(tcell.ColorTeal).Bold(true).Underline(true)
	t.field = d.Background(tcell.ColorTeal).Foreground(tcell.ColorBlack)
	t.kinds = map[model.StateKind]tcell.Style{
		model.Dormant:    d.Foreground(tcell.ColorTeal),
		model.Ambient:    d.Foreground(tcell.ColorGreen),
		model.Performing: d.Foreground(tcell.ColorPurple).Bold(true),
	}
	if colours < 16 { // gray is one of the upper eight
		t.box, t.dim, t.inherited = d.Dim(true), d.Dim(true), d.Dim(true)
	}
	return t
}

// kindMark is a state's kind as one character beside its name.
func kindMark(k model.StateKind) string {
	switch k {
	case model.Dormant:
		return "z"
	case model.Ambient:
		return "~"
	case model.Performing:
		return "!"
	}
	return "?"
}
