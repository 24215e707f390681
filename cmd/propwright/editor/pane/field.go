package pane

import (
	"strings"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"
)

// A Field is one line of text being written.
type Field struct {
	input *tview.InputField
}

// NewField starts writing, with a text to begin with.
func NewField(t Theme, text string) *Field {
	in := tview.NewInputField().SetText(text)
	in.SetFieldStyle(t.Field)
	in.Focus(noFocus)
	return &Field{in}
}

// noFocus is for tview, where a primitive may pass the keys on to another.
func noFocus(tview.Primitive) {}

// Text returns what is written so far.
func (f *Field) Text() string { return f.input.GetText() }

// SetText writes another text.
func (f *Field) SetText(s string) { f.input.SetText(s) }

// Key gives the field a key and reports whether the text has changed.
func (f *Field) Key(ev *tcell.EventKey) bool {
	before := f.Text()
	f.input.InputHandler()(ev, noFocus)
	return f.Text() != before
}

// Paste writes a text where the field's cursor is.
func (f *Field) Paste(line string) { f.input.PasteHandler()(line, noFocus) }

// Draw draws the field on the pen's first line.
func (f *Field) Draw(p Pen) {
	if p.W < 1 || p.H < 1 {
		return
	}
	f.input.SetRect(p.X, p.Y, p.W, 1)
	f.input.Draw(p.screen)
}

// OneLine returns a text without line breaks.
func OneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
