package editor

import (
	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

// A theme is the styles that the editor draws with, those of the kinds of
// states among them.
type theme struct {
	pane.Theme
	kinds map[model.StateKind]tcell.Style
}

// newTheme chooses the styles for a terminal of so many colours.
func newTheme(colours int) theme {
	d := tcell.StyleDefault
	t := theme{pane.NewTheme(colours), map[model.StateKind]tcell.Style{model.Dormant: d, model.Ambient: d, model.Performing: d.Bold(true)}}
	if t.Colours {
		t.kinds = map[model.StateKind]tcell.Style{
			model.Dormant:    d.Foreground(pane.Teal),
			model.Ambient:    d.Foreground(pane.Green),
			model.Performing: d.Foreground(pane.Purple).Bold(true),
		}
	}
	return t
}

// kindMark returns a state's kind as one character beside its name.
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
