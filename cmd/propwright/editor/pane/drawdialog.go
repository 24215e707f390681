package pane

import (
	"fmt"

	"github.com/gdamore/tcell/v2"
)

// Columns of a dialog's box, where the screen has them, and the lines of one
// with a Body: it stays where it is while its text grows.
const (
	leastChooser = 64
	textColumns  = 68
	bodyColumns  = 76
	bodyLines    = 14
)

// Draw draws the dialog's box and returns where.
func (d *Dialog) Draw(p Pen) Pen {
	switch d.form {
	case chooser:
		return d.drawChooser(p)
	case prompt:
		return d.drawPrompt(p)
	case question:
		return d.drawQuestion(p)
	}
	box, in := d.box(p, bodyColumns, bodyLines)
	d.Body(in)
	return box
}

// box draws an empty box of so many columns and lines at most, and returns it
// and its inside.
func (d *Dialog) box(p Pen, w, h int) (box, in Pen) {
	t := d.in.Theme
	w, h = min(w, p.W-2), min(h, p.H)
	box = p.Part((p.W-w)/2, max((p.H-h)/3, 0), w, h)
	box.Clear(t.Plain)
	return box, box.Frame(t.Box, t.Strong, d.Title)
}

// item begins an item's line and returns the style and the mark of its text.
func (d *Dialog) item(in Pen, y, i int) (style tcell.Style, mark string) {
	if i != d.Pick {
		return d.in.Theme.Plain, "  "
	}
	in.Fill(0, y, in.W, d.in.Theme.Cursor)
	return d.in.Theme.Cursor, "» "
}

func (d *Dialog) drawChooser(p Pen) Pen {
	t := d.in.Theme
	w := max(leastChooser, Width(d.Hint)+4)
	for i := range d.Items {
		w = max(w, Width(d.Items[i].Text)+Width(d.Items[i].Note)+8)
	}
	w = min(w, p.W-2)
	var wrong []string
	if d.Err != nil {
		wrong = Wrap(d.Err.Error(), w-4)
	}
	box, in := d.box(p, w, min(max(len(d.found), 1)+3+max(len(wrong), 1), max(18, p.H*2/3)))
	d.first = box.Y - p.Y + 2
	d.Input.Draw(in.Part(1, 0, in.W-2, 1))
	last := in.H - 1
	switch {
	case d.Err != nil:
		last = in.H - len(wrong)
		in.Lines(1, last, t.Errs, wrong)
	case len(d.found) == 0 && d.Input.Text() != "":
		in.Text(1, last, t.Warning, "nothing of that name")
	default:
		in.Text(1, last, t.Dim, d.Hint)
	}
	rows := max(last-1, 1)
	d.top = Scrolled(d.top, d.Pick, rows, len(d.found))
	for y := 0; y < rows && d.top+y < len(d.found); y++ {
		it := d.found[d.top+y]
		style, mark := d.item(in, 1+y, d.top+y)
		note := Fit(it.Note, max(in.W/2, in.W-6-Width(it.Text)))
		in.Within(1, 1+y, in.W-3-Width(note), style, mark+it.Text)
		if d.top+y != d.Pick {
			style = t.Dim
		}
		in.Text(in.W-1-Width(note), 1+y, style, note)
	}
	box.Part(0, 2, box.W, rows).More(t.Strong, d.top > 0, d.top+rows < len(d.found))
	return box
}

func (d *Dialog) drawPrompt(p Pen) Pen {
	t := d.in.Theme
	w := min(textColumns, p.W-2)
	lines, style := Wrap(d.Hint, w-4), t.Dim
	if d.Err != nil {
		lines, style = Wrap(d.Err.Error(), w-4), t.Errs
	}
	box, in := d.box(p, w, len(lines)+3)
	d.Input.Draw(in.Part(1, 0, in.W-2, 1))
	in.Lines(1, 1, style, lines)
	return box
}

func (d *Dialog) drawQuestion(p Pen) Pen {
	t := d.in.Theme
	w := min(textColumns, p.W-2)
	lines := Wrap(d.Text, w-4)
	text := len(lines)
	if d.Err != nil {
		lines = append(lines, Wrap(d.Err.Error(), w-4)...)
	}
	h := min(len(lines)+len(d.found)+3, p.H)
	if room := max(h-len(d.found)-3, 0); room < len(lines) {
		hidden := len(lines) - room + 1
		if lines = lines[:room]; room > 0 {
			lines[room-1] = fmt.Sprintf("… and %d lines more", hidden)
		}
	}
	box, in := d.box(p, w, h)
	for y, s := range lines {
		style := t.Plain
		if y >= text {
			style = t.Errs
		}
		in.Text(1, y, style, s)
	}
	y := len(lines) + 1
	d.first = box.Y - p.Y + 1 + y
	for i, a := range d.found {
		style, mark := d.item(in, y+i, i)
		in.Text(1, y+i, style, mark+a.Text)
	}
	return box
}
