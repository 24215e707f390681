package letters

import (
	"strings"
	"unicode/utf8"
)

// Wrap breaks a text at its blanks into lines that fit. A word that does not
// fit is a line of its own. There is always a line.
func Wrap(text string, fits func(line string) bool) []string {
	words := strings.Fields(text)
	if len(words) == 0 {
		return []string{""}
	}
	return Pack(words, " ", fits)
}

// Pack puts words, of which there is one at least, into lines with a gap between two of
// them. A word that does not fit has a line of its own.
func Pack(words []string, gap string, fits func(line string) bool) []string {
	lines := words[:1:1]
	for _, word := range words[1:] {
		last := &lines[len(lines)-1]
		if longer := *last + gap + word; fits(longer) {
			*last = longer
		} else {
			lines = append(lines, word)
		}
	}
	return lines
}

// Columns lets lines of at most n characters fit.
func Columns(n int) func(line string) bool {
	return func(line string) bool { return utf8.RuneCountInString(line) <= n }
}
