package card

import (
	"slices"
	"strings"

	"propwright/gen/picture"
)

const (
	mm     = 72 / 25.4 // in points
	margin = 7 * mm
)

// A paper is a sheet upright, in points.
type paper struct {
	name string // in CSS
	w, h float64
}

// The papers of cards (ISO 216), the one that is tried first first.
var papers = []paper{{"A5", 148 * mm, 210 * mm}, {"A4", 210 * mm, 297 * mm}}

// Inks.
const (
	black = "#000000"
	white = "#ffffff"
	grey  = "#555555"
	pale  = "#eeeeee"
	rule  = "#bbbbbb"
)

// Sizes of type, in points.
const (
	largest  = 12.0
	readable = 6.0 // below, a card tells fewer cases apart
	careful  = 6.5 // of the cautions at least
)

// lay lays a card out in the largest type in which it fits the page: with the
// remote beside the table or above it, telling fewer cases apart where the type
// would be too small to read, and on larger paper where it still would be.
func lay(c *Card) *layer {
	ruler := ruler{faces: picture.Faces{}, widths: map[ruled]float64{}}
	var best *layer
	for _, paper := range papers {
		for c := c; c != nil; c = c.shorter {
			for _, beside := range []bool{true, false} {
				for size := largest; best == nil || size > best.size; size *= 0.985 {
					l := &layer{ruler: ruler, paper: paper, size: size}
					if l.card(c, beside) <= paper.h-margin {
						best = l
					}
				}
			}
			if best.size >= readable {
				return best
			}
		}
	}
	return best
}

// A layer lays out from the top; x leads to the right and y down.
type layer struct {
	ruler
	paper
	size   float64 // of the text, in points
	shapes []any   // of package picture, in drawing order
}

// inner returns the width between the margins.
func (l *layer) inner() float64 { return l.w - 2*margin }

// A ruler knows how wide texts are, those measured before at once.
type ruler struct {
	faces  picture.Faces
	widths map[ruled]float64 // in type of one point
}

type ruled struct {
	text string
	bold bool
}

func (r *ruler) width(text string, size float64, bold bool) float64 {
	w, ok := r.widths[ruled{text, bold}]
	if !ok {
		w = r.faces.Width(text, bold, 1)
		r.widths[ruled{text, bold}] = w
	}
	return w * size
}

// leading returns the distance of lines of the text.
func (l *layer) leading() float64 { return l.size * 1.2 }

// card lays everything out and returns where it ends.
func (l *layer) card(c *Card, beside bool) float64 {
	const gap = 4 * mm
	y := l.title(c)
	if beside {
		const remote = 34 * mm
		y = l.stop(c, margin, y, l.inner()) + gap*0.6
		end := l.remote(c, y, remote, 3, 11.5*mm)
		y = max(end, l.table(c, margin+remote+gap, y, l.inner()-remote-gap, 0.25))
	} else {
		const remote = 66 * mm
		stop := l.stop(c, margin+remote+gap, y, l.inner()-remote-gap)
		y = max(stop, l.remote(c, y, remote, 7, 9*mm))
		y = l.table(c, margin, y, l.inner(), 0.1)
	}
	const between = 1.5 * mm
	y += between
	if len(c.Lit) > 0 {
		y = l.list(y, "At rest", c.Lit) + between
	}
	if len(c.Alone) > 0 {
		y = l.list(y, "Left alone", c.Alone) + between
	}
	y = l.framed(y+between/2, "No answer?", c.Help) + between
	y = l.list(y, "Careful", c.Cares)
	return l.foot(c, y)
}

func (l *layer) title(c *Card) float64 {
	room := l.inner() - 32*mm
	size := l.fitting(c.Title, 15, 9, true, room)
	base := margin + 5*mm
	l.put(margin, base, size, true, black, l.clip(c.Title, size, true, room))
	l.text(l.w-margin, base, 8, false, grey, "end", "operator's card")
	return base + 3*mm
}

// foot writes at the bottom of the page which design the card is for, and what was
// checked.
func (l *layer) foot(c *Card, y float64) float64 {
	const size = 6.5
	l.text(margin, l.h-margin, size, false, grey, "start", c.Checked)
	l.text(l.w-margin, l.h-margin, size, false, grey, "end", "made for "+c.Version)
	return y + size*1.25
}

