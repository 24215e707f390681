package card

import (
	"fmt"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
)

// A5 upright, in millimetres.
const (
	pageWidth  = 148.0
	pageHeight = 210.0
	margin     = 8.0
)

// A page is a card laid out: shapes and texts at places in millimetres from
// the top left corner, in drawing order.
type page struct{ items []item }

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

// lay lays a card out, in the largest type in which it fits the page.
func lay(c *Card) (*page, error) {
	regular, err := newMeasure(goregular.TTF)
	if err != nil {
		return nil, err
	}
	bold, err := newMeasure(gobold.TTF)
	if err != nil {
		return nil, err
	}
	for size := 8.5; ; size *= 0.96 {
		l := layer{page: &page{}, size: size, regular: regular, bold: bold}
		if end := l.card(c); end <= pageHeight-margin || size < 2 {
			return l.page, nil
		}
	}
}

type layer struct {
	*page
	size          float64 // of the text, in points
	regular, bold *measure
}

// leading is the distance of lines of the text, in millimetres.
func (l *layer) leading() float64 { return l.size * 0.3528 * 1.25 }

// card lays everything out and returns where it ends.
func (l *layer) card(c *Card) float64 {
	y := margin
	l.put(margin, y+5, 15, true, black, l.clip(c.Title, 15, true, pageWidth-2*margin-32))
	l.right(pageWidth-margin, y+5, 8, grey, "operator's card")
	y += 9

	remoteWidth := 34.0
	remoteEnd := l.remote(c, margin, y, remoteWidth)
	x := margin + remoteWidth + 4
	width := pageWidth - margin - x
	right := l.stop(c, x, y, width) + 3
	right = l.table(c, x, right, width) + 3

	y = max(remoteEnd, right) + 1
	if len(c.States) > 0 {
		y = l.list(margin, y, pageWidth-2*margin, "What the words mean", []string{strings.Join(c.States, " · ")}) + 2
	}
	if len(c.Alone) > 0 {
		y = l.list(margin, y, pageWidth-2*margin, "Left alone", c.Alone) + 2
	}
	return l.list(margin, y, pageWidth-2*margin, "Careful", c.Cares)
}

// stop is the banner that says how to stop, with the sign.
func (l *layer) stop(c *Card, x, y, width float64) float64 {
	const height = 19.0
	l.box(x, y, width, height, 2, black, black, 0.3)
	l.items = append(l.items, item{kind: signItem, x: x + 2, y: y + 2, w: height - 4, h: height - 4, fill: white, stroke: black, pen: 0.3})
	l.items = append(l.items, item{kind: textItem, x: x + height/2, y: y + height/2 + 1.3, text: "STOP", size: 10.5, bold: true, fill: black, middle: true})
	tx := x + height + 1
	room := width - height - 3
	l.put(tx, y+6.8, 13, true, white, l.clip("press  "+c.Stop, 13, true, room))
	for i, line := range l.wrap(c.Rests, 8, false, room) {
		l.put(tx, y+11.6+3.6*float64(i), 8, false, white, line)
	}
	return y + height
}

// remote draws the buttons in file order, the stop button as a sign. It is
// not what the real remote looks like, and says so.
func (l *layer) remote(c *Card, x, y, width float64) float64 {
	const columns = 3
	rows := (len(c.Buttons) + columns - 1) / columns
	cell := (width - 4) / columns
	pitch := min(11.5, 120/float64(max(rows, 1)))
	height := 9 + pitch*float64(rows) + 6
	l.box(x, y, width, height, 4, pale, black, 0.5)
	l.box(x+width/2-5, y+2, 10, 2.2, 1, black, black, 0.2)
	dot := min(cell, pitch) * 0.36
	for i, name := range c.Buttons {
		cx := x + 2 + cell*(float64(i%columns)+0.5)
		cy := y + 9 + pitch*float64(i/columns) + dot
		if name == c.Stop {
			l.items = append(l.items, item{kind: signItem, x: cx - dot, y: cy - dot, w: 2 * dot, h: 2 * dot, fill: black, stroke: black, pen: 0.3})
		} else {
			l.box(cx-dot, cy-dot, 2*dot, 2*dot, dot, white, black, 0.3)
		}
		size := 6.5
		for size > 3 && l.width(name, size, name == c.Stop) > cell-0.6 {
			size *= 0.95
		}
		l.items = append(l.items, item{kind: textItem, x: cx, y: cy + dot + 2.4, text: name, size: size, bold: name == c.Stop, fill: black, middle: true})
	}
	l.items = append(l.items, item{kind: textItem, x: x + width/2, y: y + height - 1.6, text: "yours looks different", size: 5.5, fill: grey, middle: true})
	return y + height
}

