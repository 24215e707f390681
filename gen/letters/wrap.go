package letters

import (
	"strings"
	"unicode/utf8"
)

// Wrap breaks a text at its blanks into lines that fit, at least one. A word that is
// too long gets a line of its own.
func Wrap(text string, fits func(line string) bool) []string {
	words := strings.Fields(text)
	if len(words) == 0 {
		return []string{""}
	}
	return Pack(words, " ", fits)
}

// Pack puts words, at least one, into lines, with a gap between two words. A word that
// is too long gets a line of its own.
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

// Columns returns a test for lines of at most n characters.
func Columns(n int) func(line string) bool {
	return func(line string) bool { return utf8.RuneCountInString(line) <= n }
}
