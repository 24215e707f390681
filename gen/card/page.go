package card

import (
	"cmp"
	"slices"
	"strings"

	"golang.org/x/image/font"

	"propwright/gen/letters"
)

// A5 upright, in millimetres.
const (
	pageWidth  = 148.0
	pageHeight = 210.0
	margin     = 8.0
)

// A page is a card laid out: shapes and texts at places in millimetres from
// the top left corner, in drawing order.
type page struct {
	items []item
	size  float64 // of the table's type, in points
}

type itemKind uint8

const (
	boxItem  itemKind = iota // a rectangle, round by r
	signItem                 // an octagon that fills a square
	lineItem                 // from x, y by w, h
	textItem                 // baseline at x, y
)

type item struct {
	kind       itemKind
	x, y, w, h float64
	r          float64
	fill       string // "" or #rrggbb
	stroke     string // "" or #rrggbb
	pen        float64

	text   string
	size   float64 // points
	bold   bool
	middle bool // centred on x
}

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
	largest  = 8.5
	readable = 5.5 // below, a card tells fewer cases apart
	careful  = 6.5 // of the cautions at least
)

// lay lays a card out in the largest type in which it fits the page: with the
// remote beside the table or above it, and telling fewer cases apart where
// the type would be too small to read.
func lay(c *Card) *page {
	regular, bold := letters.Face(false, measureSize), letters.Face(true, measureSize)
	var best *layer
	for ; c != nil; c = c.shorter {
		for _, card := range []func(*layer, *Card) float64{(*layer).beside, (*layer).above} {
			for size := largest; best == nil || size > best.size; size *= 0.97 {
				l := &layer{page: &page{}, size: size, regular: regular, bold: bold}
				if card(l, c) <= pageHeight-margin {
					best = l
				}
			}
		}
		if best.size >= readable {
			break
		}
	}
	best.page.size = best.size
	return best.page
}

type layer struct {
	*page
	size          float64 // of the text, in points
	close         bool    // less white between rows
	regular, bold font.Face
}

// leading is the distance of lines of the text, in millimetres.
func (l *layer) leading() float64 { return l.size * 0.3528 * 1.25 }

// beside lays everything out with the remote to the left of the table, and
// returns where it ends.
func (l *layer) beside(c *Card) float64 {
	const remoteWidth, gap = 34.0, 4.0
	y := l.title(c)
	x := margin + remoteWidth + gap
	remoteEnd := l.remote(c, margin, y, remoteWidth, 3, 11.5)
	right := l.stop(c, x, y, pageWidth-margin-x) + 3
	right = l.table(c, x, right, pageWidth-margin-x) + 3
	return l.lists(c, max(remoteEnd, right)+1)
}

// above lays everything out with the remote above the table, which has the whole
// width and closer rows.
func (l *layer) above(c *Card) float64 {
	const remoteWidth, gap, width = 66.0, 3.0, pageWidth - 2*margin
	l.close = true
	y := l.title(c)
	x := margin + remoteWidth + gap
	remoteEnd := l.remote(c, margin, y, remoteWidth, 7, 9)
	right := l.stop(c, x, y, pageWidth-margin-x)
	y = l.table(c, margin, max(remoteEnd, right)+1, width) + 2
	return l.lists(c, y)
}

func (l *layer) title(c *Card) float64 {
	const room = pageWidth - 2*margin - 32
	size := l.fitting(c.Title, 15, 9, true, room)
	l.put(margin, margin+5, size, true, black, l.clip(c.Title, size, true, room))
	l.right(pageWidth-margin, margin+5, 8, grey, "operator's card")
	return margin + 9
}

// lists are what is below the table.
func (l *layer) lists(c *Card, y float64) float64 {
	const width = pageWidth - 2*margin
	if len(c.States) > 0 {
		y = l.list(margin, y, width, "What the words mean", []string{strings.Join(c.States, " · ")}) + 2
	}
	if len(c.Lit) > 0 {
		y = l.list(margin, y, width, "At rest", c.Lit) + 2
	}
	if len(c.Alone) > 0 {
		y = l.list(margin, y, width, "Left alone", c.Alone) + 2
	}
	small := l.size
	l.size = max(l.size, careful)
	y = l.list(margin, y, width, "Careful", c.Cares)
	l.size = small
	return y
}

