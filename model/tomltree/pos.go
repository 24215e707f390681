package tomltree

import (
	"fmt"
	"sort"
)

// Pos is a place in a file; Line and Column count from 1, columns in bytes.
// The zero Pos is "nowhere".
type Pos struct {
	File         string
	Line, Column int
}

func (p Pos) String() string {
	if p.Line == 0 {
		return p.File
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
}

// IsValid reports whether p names a place.
func (p Pos) IsValid() bool { return p.Line > 0 }

// Comments are the comments a hand wrote at a table or a key, each line
// without its # and the blank after it.
type Comments struct {
	Above  []string // lines directly above
	Beside string   // on the same line
}

// All lists the lines in file order.
func (c Comments) All() []string {
	if c.Beside == "" {
		return c.Above
	}
	return append(c.Above[:len(c.Above):len(c.Above)], c.Beside)
}

// lines finds lines and columns in a text.
type lines struct {
	file   string
	starts []int // offset of each line's first byte
}

func newLines(file string, data []byte) *lines {
	l := &lines{file: file, starts: []int{0}}
	for i, c := range data {
		if c == '\n' {
			l.starts = append(l.starts, i+1)
		}
	}
	return l
}

// line is the index of the line that holds the offset.
func (l *lines) line(offset int) int {
	return sort.SearchInts(l.starts, offset+1) - 1
}

func (l *lines) pos(offset int) Pos {
	i := l.line(offset)
	return Pos{File: l.file, Line: i + 1, Column: offset - l.starts[i] + 1}
}

// PosAt is the place of a byte of a file.
func PosAt(file string, data []byte, offset int) Pos { return newLines(file, data).pos(offset) }
