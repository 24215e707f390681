package pane

import (
	"strings"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/uniseg"

	"propwright/model"
)

// A Pen draws text into a rectangle of the screen and nowhere else. Its
// coordinates count from the rectangle's upper left corner.
type Pen struct {
	screen     tcell.Screen
	X, Y, W, H int
}

// NewPen returns the pen of a whole screen.
func NewPen(screen tcell.Screen) Pen {
	w, h := screen.Size()
	return Pen{screen, 0, 0, w, h}
}

// Part returns the pen of a rectangle inside this one.
func (p Pen) Part(x, y, w, h int) Pen {
	x, y = max(x, 0), max(y, 0)
	w, h = max(min(w, p.W-x), 0), max(min(h, p.H-y), 0)
	return Pen{p.screen, p.X + x, p.Y + y, w, h}
}

// Text writes s from a column on and returns the column after it. What does
// not fit is cut off, with … in the last column.
func (p Pen) Text(x, y int, style tcell.Style, s string) int {
	return p.Within(x, y, p.W-x, style, s)
}

// Within is text that may take w columns.
func (p Pen) Within(x, y, w int, style tcell.Style, s string) int {
	if y < 0 || y >= p.H || w <= 0 {
		return x
	}
	s = Fit(seen(s), min(w, p.W-x))
	for s != "" {
		rest, width := p.screen.Put(p.X+x, p.Y+y, s, style)
		if width == 0 { // a control or joining character by itself
			_, n := utf8.DecodeRuneInString(s)
			rest = s[n:]
		}
		s, x = rest, x+width
	}
	return x
}

// seen has a mark in place of every character that would act on the terminal.
func seen(s string) string {
	if !strings.ContainsFunc(s, model.IsControl) {
		return s
	}
	return strings.Map(func(r rune) rune {
		if model.IsControl(r) {
			return utf8.RuneError
		}
		return r
	}, s)
}

// Fill puts a style and blanks on a stretch of a line.
func (p Pen) Fill(x, y, w int, style tcell.Style) {
	if y < 0 || y >= p.H {
		return
	}
	for i := max(x, 0); i < min(x+w, p.W); i++ {
		p.screen.SetContent(p.X+i, p.Y+y, ' ', nil, style)
	}
}

// Clear blanks the whole rectangle.
func (p Pen) Clear(style tcell.Style) {
	for y := range p.H {
		p.Fill(0, y, p.W, style)
	}
}

// Set puts one character.
func (p Pen) Set(x, y int, r rune, style tcell.Style) {
	if x >= 0 && x < p.W && y >= 0 && y < p.H {
		p.screen.SetContent(p.X+x, p.Y+y, r, nil, style)
	}
}

// Frame draws a box around the rectangle, with a title, and returns the pen
// of its inside.
func (p Pen) Frame(style, titleStyle tcell.Style, title string) Pen {
	for x := 1; x < p.W-1; x++ {
		p.Set(x, 0, '─', style)
		p.Set(x, p.H-1, '─', style)
	}
	for y := 1; y < p.H-1; y++ {
		p.Set(0, y, '│', style)
		p.Set(p.W-1, y, '│', style)
	}
	p.Set(0, 0, '┌', style)
	p.Set(p.W-1, 0, '┐', style)
	p.Set(0, p.H-1, '└', style)
	p.Set(p.W-1, p.H-1, '┘', style)
	if title != "" {
		p.Within(2, 0, p.W-4, titleStyle, " "+title+" ")
	}
	return p.Part(1, 1, p.W-2, p.H-2)
}

// Lines writes a text's lines one below the other, and returns the line below
// them.
func (p Pen) Lines(x, y int, style tcell.Style, lines []string) int {
	for i, s := range lines {
		p.Text(x, y+i, style, s)
	}
	return y + len(lines)
}

// Split draws a line from top to bottom at a column, and returns the pens of
// the two sides.
func (p Pen) Split(x int, style tcell.Style) (left, right Pen) {
	for y := range p.H {
		p.Set(x, y, '│', style)
	}
	return p.Part(0, 0, x, p.H), p.Part(x+1, 0, p.W-x-1, p.H)
}

// More marks at the right side that lines above or below are not shown.
func (p Pen) More(style tcell.Style, above, below bool) {
	if above {
		p.Set(p.W-1, 0, '▲', style)
	}
	if below {
		p.Set(p.W-1, p.H-1, '▼', style)
	}
}

// In reports whether a place on the screen lies in the pen's rectangle, and
// where in it.
func (p Pen) In(x, y int) (px, py int, ok bool) {
	px, py = x-p.X, y-p.Y
	return px, py, px >= 0 && py >= 0 && px < p.W && py < p.H
}

// Fit cuts a text to so many columns, with … where something is left out.
func Fit(s string, w int) string {
	if w <= 0 {
		return ""
	}
	if len(s) <= w && isASCII(s) || uniseg.StringWidth(s) <= w {
		return s
	}
	var b strings.Builder
	n := 0
	for g := uniseg.NewGraphemes(s); g.Next(); n += g.Width() {
		if n+g.Width() > w-1 {
			break
		}
		b.WriteString(g.Str())
	}
	return b.String() + "…"
}

// Width returns how many columns a text takes.
func Width(s string) int {
	if isASCII(s) {
		return len(s)
	}
	return uniseg.StringWidth(s)
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}

// Pad returns a text made exactly w columns wide.
func Pad(s string, w int) string {
	s = Fit(s, w)
	return s + strings.Repeat(" ", max(w-Width(s), 0))
}

// Wrap breaks a text into lines of at most w columns, at blanks where it can.
func Wrap(s string, w int) []string {
	w = max(w, 1)
	var lines []string
	for _, paragraph := range strings.Split(s, "\n") {
		line := ""
		for _, word := range strings.Fields(paragraph) {
			for Width(word) > w { // a word longer than a line
				if line != "" {
					lines = append(lines, line)
					line = ""
				}
				cut := cutAt(word, w)
				lines = append(lines, word[:cut])
				word = word[cut:]
			}
			switch {
			case line == "":
				line = word
			case Width(line)+1+Width(word) <= w:
				line += " " + word
			default:
				lines = append(lines, line)
				line = word
			}
		}
		lines = append(lines, line)
	}
	return lines
}

// cutAt returns the offset after the graphemes of s that fill w columns at most;
// at least one grapheme.
func cutAt(s string, w int) int {
	end, n := 0, 0
	for g := uniseg.NewGraphemes(s); g.Next(); {
		n += g.Width()
		_, to := g.Positions()
		if n > w && end > 0 {
			break
		}
		end = to
	}
	return end
}
