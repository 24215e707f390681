package editor

import (
	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

// A sheet is a list of elements in columns, with a cursor: what the remote,
// the rig and the routines are shown in.
type sheet struct {
	lines []sheetLine
	at    int
	top   int
	rows  int
}

// A sheetLine is one line: an element, or a heading where elem has no sort.
type sheetLine struct {
	elem  model.Elem
	cells []string
}

// put changes the lines; the cursor stays where it was as far as it can.
func (s *sheet) put(lines []sheetLine) {
	s.lines = lines
	s.at = max(min(s.at, len(lines)-1), 0)
	s.settle(1)
}

// settle moves the cursor from a heading to an element.
func (s *sheet) settle(step int) {
	s.at = pane.Settled(s.at, step, len(s.lines), func(i int) bool { return s.lines[i].elem.Sort != "" })
}

func (s *sheet) step(dy int) {
	step := 1
	if dy < 0 {
		step = -1
	}
	s.at = max(min(s.at+dy, len(s.lines)-1), 0)
	s.settle(step)
}

// move, page, end and far are those of a view that is a sheet.
func (s *sheet) move(_, dy int) { s.step(dy) }
func (s *sheet) page(dy int)    { s.step(dy * max(s.rows-1, 1)) }
func (s *sheet) end(dx int)     { s.far(dx) }
func (s *sheet) far(dy int)     { s.step(dy * len(s.lines)) }

func (s *sheet) place() model.Elem {
	at, _ := s.elem()
	return at
}

// elem is the element under the cursor.
func (s *sheet) elem() (model.Elem, bool) {
	if s.at >= len(s.lines) || s.lines[s.at].elem.Sort == "" {
		return model.Elem{Sort: model.SortProp}, false
	}
	return s.lines[s.at].elem, true
}

// arrive puts the cursor on an element.
func (s *sheet) arrive(at model.Elem) bool {
	for i := range s.lines {
		if s.lines[i].elem == at {
			s.at = i
			return true
		}
	}
	return false
}

// draw draws the lines in columns of the widths given; the last column takes
// what is left.
func (s *sheet) draw(p pane.Pen, ws *workspace, here bool, widths ...int) {
	t := ws.theme
	s.rows = p.H
	s.top = pane.Scrolled(s.top, s.at, p.H, len(s.lines))
	for y := 0; y < p.H && s.top+y < len(s.lines); y++ {
		l := &s.lines[s.top+y]
		style := t.Plain
		switch {
		case l.elem.Sort == "":
			style = t.Head
		case s.top+y == s.at && here:
			style = t.Cursor
		case s.top+y == s.at:
			style = t.CursorIdle
		}
		if s.top+y == s.at {
			p.Fill(0, y, p.W, style)
		}
		x := 1
		for i, c := range l.cells {
			w := p.W - x
			if i < len(widths) {
				w = min(widths[i], w)
			}
			p.Within(x, y, w, style, c)
			x += w + 1
		}
		if l.elem.Sort != "" && ws.review.marked(l.elem) {
			p.Set(0, y, '▸', t.Errs)
		}
	}
	p.More(t.Strong, s.top > 0, s.top+p.H < len(s.lines))
}

// click puts the cursor on a line of the screen.
func (s *sheet) click(_, y int) bool {
	if i := s.top + y; y >= 0 && i < len(s.lines) && s.lines[i].elem.Sort != "" {
		s.at = i
		return true
	}
	return false
}