// stop returns the banner that says how to stop, with the sign.
func (l *layer) stop(c *Card, x, y, width float64) float64 {
	const height = 19 * mm
	l.box(x, y, width, height, 2*mm, black)
	l.sign(x+height/2, y+height/2, height/2-2*mm, white)
	l.text(x+height/2, y+height/2+1.3*mm, 10.5, true, black, "middle", "STOP")
	x += height + 2*mm
	room := width - height - 5*mm
	press := "press  " + c.Stop
	l.put(x, y+7.3*mm, l.fitting(press, 17, 6, true, room), true, white, press)
	for size := 10.0; ; size *= 0.95 {
		lines := l.wrap(c.Rests, size, false, room)
		if len(lines) > 2 && size > 5 {
			continue
		}
		for i, line := range lines {
			l.put(x, y+12.2*mm+1.25*size*float64(i), size, false, white, line)
		}
		break
	}
	return y + height
}

// remote draws the buttons in file order, the stop button as a sign, in as many
// columns at most and rows as far apart at most. It is not what the real remote
// looks like, and says so.
func (l *layer) remote(c *Card, y, width float64, columns int, apart float64) float64 {
	rows := (len(c.Buttons) + columns - 1) / columns
	columns = min(columns, max(1, len(c.Buttons)))
	cell := (width - 4*mm) / float64(columns)
	names := make([][]string, len(c.Buttons))
	const size, line = 7, 2.5 * mm
	lines := 1
	for i, name := range c.Buttons {
		names[i] = []string{name}
		if l.fitting(name, size, 0, true, cell-0.8*mm) < 5.5 {
			names[i] = l.wrapName(name, size, cell-0.8*mm)
		}
		lines = max(lines, len(names[i]))
	}
	const top, foot = 7 * mm, 4.5 * mm
	pitch := min(apart+line*float64(lines-1), 120*mm/float64(max(rows, 1)))
	height := top + pitch*float64(rows) + foot
	l.box(margin, y, width, height, 4*mm, pale)
	l.box(margin+width/2-5*mm, y+2*mm, 10*mm, 2.2*mm, 1*mm, black)
	dot := min(cell*0.36, (pitch-line*float64(lines))*0.43, 4*mm)
	for i := range c.Buttons {
		stop := c.Buttons[i] == c.Stop
		cx := margin + 2*mm + cell*(float64(i%columns)+0.5)
		cy := y + top + pitch*float64(i/columns) + dot
		if stop {
			l.sign(cx, cy, dot, black)
		} else {
			l.box(cx-dot, cy-dot, 2*dot, 2*dot, dot, white)
		}
		for j, part := range names[i] {
			fit := l.fitting(part, size, 4, stop, cell-0.6*mm)
			l.text(cx, cy+dot+2.6*mm+line*float64(j), fit, stop, black, "middle", part)
		}
	}
	l.text(margin+width/2, y+height-1.6*mm, 6, false, grey, "middle", "yours looks different")
	return y + height
}

// wrapName breaks a name after its hyphens.
func (l *layer) wrapName(name string, size, width float64) []string {
	var lines []string
	line := ""
	for _, part := range strings.SplitAfter(name, "-") {
		if line != "" && l.width(line+part, size, true) > width {
			lines, line = append(lines, line), ""
		}
		line += part
	}
	return append(lines, line)
}

// fitting returns the largest size, from the first to the second, in which a text
// is not wider than a width.
func (l *layer) fitting(text string, size, least float64, bold bool, width float64) float64 {
	if w := l.width(text, size, bold); w > width {
		return max(least, size*width/w)
	}
	return size
}

// table returns what each button does, then each switch and sensor. Below each is some
// white, in lines.
func (l *layer) table(c *Card, x, y, width, below float64) float64 {
	const pad = 1.5 * mm
	acts := 0.0 // the width of their column
	for _, rows := range [][]Row{c.Rows, c.Inputs} {
		for _, r := range rows {
			acts = max(acts, l.width(r.Act, l.size, true)+pad)
		}
	}
	acts = min(acts, width*0.4)
	head := func(text string) {
		y += l.leading()
		l.put(x, y, l.size, true, grey, text)
		y += l.leading() * 0.3
		l.line(x, y, width, black, 1)
	}
	rows := func(rows []Row) {
		for _, r := range rows {
			act := l.wrap(r.Act, l.size, true, acts-pad)
			var says []string
			for _, s := range r.Says {
				says = append(says, l.wrap(s, l.size, false, width-acts)...)
			}
			for i, text := range act {
				l.put(x, y+l.leading()*(float64(i)+0.9), l.size, true, black, text)
			}
			for i, text := range says {
				l.put(x+acts, y+l.leading()*(float64(i)+0.9), l.size, false, black, text)
			}
			y += l.leading() * (float64(max(len(act), len(says))) + below)
			l.line(x, y, width, rule, 0.4)
		}
	}
	head("Press")
	rows(c.Rows)
	if len(c.Inputs) > 0 {
		y += l.leading() * 0.4
		head("Without the remote")
		rows(c.Inputs)
	}
	if len(c.Rows) > 0 {
		for _, text := range l.wrap("Where nothing is said, nothing happens.", l.size, false, width) {
			y += l.leading()
			l.put(x, y, l.size, false, grey, text)
		}
	}
	return y + l.leading()*0.3
}