// table is what each act does in each kind of state.
func (l *layer) table(c *Card, x, y, width float64) float64 {
	first := width * 0.22
	column := (width - first) / 3
	pad := 1.0
	l.put(x, y+l.leading()*0.8, l.size, true, black, "press")
	for i, h := range Heads {
		l.put(x+first+column*float64(i)+pad, y+l.leading()*0.8, l.size, true, black, h)
	}
	y += l.leading() * 1.15
	l.line(x, y, width, 0, black, 0.4)
	for _, r := range c.Rows {
		lines := [4][]string{l.wrap(r.Act, l.size, true, first-pad)}
		tall := len(lines[0])
		for i, t := range r.In {
			if t == "" {
				t = "–"
			}
			lines[i+1] = l.wrap(t, l.size, false, column-2*pad)
			tall = max(tall, len(lines[i+1]))
		}
		for i, cell := range lines {
			cx := x
			if i > 0 {
				cx = x + first + column*float64(i-1) + pad
			}
			for j, text := range cell {
				ink := black
				if text == "–" {
					ink = grey
				}
				l.put(cx, y+l.leading()*(float64(j)+0.9), l.size, i == 0, ink, text)
			}
		}
		y += l.leading()*float64(tall) + l.leading()*0.3
		l.line(x, y, width, 0, rule, 0.15)
	}
	return y
}

// list is a headed list of sentences.
func (l *layer) list(x, y, width float64, head string, lines []string) float64 {
	y += l.leading()
	l.put(x, y, l.size, true, black, head)
	for _, s := range lines {
		for i, text := range l.wrap(s, l.size, false, width-3) {
			y += l.leading()
			if i == 0 {
				l.put(x, y, l.size, false, black, "•")
			}
			l.put(x+3, y, l.size, false, black, text)
		}
	}
	return y
}

func (l *layer) put(x, y, size float64, bold bool, ink, text string) {
	l.items = append(l.items, item{kind: textItem, x: x, y: y, text: text, size: size, bold: bold, fill: ink})
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
// does not fit is broken.
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
	for _, word := range strings.Split(text, " ") { // a no-break space parts no words
		if line != "" && add(word, " ") {
			continue
		}
		if line != "" {
			lines, line = append(lines, line), ""
		}
		if add(word, "") {
			continue
		}
		for _, r := range word {
			if !add(string(r), "") && line != "" {
				lines, line = append(lines, line), string(r)
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
	m := l.regular
	if bold {
		m = l.bold
	}
	return m.of(text) * size * 0.3528
}

// A measure tells how wide text is in a font of one point.
type measure struct{ face font.Face }

const measureSize = 64

func newMeasure(ttf []byte) (*measure, error) {
	parsed, err := opentype.Parse(ttf)
	if err != nil {
		return nil, fmt.Errorf("the card's font: %w", err)
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: measureSize, DPI: 72})
	if err != nil {
		return nil, fmt.Errorf("the card's font: %w", err)
	}
	return &measure{face}, nil
}

func (m *measure) of(text string) float64 {
	return float64(font.MeasureString(m.face, text)) / 64 / measureSize
}
