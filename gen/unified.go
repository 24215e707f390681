package gen

import (
	"bytes"

	"github.com/rogpeppe/go-internal/diff"
)

// unified writes the difference of two texts line by line, in the unified
// form that patch reads (POSIX, utility diff, option -u), "" where there is
// none. The ends of lines and of the last line make no difference.
func unified(oldName, newName string, old, now []byte) string {
	text := diff.Diff(oldName, plainLines(old), newName, plainLines(now))
	_, text, _ = bytes.Cut(text, []byte("\n")) // the line above --- and +++
	return string(text)
}

func plainLines(text []byte) []byte {
	text = bytes.ReplaceAll(text, []byte("\r"), nil)
	if len(text) > 0 && text[len(text)-1] != '\n' {
		text = append(text, '\n')
	}
	return text
}
