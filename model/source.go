package model

import "fmt"

// Pos is a place in a design file; Line and Column count from 1, columns in
// bytes. The zero Pos is "nowhere".
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

// Source is where an element stands in its file and which comments belong to
// it. It is embedded in every element; an element that was not read from a
// file has the zero Source.
type Source struct {
	Pos Pos
	// Keys gives, for each key the file states, where it stands and its
	// comments. A key that is present is written again even where its value
	// is the default.
	Keys map[string]Key
	Comments
}

// Key is one key of an element as the file states it.
type Key struct {
	Pos Pos // of the value
	Comments
}

// Comments are the comments a hand wrote at an element or a key, each line
// without its # and the blank after it.
type Comments struct {
	Above  []string // lines directly above
	Beside string   // on the same line
}

// At gives the place of a key's value, or of the element where the file does
// not state the key.
func (s *Source) At(key string) Pos {
	if k, ok := s.Keys[key]; ok {
		return k.Pos
	}
	return s.Pos
}

// States reports whether the file states the key.
func (s *Source) States(key string) bool {
	_, ok := s.Keys[key]
	return ok
}
