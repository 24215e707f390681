package model

import "strings"

// Fault is one thing wrong with a design file.
type Fault struct {
	Pos    Pos
	Wrong  string // what is wrong
	Advice string // what to do: the nearest valid spelling where there is one
}

func (f Fault) Error() string {
	s := f.Pos.String() + ": " + f.Wrong
	if f.Advice != "" {
		s += "; " + f.Advice
	}
	return s
}

// Faults are all faults of one file in file order; never empty as an error.
type Faults []Fault

func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}
