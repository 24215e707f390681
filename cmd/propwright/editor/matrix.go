package editor

import (
	"fmt"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

const inMatrix scope = "matrix"

// matrix is the home view: the state–event matrix.
type matrix struct {
	cellEdits
	top, left  int // the first row and column on the screen
	rows, cols int // how many of each were drawn last
}

const (
	headLines   = 2
	rowHead     = 17 // columns of the row headings
	moreColumns = 5  // of the screen, for how many triggers are further to the right
)

// draw draws what fits; the cursor's row and column always do.
func (m *matrix) draw(p pane.Pen, here bool) {
	g, t := m.grid, m.theme
	m.rows = max(p.H-headLines-1, 1)
	m.top = pane.Scrolled(m.top, m.r, m.rows, len(g.rows))
	m.scrollColumns(p.W - rowHead - moreColumns)
	m.drawHeads(p, t)
	for y := 0; y < m.rows && m.top+y < len(g.rows); y++ {
		m.drawRow(p, m.top+y, headLines+y, here)
	}
	p.Part(0, headLines, p.W, m.rows).More(t.Strong, m.top > 0, m.top+m.rows < len(g.rows))
	p.Text(1, p.H-1, t.Dim, m.legend(p.W-2))
}

// legend says in w columns what the marks of cells mean, orders where there are any.
func (m *matrix) legend(w int) string {
	order, short := "", ""
	if slices.ContainsFunc(m.desk.design().Transitions, func(t model.Transition) bool { return t.Do != nil }) {
		order, short = "/order: does that and stays  ", "/order: stays  "
	}
	long := "name: goes there  »name: when the routine ends  " + order + "· ignored  (…): said by any  empty: not said  !: two say it  ▸: finding"
	if pane.Width(long) <= w {
		return long
	}
	if short != "" {
		return "»at routine's end  " + short + "· ignored  (…) by any  ! twice  ▸ finding"
	}
	return "»when routine ends  · ignored  (…) by any  empty: not said  ! twice  ▸ finding"
}

// scrollColumns makes the cursor's column fit into w columns of the screen.
func (m *matrix) scrollColumns(w int) {
	cols := m.grid.columns
	m.left = max(min(m.left, m.c), 0)
	for {
		x, last := 0, m.left
		for ; last < len(cols) && x+cols[last].width+1 <= w; last++ {
			x += cols[last].width + 1
		}
		m.cols = max(last-m.left, 1)
		if m.c < m.left+m.cols || m.left >= m.c {
			return
		}
		m.left++
	}
}

func (m *matrix) drawHeads(p pane.Pen, t theme) {
	g := m.grid
	p.Fill(0, 0, p.W, t.Plain)
	p.Fill(0, 1, p.W, t.Head)
	p.Within(0, 0, rowHead-1, t.Head, pane.Pad(fmt.Sprintf(" %d states", len(m.desk.design().States)), rowHead-1))
	arrow := " "
	if m.left > 0 {
		arrow = "‹ more"
	}
	p.Within(1, 1, rowHead-2, t.Head, arrow)
	x := rowHead
	for c := m.left; c < m.left+m.cols && c < len(g.columns); c++ {
		col := &g.columns[c]
		style := t.Head
		if c == m.c {
			style = t.HeadHere
		}
		w := min(col.width, p.W-x)
		p.Within(x, 0, w, style, pane.Pad(col.head[0], w))
		p.Within(x, 1, w, style, pane.Pad(col.head[1], w))
		x += col.width + 1
	}
	if more := len(g.columns) - m.left - m.cols; more > 0 && x < p.W {
		p.Text(x, 1, t.Head, fmt.Sprintf("+%d ›", more))
	}
}

func (m *matrix) drawRow(p pane.Pen, r, y int, here bool) {
	e, g := m.workspace, m.grid
	t := e.theme
	row := &g.rows[r]
	style := t.kinds[row.kind]
	if row.state < 0 {
		style = t.Dim
	}
	if r == m.r {
		style = style.Bold(true).Underline(true).Dim(false)
	}
	if row.state >= 0 && m.propIn(m.desk.design().States[row.state].Name) {
		style = style.Reverse(true)
	}
	p.Within(0, y, rowHead-1, style, pane.Pad(m.rowHead(row), rowHead-1))
	if row.state >= 0 && e.review.Marks(model.Elem{Sort: model.SortState, Index: row.state}) {
		p.Set(0, y, '▸', t.Errs)
	}
	x := rowHead
	for c := m.left; c < m.left+m.cols && c < len(g.columns); c++ {
		w := min(g.columns[c].width, p.W-x)
		cl := g.at(r, c)
		s := cl.text()
		style := m.cellStyle(cl)
		if r == m.r && c == m.c {
			style = t.CursorOf(here)
			if s == "" {
				s = " "
			}
			s = pane.Pad(s, w)
		}
		if s != "" {
			p.Within(x, y, w, style, s)
		}
		if e.review.MarksCell(row.from, g.columns[c].trigger) {
			p.Set(x-1, y, '▸', t.Errs)
		}
		x += g.columns[c].width + 1
	}
}

// rowHead returns a row's heading: the kind's mark and the state's name, or what
// the row is for.
func (m *matrix) rowHead(row *row) string {
	if row.state < 0 {
		return "  " + strings.ToUpper(row.from.String())
	}
	s := m.desk.design().States[row.state]
	text := " " + kindMark(s.Kind) + " " + s.Name
	if row.state == m.desk.design().Start() {
		text += " ◂"
	}
	if m.propIn(s.Name) {
		text += " ●"
	}
	return text
}

// propIn reports whether the prop that is listened to is in a state.
func (m *matrix) propIn(state string) bool { return m.prop != nil && m.prop.State == state }

func (m *matrix) cellStyle(c cell) tcell.Style {
	t := m.theme
	switch {
	case c.twice:
		return t.Errs
	case c.inherited:
		return t.Inherited
	}
	return t.Plain
}

func (m *matrix) Page(dy int) { m.Move(0, dy*max(m.rows-1, 1)) }
func (m *matrix) End(dx int)  { m.Move(dx*len(m.grid.columns), 0) }
func (m *matrix) Far(dy int)  { m.Move(0, dy*len(m.grid.rows)) }

func (m *matrix) click(x, y int) bool {
	r := m.top + y - headLines
	if y < headLines {
		r = m.r
	}
	if r < 0 || r >= len(m.grid.rows) || y-headLines >= m.rows {
		return false
	}
	m.r = r
	at := rowHead
	for c := m.left; c < m.left+m.cols && c < len(m.grid.columns); c++ {
		next := at + m.grid.columns[c].width + 1
		if x >= at && x < next {
			m.c = c
		}
		at = next
	}
	return true
}
