package editor

import (
	"strings"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/uniseg"
)

// A pen draws text into a rectangle of the screen and nowhere else. Its
// coordinates count from the rectangle's upper left corner.
type pen struct {
	screen     tcell.Screen
	x, y, w, h int
}

// part is the pen of a rectangle inside this one.
func (p pen) part(x, y, w, h int) pen {
	x, y = max(x, 0), max(y, 0)
	w, h = max(min(w, p.w-x), 0), max(min(h, p.h-y), 0)
	return pen{p.screen, p.x + x, p.y + y, w, h}
}

// text writes s from a column on and returns the column after it. What does
// not fit is cut off, with … in the last column.
func (p pen) text(x, y int, style tcell.Style, s string) int {
	return p.within(x, y, p.w-x, style, s)
}

// within is text that may take w columns.
func (p pen) within(x, y, w int, style tcell.Style, s string) int {
	if y < 0 || y >= p.h || w <= 0 {
		return x
	}
	s = fit(s, min(w, p.w-x))
	for s != "" {
		rest, width := p.screen.Put(p.x+x, p.y+y, s, style)
		if width == 0 { // a control or joining character by itself
			_, n := utf8.DecodeRuneInString(s)
			rest = s[n:]
		}
		s, x = rest, x+width
	}
	return x
}

// fill puts a style and blanks on a stretch of a line.
func (p pen) fill(x, y, w int, style tcell.Style) {
	if y < 0 || y >= p.h {
		return
	}
	for i := max(x, 0); i < min(x+w, p.w); i++ {
		p.screen.SetContent(p.x+i, p.y+y, ' ', nil, style)
	}
}

// clear blanks the whole rectangle.
func (p pen) clear(style tcell.Style) {
	for y := range p.h {
		p.fill(0, y, p.w, style)
	}
}

// set puts one character.
func (p pen) set(x, y int, r rune, style tcell.Style) {
	if x >= 0 && x < p.w && y >= 0 && y < p.h {
		p.screen.SetContent(p.x+x, p.y+y, r, nil, style)
	}
}

// frame draws a box around the rectangle, with a title, and returns the pen
// of its inside.
func (p pen) frame(style, titleStyle tcell.Style, title string) pen {
	for x := 1; x < p.w-1; x++ {
		p.set(x, 0, '─', style)
		p.set(x, p.h-1, '─', style)
	}
	for y := 1; y < p.h-1; y++ {
		p.set(0, y, '│', style)
		p.set(p.w-1, y, '│', style)
	}
	p.set(0, 0, '┌', style)
	p.set(p.w-1, 0, '┐', style)
	p.set(0, p.h-1, '└', style)
	p.set(p.w-1, p.h-1, '┘', style)
	if title != "" {
		p.within(2, 0, p.w-4, titleStyle, " "+title+" ")
	}
	return p.part(1, 1, p.w-2, p.h-2)
}

// more marks at the right side that lines above or below are not shown.
func (p pen) more(style tcell.Style, above, below bool) {
	if above {
		p.set(p.w-1, 0, '▲', style)
	}
	if below {
		p.set(p.w-1, p.h-1, '▼', style)
	}
}

// fit cuts a text to so many columns, with … where something is left out.
func fit(s string, w int) string {
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

// width is how many columns a text takes.
func width(s string) int {
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

// pad is a text made exactly w columns wide.
func pad(s string, w int) string {
	s = fit(s, w)
	return s + strings.Repeat(" ", max(w-width(s), 0))
}

// wrap breaks a text into lines of at most w columns, at blanks where it can.
func wrap(s string, w int) []string {
	w = max(w, 1)
	var lines []string
	for _, paragraph := range strings.Split(s, "\n") {
		line := ""
		for _, word := range strings.Fields(paragraph) {
			for width(word) > w { // a word longer than a line
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
			case width(line)+1+width(word) <= w:
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

// cutAt is the offset after the graphemes of s that fill w columns at most;
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
