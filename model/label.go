package model

import (
	"cmp"
	"strings"
	"unicode"
)

// LabelOf makes a name for people of a name: "Harbour Heron" of
// "harbour-heron".
func LabelOf(name string) string {
	words := strings.FieldsFunc(name, func(r rune) bool { return r == '-' })
	for i, w := range words {
		words[i] = strings.ToUpper(w[:1]) + w[1:]
	}
	return strings.Join(words, " ")
}

// IsControl reports whether a character acts on what shows it in place of being
// seen: the control characters of Unicode (general category Cc) but for the end of
// a line and the tab, the line and paragraph separators, and the characters that
// turn the direction of writing (property Bidi_Control; Unicode Standard Annex 9,
// section 2), with which a text can be shown as another one.
func IsControl(r rune) bool {
	switch r {
	case '\n', '\t':
		return false
	case '\u2028', '\u2029':
		return true
	}
	return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)
}

// Visible leaves out of a text what cannot be seen, and puts it on one line
// with single blanks.
func Visible(text string) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case !unicode.IsPrint(r):
			return -1
		}
		return r
	}, text)
	return strings.Join(strings.Fields(text), " ")
}

// Called is the prop's name for people: its label, or else its name.
func (p *Prop) Called() string { return cmp.Or(Visible(p.Label), p.Name) }