// stop is the banner that says how to stop, with the sign.
func (l *layer) stop(c *Card, x, y, width float64) float64 {
	const height = 19.0
	l.box(x, y, width, height, 2, black, black, 0.3)
	l.sign(x+2, y+2, height-4, white)
	l.centred(x+height/2, y+height/2+1.3, 10.5, true, black, "STOP")
	tx := x + height + 1
	room := width - height - 3
	press := "press  " + c.Stop
	l.put(tx, y+6.8, l.fitting(press, 13, 6, true, room), true, white, press)
	for size := 8.0; ; size *= 0.95 {
		lines := l.wrap(c.Rests, size, false, room)
		if len(lines) > 2 && size > 5 {
			continue
		}
		for i, line := range lines {
			l.put(tx, y+11.6+0.45*size*float64(i), size, false, white, line)
		}
		break
	}
	return y + height
}

// remote draws the buttons in file order, the stop button as a sign, in as many
// columns at most and rows as far apart at most. It is not what the real remote
// looks like, and says so.
func (l *layer) remote(c *Card, x, y, width float64, columns int, apart float64) float64 {
	rows := (len(c.Buttons) + columns - 1) / columns
	columns = min(columns, max(1, len(c.Buttons)))
	cell := (width - 4) / float64(columns)
	names := make([][]string, len(c.Buttons))
	const size, line = 6.5, 2.3
	lines := 1
	for i, name := range c.Buttons {
		names[i] = []string{name}
		if l.fitting(name, size, 0, true, cell-0.8) < 5.5 {
			names[i] = l.wrapName(name, size, cell-0.8)
		}
		lines = max(lines, len(names[i]))
	}
	const top, foot = 7.0, 4.5
	pitch := min(apart+line*float64(lines-1), 120/float64(max(rows, 1)))
	height := top + pitch*float64(rows) + foot
	l.box(x, y, width, height, 4, pale, black, 0.5)
	l.box(x+width/2-5, y+2, 10, 2.2, 1, black, black, 0.2)
	dot := min(cell*0.36, (pitch-line*float64(lines))*0.43, 4)
	for i := range c.Buttons {
		stop := c.Buttons[i] == c.Stop
		cx := x + 2 + cell*(float64(i%columns)+0.5)
		cy := y + top + pitch*float64(i/columns) + dot
		if stop {
			l.sign(cx-dot, cy-dot, 2*dot, black)
		} else {
			l.box(cx-dot, cy-dot, 2*dot, 2*dot, dot, white, black, 0.3)
		}
		for j, part := range names[i] {
			fit := l.fitting(part, size, 4, stop, cell-0.6)
			l.centred(cx, cy+dot+2.4+line*float64(j), fit, stop, black, part)
		}
	}
	l.centred(x+width/2, y+height-1.6, 5.5, false, grey, "yours looks different")
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

// fitting is the largest size, from the first to the second, in which a text
// is not wider than a width.
func (l *layer) fitting(text string, size, least float64, bold bool, width float64) float64 {
	if w := l.width(text, size, bold); w > width {
		return max(least, size*width/w)
	}
	return size
}

// columns are the widths of the table's columns: what the longest cell of each
// wants, the narrow ones first, and an equal share of what is left for others.
func (l *layer) columns(c *Card, width float64) [4]float64 {
	const pad = 2.5
	var wants [4]float64
	want := func(i int, text string, bold bool) {
		wants[i] = max(wants[i], l.width(text, l.size, bold)+pad)
	}
	want(0, "press", true)
	for i, h := range Heads {
		want(i+1, h, true)
	}
	for _, r := range c.Rows {
		want(0, r.Act, true)
		for i, text := range r.In {
			want(i+1, text, false)
		}
	}
	order := []int{0, 1, 2, 3}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(wants[a], wants[b]) })
	var out [4]float64
	left := width
	for n, i := range order {
		out[i] = min(wants[i], left/float64(4-n))
		left -= out[i]
	}
	for i := range out {
		out[i] += left / 4
	}
	return out
}

