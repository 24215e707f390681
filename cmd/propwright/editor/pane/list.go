package pane

import (
	"iter"

	"github.com/gdamore/tcell/v2"
)

// A List is a cursor among lines, of which the screen shows some.
type List struct {
	At  int // the cursor's line
	Top int // the first line on the screen

	n     int
	stops func(line int) bool // whether the cursor can stop at a line; nil: at all
	shown int                 // lines on the screen when they were drawn last
}

// Put gives the list n lines. The cursor stays where it was as far as it can;
// it stops only at lines that stops lets it, at all where stops is nil.
func (l *List) Put(n int, stops func(line int) bool) {
	l.n, l.stops = n, stops
	l.step(0, 1)
}

// step moves the cursor by lines, and on in a direction to one where it can
// stop.
func (l *List) step(by, direction int) {
	l.At = max(min(l.At+by, l.n-1), 0)
	if l.stops != nil {
		l.At = Settled(l.At, direction, l.n, l.stops)
	}
}

// Move moves the cursor by lines; there are no columns.
func (l *List) Move(_, dy int) {
	direction := 1
	if dy < 0 {
		direction = -1
	}
	l.step(dy, direction)
}

// Page moves the cursor by screens.
func (l *List) Page(dy int) { l.Move(0, dy*max(l.shown-1, 1)) }

// End moves it to the first (-1) or last (1) line.
func (l *List) End(dx int) { l.Far(dx) }

// Far is End.
func (l *List) Far(dy int) { l.Move(0, dy*l.n) }

// Lines returns the lines to draw on h lines of the screen, each with its place
// there; the cursor's is among them.
func (l *List) Lines(h int) iter.Seq2[int, int] {
	l.shown = h
	l.Top = Scrolled(l.Top, l.At, h, l.n)
	return func(yield func(y, line int) bool) {
		for y := 0; y < h && l.Top+y < l.n; y++ {
			if !yield(y, l.Top+y) {
				return
			}
		}
	}
}

// More marks beside the lines drawn that there are others.
func (l *List) More(p Pen, style tcell.Style) {
	p.More(style, l.Top > 0, l.Top+l.shown < l.n)
}

// Click puts the cursor on the line that was drawn at y; it reports whether
// the cursor can stop there.
func (l *List) Click(y int) bool {
	i := l.Top + y
	if y < 0 || i >= l.n || l.stops != nil && !l.stops(i) {
		return false
	}
	l.At = i
	return true
}

// A Row is a line of a text about items that take a row or more each.
type Row struct {
	Of    int // the item
	Style tcell.Style
	Text  string
	Head  bool   // the cursor is shown here when it is on the item
	Field *Field // what is being written behind the text; may be nil
}

// Rows are the rows of a text that the screen shows.
type Rows struct {
	top int
	of  []int // the item of each row on the screen
}

// Draw draws a text so that all of the item at the cursor is shown, or else
// its beginning. A field begins at the column given. It reports whether there
// are rows above and below those shown.
func (r *Rows) Draw(p Pen, rows []Row, at int, cursor tcell.Style, field int) (above, below bool) {
	first, last := 0, 0
	for i := len(rows) - 1; i >= 0; i-- {
		if rows[i].Of == at {
			first, last = i, max(last, i)
		}
	}
	r.of = r.of[:0]
	r.top = min(Scrolled(r.top, last, p.H, len(rows)), first)
	for y := 0; y < p.H && r.top+y < len(rows); y++ {
		row := rows[r.top+y]
		r.of = append(r.of, row.Of)
		if row.Head && row.Of == at {
			p.Fill(0, y, p.W, cursor)
			if row.Field == nil {
				row.Style = cursor
			}
		}
		w := p.W
		if row.Field != nil {
			row.Field.Draw(p.Part(field, y, p.W-field, 1))
			w = field - 1
		}
		p.Within(0, y, w, row.Style, row.Text)
	}
	return r.top > 0, r.top+p.H < len(rows)
}

// Item returns the item whose row was drawn at y.
func (r *Rows) Item(y int) (item int, ok bool) {
	if y < 0 || y >= len(r.of) {
		return 0, false
	}
	return r.of[y], true
}

// Scrolled returns the first line to show so that the cursor's is among those
// shown.
func Scrolled(top, cursor, shown, all int) int {
	top = min(top, cursor)
	top = max(top, cursor-shown+1)
	return max(min(top, all-shown), 0)
}

// Settled returns the line where a cursor at a line of n can stop: the next on the
// side of step, else the next on the other side, else where it is.
func Settled(at, step, n int, stops func(line int) bool) int {
	for _, step := range []int{step, -step} {
		for i := at; i >= 0 && i < n; i += step {
			if stops(i) {
				return i
			}
		}
	}
	return at
}
