package main

import (
	"fmt"
	"io"
	"unicode/utf8"

	"propwright/model"
)

// shown writes text for people and programs. Text from a file, a port, git or the call
// itself may hold control characters; it writes them as JSON escapes such as \u001b,
// which stay valid in JSON, so that they do not act on a terminal. Everything that the
// command prints goes through it.
type shown struct {
	io.Writer
	part []byte // of a character whose end is still to come
}

// Write is io.Writer's.
func (s *shown) Write(p []byte) (int, error) {
	text := append(s.part, p...)
	out := make([]byte, 0, len(text))
	for len(text) > 0 && utf8.FullRune(text) {
		r, n := utf8.DecodeRune(text)
		switch {
		case r == utf8.RuneError && n == 1: // a byte alone may be a control character too
			out = utf8.AppendRune(out, r)
		case model.IsControl(r):
			out = fmt.Appendf(out, `\u%04x`, r)
		default:
			out = append(out, text[:n]...)
		}
		text = text[n:]
	}
	s.part = append([]byte(nil), text...)
	if _, err := s.Writer.Write(out); err != nil {
		return 0, err
	}
	return len(p), nil
}

// unfiltered returns where a writer of the command writes to, for what is not text.
func unfiltered(w io.Writer) io.Writer {
	if s, ok := w.(*shown); ok {
		return s.Writer
	}
	return w
}
