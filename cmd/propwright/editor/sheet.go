package editor

import (
	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

// A sheet is a list of elements in columns, with a cursor: what the remote,
// the rig and the routines are shown in.
type sheet struct {
	pane.List
	lines []sheetLine
}

// A sheetLine is one line: an element, or a heading where elem has no sort.
type sheetLine struct {
	elem  model.Elem
	cells []string
}

// put changes the lines; the cursor stays where it was as far as it can, on an
// element.
func (s *sheet) put(lines []sheetLine) {
	s.lines = lines
	s.Put(len(lines), func(i int) bool { return lines[i].elem.Sort != "" })
}

func (s *sheet) place() model.Elem {
	at, _ := s.elem()
	return at
}

// elem returns the element under the cursor.
func (s *sheet) elem() (model.Elem, bool) {
	if s.At >= len(s.lines) || s.lines[s.At].elem.Sort == "" {
		return model.Elem{Sort: model.SortProp}, false
	}
	return s.lines[s.At].elem, true
}

// arrive puts the cursor on an element.
func (s *sheet) arrive(at model.Elem) bool {
	for i := range s.lines {
		if s.lines[i].elem == at {
			s.At = i
			return true
		}
	}
	return false
}

// draw draws the lines in columns of the widths given; the last column takes
// what is left.
func (s *sheet) draw(p pane.Pen, ws *workspace, here bool, widths ...int) {
	t := ws.theme
	for y, i := range s.Lines(p.H) {
		l := &s.lines[i]
		style := t.Plain
		switch {
		case l.elem.Sort == "":
			style = t.Head
		case i == s.At:
			style = t.CursorOf(here)
		}
		if i == s.At {
			p.Fill(0, y, p.W, style)
		}
		x := 1
		for i, c := range l.cells {
			w := p.W - x
			if i < len(widths) && i+1 < len(l.cells) { // the last cell has what is left
				w = min(widths[i], w)
			}
			p.Within(x, y, w, style, c)
			x += w + 1
		}
		if l.elem.Sort != "" && ws.review.Marks(l.elem) {
			p.Set(0, y, '▸', t.Errs)
		}
	}
	s.More(p, t.Strong)
}

// click puts the cursor on a line of the screen.
func (s *sheet) click(_, y int) bool { return s.Click(y) }