// list returns a headed list of sentences in the width of the page.
func (l *layer) list(y float64, head string, lines []string) float64 {
	small := l.size
	l.size = max(l.size, careful)
	y += l.leading()
	l.put(margin, y, l.size, true, black, head)
	y = l.items(margin, y, l.inner(), lines)
	l.size = small
	return y + l.size*0.25
}

// framed draws such a list in a box.
func (l *layer) framed(y float64, head string, lines []string) float64 {
	const pad = 2 * mm
	top := y
	at := len(l.shapes)
	y += l.leading() + pad/2
	l.put(margin+pad, y, l.size, true, black, head)
	y = l.items(margin+pad, y, l.inner()-2*pad, lines) + l.size*0.25 + pad
	words := slices.Clone(l.shapes[at:])
	l.shapes = l.shapes[:at]
	l.box(margin, top, l.inner(), y-top, 2*mm, pale)
	l.shapes = append(l.shapes, words...)
	return y
}

func (l *layer) items(x, y, width float64, lines []string) float64 {
	indent := l.size
	for _, s := range lines {
		for i, text := range l.wrap(s, l.size, false, width-indent) {
			y += l.leading()
			if i == 0 {
				l.put(x, y, l.size, false, black, "•")
			}
			l.put(x+indent, y, l.size, false, black, text)
		}
	}
	return y
}

func (l *layer) put(x, y, size float64, bold bool, ink, text string) {
	l.text(x, y, size, bold, ink, "", text)
}

func (l *layer) text(x, y, size float64, bold bool, ink, anchor, text string) {
	w := picture.Words{X: picture.Number(x), Y: picture.Number(y), Anchor: anchor, Size: picture.Number(size), Fill: ink, Text: text}
	if bold {
		w.Weight = "bold"
	}
	l.shapes = append(l.shapes, w)
}

// sign is the octagon round x, y that stands for stop.
func (l *layer) sign(x, y, r float64, fill string) {
	const c = 0.4142 // tan 22.5°
	l.path(picture.Polygon(x-c*r, y-r, x+c*r, y-r, x+r, y-c*r, x+r, y+c*r, x+c*r, y+r, x-c*r, y+r, x-r, y+c*r, x-r, y-c*r), fill, black, 0.9)
}

// box is a rectangle whose corners have the radius c.
func (l *layer) box(x, y, w, h, c float64, fill string) {
	l.path(picture.Rounded(x, y, x+w, y+h, c), fill, black, 0.9)
}

func (l *layer) line(x, y, w float64, stroke string, pen float64) {
	l.path(picture.Line(x, y, x+w, y), "none", stroke, pen)
}

func (l *layer) path(d picture.Outline, fill, stroke string, pen float64) {
	l.shapes = append(l.shapes, picture.Path{D: d, Fill: fill, Stroke: stroke, Width: picture.Number(pen)})
}

// wrap breaks a text into lines that fit a width; a word that does not fit is
// broken, after a hyphen where it has one.
func (l *layer) wrap(text string, size float64, bold bool, width float64) []string {
	var lines []string
	line, wide := "", 0.0 // in type of one point
	add := func(word, blank string) bool {
		// Widths add up, as the Go fonts have no kerning.
		longer := wide + l.width(blank, 1, bold) + l.width(word, 1, bold)
		if longer*size > width {
			return false
		}
		line, wide = line+blank+word, longer
		return true
	}
	next := func() {
		if line != "" {
			lines, line, wide = append(lines, line), "", 0
		}
	}
	for _, word := range strings.Split(text, " ") { // a no-break space parts no words
		if line != "" && add(word, " ") {
			continue
		}
		next()
		if add(word, "") {
			continue
		}
		for _, part := range strings.SplitAfter(word, "-") {
			if add(part, "") {
				continue
			}
			next()
			for _, r := range part {
				if !add(string(r), "") {
					next()
					line, wide = string(r), l.width(string(r), 1, bold)
				}
			}
		}
	}
	if line != "" || lines == nil {
		lines = append(lines, line)
	}
	return lines
}

// clip cuts a text that does not fit.
func (l *layer) clip(text string, size float64, bold bool, width float64) string {
	if l.width(text, size, bold) <= width {
		return text
	}
	r := []rune(text)
	for len(r) > 0 && l.width(string(r)+"…", size, bold) > width {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}
