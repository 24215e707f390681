package model

import (
	"bytes"
	"fmt"
	"strings"
)

// Format writes the design as its file in canonical form: elements and keys
// in the documentation's order, each key on a line of its own, a blank line
// between elements, comments with the element that they belong to. A key is written
// where it differs from its default, and where the file stated it.
//
// Read of what Format writes gives the same design, provided that it has no
// faults; the text is valid TOML 1.0 in any case.
func (d *Design) Format() []byte {
	w := &writer{}
	w.comments(d.Head)
	fmt.Fprintf(&w.Buffer, "format = %d\n", FormatVersion)
	r := &reader{design: d}
	d.each(func(e Elem) {
		row := e.Sort.row()
		header := "[[" + string(e.Sort) + "]]"
		if row.single {
			header = "[" + string(e.Sort) + "]"
		}
		if row.inline || e.Sort == SortRemote && !d.Remote.isThere() || e.Sort == SortSupply && !d.Supply.isThere() {
			return
		}
		w.element(header, d.sourceAt(e), d.fieldsAt(e, r))
	})
	if len(d.Tail) > 0 {
		w.WriteByte('\n')
		w.comments(d.Tail)
	}
	return w.Bytes()
}

// isThere reports whether the design says anything of the remote.
func (m *Remote) isThere() bool {
	return m.Pos.IsValid() || len(m.Buttons) > 0 || m.Stop != "" || m.Pin != 0 || m.Note != ""
}

// isThere reports whether the design says anything of the supply.
func (s *Supply) isThere() bool {
	return s.Pos.IsValid() || s.Volts != 0 || s.MaxMA != 0 || s.Note != ""
}

// A writer writes elements.
type writer struct{ bytes.Buffer }

func (w *writer) element(header string, s *Source, fields []field) {
	w.WriteByte('\n')
	w.line(header, s.Comments)
	for _, f := range fields {
		if f.written(s) {
			w.line(f.key+" = "+f.write(), s.Keys[f.key].Comments)
		}
	}
}

// line writes a line with the comments above and beside it.
func (w *writer) line(text string, c Comments) {
	w.comments(c.Above)
	w.WriteString(text)
	if c.Beside != "" {
		w.WriteString(" # ")
		w.WriteString(commentText(strings.Join(strings.FieldsFunc(c.Beside, isBreak), " ")))
	}
	w.WriteByte('\n')
}

func (w *writer) comments(lines []string) {
	for _, text := range lines {
		for part := range strings.SplitSeq(text, "\n") {
			w.WriteString(strings.TrimRight("# "+commentText(part), " \t"))
			w.WriteByte('\n')
		}
	}
}

func isBreak(r rune) bool { return r == '\n' || r == '\r' }

// commentText replaces what TOML does not allow in a comment.
func commentText(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' || r == 0x7f {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}
