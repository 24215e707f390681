package picture

import "math"

// A Sheet is the printable area of a sheet of paper, in points.
type Sheet struct{ W, H float64 }

// A4 is a sheet of A4 (ISO 216) upright. 10 mm all round stay free, and one more line
// for what stands below a part of a large picture.
var A4 = Sheet{a4W - 2*free, a4H - 2*free - footer}

const (
	a4W, a4H = 210 / mm, 297 / mm
	mm       = 25.4 / 72 // in a point
	free     = 10 / mm
	footer   = 12.0
)

// OnItsSide returns the sheet in landscape; the free line is below the picture again.
func (s Sheet) OnItsSide() Sheet { return Sheet{s.H + footer, s.W - footer} }

// Legible is the smallest type, in points, in which a picture is printed; one that
// does not fit a sheet at this size is printed in parts. Ordinary print has 8 to 12
// points (common practice, no published source).
const Legible = 8.0

// largest is the size, in points, up to which the smallest type of a small picture is
// enlarged.
const largest = 11.0

// A layout says how a picture is spread over sheets.
type layout struct {
	Sheet
	scale float64
	parts []part // row by row
}

// A part is what one sheet shows, from x, y on, in the picture's points.
type part struct {
	x, y        float64
	column, row int
}

// layout chooses portrait or landscape: fewest sheets first, then the larger
// scale.
func (p *Picture) layout() layout {
	m := p.measure()
	best := m.on(p, A4.OnItsSide())
	if upright := m.on(p, A4); len(upright.parts) < len(best.parts) || len(upright.parts) == len(best.parts) && upright.scale > best.scale {
		best = upright
	}
	return best
}

// Sheets returns how many sheets of A4 PDF prints, and the size of their smallest
// type in points.
func (p *Picture) Sheets() (n int, smallest float64) {
	l := p.layout()
	return len(l.parts), l.scale * p.measure().smallest
}

// on spreads the picture over sheets.
func (m *measures) on(p *Picture, s Sheet) layout {
	l := layout{Sheet: s, scale: min(s.W/p.W, s.H/p.H, largest/m.smallest)}
	if l.scale*m.smallest >= Legible {
		l.parts = []part{{}}
		return l
	}
	l.scale = Legible / m.smallest
	w, h := s.W/l.scale, s.H/l.scale
	for row, y := range starts(m.whole, 1, h, p.H) {
		for column, x := range starts(m.whole, 0, w, p.W) {
			here := rectangle{{x, x + w}, {y, y + h}}
			if m.anything(here) {
				l.parts = append(l.parts, part{x, y, column, row})
			}
		}
	}
	return l
}

// A rectangle is a range of x and one of y.
type rectangle [2][2]float64

func (r rectangle) with(x, y float64) rectangle {
	return rectangle{{min(r[0][0], x), max(r[0][1], x)}, {min(r[1][0], y), max(r[1][1], y)}}
}

func (r rectangle) meets(s rectangle) bool {
	return r[0][0] < s[0][1] && s[0][0] < r[0][1] && r[1][0] < s[1][1] && s[1][0] < r[1][1]
}

var nowhere = rectangle{{math.Inf(1), math.Inf(-1)}, {math.Inf(1), math.Inf(-1)}}

// measures are what printing needs to know of a picture.
type measures struct {
	smallest float64     // type, in points
	whole    []rectangle // boxes and words, which must not be cut
	ink      []rectangle // these and the parts of lines
}

func (p *Picture) measure() *measures {
	m := &measures{smallest: math.Inf(1)}
	faces := Faces{}
	p.each(func(x *Path) { m.path(x, p) }, func(w *Words) {
		m.smallest = min(m.smallest, float64(w.Size))
		m.whole = append(m.whole, w.around(faces))
	})
	m.ink = append(m.ink, m.whole...)
	return m
}

func (m *measures) path(s *Path, p *Picture) {
	all, here := nowhere, nowhere
	for _, step := range s.D {
		to := here // where the step before ended
		for i := 0; i+1 < len(step.At); i += 2 {
			to, all = to.with(step.At[i], step.At[i+1]), all.with(step.At[i], step.At[i+1])
			here = nowhere.with(step.At[i], step.At[i+1])
		}
		if s.Fill == "none" {
			m.ink = append(m.ink, to)
		}
	}
	background := all[0][1]-all[0][0] >= p.W
	if s.Fill != "none" && !background {
		m.whole = append(m.whole, all)
	}
}

func (m *measures) anything(here rectangle) bool {
	for _, r := range m.ink {
		if r.meets(here) {
			return true
		}
	}
	return false
}

// around returns the rectangle of words.
func (w *Words) around(f Faces) rectangle {
	wide := f.Width(w.Text, w.Weight == "bold", float64(w.Size))
	x := float64(w.X) - w.ahead()*wide
	return rectangle{{x, x + wide}, {float64(w.Y - w.Size), float64(w.Y + w.Size/4)}}
}

// ahead is the fraction of the words' width that is before X.
func (w *Words) ahead() float64 {
	switch w.Anchor {
	case "middle":
		return 0.5
	case "end":
		return 1
	}
	return 0
}

// starts returns where the parts of a picture begin along one axis. They reach from 0
// to the end, and each rectangle that is no longer than a part is whole in one of
// them: a part begins with the first rectangle that the part before cuts.
func starts(whole []rectangle, axis int, length, end float64) []float64 {
	const lead = 4 // free before it
	all := []float64{0}
	for at := 0.0; at+length < end; all = append(all, at) {
		next := at + length
		for _, r := range whole {
			from, to := r[axis][0]-lead, r[axis][1]
			if from > at && from < next && to > at+length && to-from <= length {
				next = from
			}
		}
		at = next
	}
	return all
}
