package model

import "propwright/model/tomltree"

// Places, comments and faults are those of the file's tree.
type (
	Pos      = tomltree.Pos
	Comments = tomltree.Comments
	Fault    = tomltree.Fault
	Faults   = tomltree.Faults
)

// Source is where an element is in its file and which comments belong to
// it. It is embedded in every element; an element that was not read from a
// file has the zero Source.
type Source struct {
	Pos Pos
	// Keys gives, for each key the file states, its place and its
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

// source makes the Source of what embeds it reachable without knowing its type.
func (s *Source) source() *Source { return s }

// sourced is a pointer to a T, which has a Source.
type sourced[T any] interface {
	*T
	source() *Source
}
