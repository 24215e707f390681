package tomltree

import (
	"cmp"
	"slices"
	"strings"
)

// A Fault is one thing wrong with a file.
type Fault struct {
	Pos    Pos
	Wrong  string // what is wrong
	Advice string // what to do: the nearest valid spelling where there is one

	// Instead is the value that Advice says to write at Pos; "" where it says no
	// one value.
	Instead string
}

func (f Fault) Error() string {
	s := f.Pos.String() + ": " + f.Wrong
	if f.Advice != "" {
		s += "; " + f.Advice
	}
	return s
}

// NewFault makes a fault that can be read even where it quotes a file's text
// of any length: of a long message the beginning and the end stay.
func NewFault(pos Pos, wrong, advice string) Fault {
	return Fault{Pos: pos, Wrong: brief(wrong), Advice: brief(advice)}
}

func brief(message string) string {
	const head, tail = 200, 100
	r := []rune(message)
	if len(r) <= head+tail {
		return message
	}
	return string(r[:head]) + " … " + string(r[len(r)-tail:])
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

// Sort puts faults into file order.
func (fs Faults) Sort() {
	slices.SortStableFunc(fs, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Pos.Line, b.Pos.Line), cmp.Compare(a.Pos.Column, b.Pos.Column))
	})
}