// table is what each act does in each kind of state.
func (l *layer) table(c *Card, x, y, width float64) float64 {
	const pad = 1.0
	widths := l.columns(c, width)
	at := [4]float64{x, x + widths[0] + pad, x + widths[0] + widths[1] + pad, x + widths[0] + widths[1] + widths[2] + pad}
	l.put(x, y+l.leading()*0.8, l.size, true, black, "press")
	for i, h := range Heads {
		l.put(at[i+1], y+l.leading()*0.8, l.size, true, black, h)
	}
	y += l.leading() * 1.15
	l.line(x, y, width, 0, black, 0.4)
	for _, r := range c.Rows {
		lines := [4][]string{l.wrap(r.Act, l.size, true, widths[0]-pad)}
		tall := len(lines[0])
		for i, t := range r.In {
			if t == "" {
				t = "–"
			}
			lines[i+1] = l.wrap(t, l.size, false, widths[i+1]-1.5*pad)
			tall = max(tall, len(lines[i+1]))
		}
		for i, cell := range lines {
			for j, text := range cell {
				ink := black
				if text == "–" {
					ink = grey
				}
				l.put(at[i], y+l.leading()*(float64(j)+0.9), l.size, i == 0, ink, text)
			}
		}
		white := 0.3
		if l.close {
			white = 0.12
		}
		y += l.leading() * (float64(tall) + white)
		l.line(x, y, width, 0, rule, 0.15)
	}
	return y
}

// list is a headed list of sentences.
func (l *layer) list(x, y, width float64, head string, lines []string) float64 {
	y += l.leading()
	l.put(x, y, l.size, true, black, head)
	indent := l.size * 0.35
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
	l.items = append(l.items, item{kind: textItem, x: x, y: y, text: text, size: size, bold: bold, fill: ink})
}

// centred puts a text round x.
func (l *layer) centred(x, y, size float64, bold bool, ink, text string) {
	l.items = append(l.items, item{kind: textItem, x: x, y: y, text: text, size: size, bold: bold, fill: ink, middle: true})
}

// sign is the octagon that stands for stop.
func (l *layer) sign(x, y, side float64, fill string) {
	l.items = append(l.items, item{kind: signItem, x: x, y: y, w: side, h: side, fill: fill, stroke: black, pen: 0.3})
}

func (l *layer) right(x, y, size float64, ink, text string) {
	l.put(x-l.width(text, size, false), y, size, false, ink, text)
}

func (l *layer) box(x, y, w, h, r float64, fill, stroke string, pen float64) {
	l.items = append(l.items, item{kind: boxItem, x: x, y: y, w: w, h: h, r: r, fill: fill, stroke: stroke, pen: pen})
}

func (l *layer) line(x, y, w, h float64, stroke string, pen float64) {
	l.items = append(l.items, item{kind: lineItem, x: x, y: y, w: w, h: h, stroke: stroke, pen: pen})
}

// wrap breaks a text into lines that fit a width in millimetres; a word that
// does not fit is broken, after a hyphen where it has one.
func (l *layer) wrap(text string, size float64, bold bool, width float64) []string {
	var lines []string
	line := ""
	add := func(word, blank string) bool {
		if l.width(line+blank+word, size, bold) > width {
			return false
		}
		line += blank + word
		return true
	}
	next := func() {
		if line != "" {
			lines, line = append(lines, line), ""
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
					line = string(r)
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

// width is a text's width in millimetres.
func (l *layer) width(text string, size float64, bold bool) float64 {
	face := l.regular
	if bold {
		face = l.bold
	}
	return widthIn(face, text) * size * 0.3528
}

// measureSize is the size in which texts are measured, in points.
const measureSize = 64

// widthIn is a text's width in points, in type of one point.
func widthIn(face font.Face, text string) float64 {
	return float64(font.MeasureString(face, text)) / 64 / measureSize
}
