package check

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/timed"
)

// A Study is a design with what is worked out of it: its program, what the
// rules say, everything that can come about, and what other packages make of
// it (a Part). Each is made when it is first asked for and shared by all that
// ask, so the design must not be changed. A Study belongs to one goroutine.
type Study struct {
	*model.Design               // wired
	Written       *model.Design // as its file says it
	Program       *machine.Program

	options timed.Options // but for Rest, see restTimes
	after   int           // configurations that are looked at after a requirement's event
	rest    []int64
	found   map[*Rule]Findings
	parts   map[any]any // by *Part[T], func() (T, error)
}

// NewStudy begins the study of a design that machine.Compile takes.
func NewStudy(d *model.Design) *Study { return newStudy(d, RepeatPeriod(d)) }

// newStudy is NewStudy for a remote of which the buttons whose codes do not
// tell it send a frame every period milliseconds.
func newStudy(d *model.Design, period uint32) *Study {
	p := machine.Compile(d)
	return &Study{
		Design: p.Design, Written: d, Program: p,
		options: timed.Options{Period: period, Bytes: mostBytes},
		after:   mostAfter,
		found:   map[*Rule]Findings{}, parts: map[any]any{},
	}
}

// mostBytes is how much memory an exploration may take, and mostAfter how many
// configurations are looked at after an event, some 500 bytes each: a matter of
// memory and of patience.
const (
	mostBytes = 1 << 30
	mostAfter = 1 << 17
)

// ErrTooLarge is the error of a design of which more can come about than there
// is memory for.
var ErrTooLarge = errors.New("too many situations")

// A Part is something that is worked out of a study once. Packages that this
// one does not know have parts too: gen/sketch the firmware.
type Part[T any] struct {
	make func(*Study) (T, error)
}

// NewPart names a part by how it is made.
func NewPart[T any](make func(*Study) (T, error)) *Part[T] { return &Part[T]{make} }

// Of is the part of a study, made now if nobody has asked for it before. The
// error is that of its making.
func (p *Part[T]) Of(s *Study) (T, error) {
	once, ok := s.parts[p].(func() (T, error))
	if !ok {
		once = sync.OnceValues(func() (T, error) { return p.make(s) })
		s.parts[p] = once
	}
	return once()
}

// explored is everything that can come about. The error wraps ErrTooLarge; then
// it is what was found until there was no memory left.
var explored = NewPart(func(s *Study) (*timed.Space, error) {
	o := s.options
	o.Rest = s.restTimes()
	x := timed.Explore(s.Program, o)
	return x, tooLarge(s.Program, x, nil)
})

// tooLarge is the error of an exploration that is full, nil else; unverified are
// the rules that would have had to know all of it.
func tooLarge(p *machine.Program, x *timed.Space, unverified []string) error {
	if !x.Full() {
		return nil
	}
	not := ""
	if unverified != nil {
		not = fmt.Sprintf("; not verified: %s; what the other rules say is verified", strings.Join(unverified, ", "))
	}
	z := x.Size()
	return fmt.Errorf("the design has %w: %s of them take %d MiB of memory, and only %d of %d states have been reached%s; "+
		"use fewer transitions that defer or lead back, and fewer buttons with a hold or a release: begin with state %q, which is in %s of the situations",
		ErrTooLarge, model.FormatCount(z.Configurations), z.Bytes>>20, z.States, len(p.Design.States), not,
		p.Name(z.Largest), model.FormatCount(z.LargestHas))
}

// Check applies rules and gives the findings in file order. A rule that has
// looked at the study does not look again. The error wraps ErrTooLarge and says
// what is not verified; the findings are then those of the rules that explore
// nothing.
func (s *Study) Check(rules []*Rule) (Findings, error) {
	x, _ := explored.Of(s)
	found := make([]Findings, len(rules))
	for i, r := range rules {
		if !r.Explores || !x.Full() {
			found[i] = s.look(r, x)
		}
	}
	// Rules explore too what follows the stop button and other events.
	var unverified []string
	for i, r := range rules {
		if r.Explores && x.Full() {
			unverified = append(unverified, r.ID)
			found[i] = nil
		}
	}
	all := slices.Concat(found...)
	slices.SortStableFunc(all, func(a, b Finding) int {
		return cmp.Or(
			cmp.Compare(a.Pos.Line, b.Pos.Line),
			cmp.Compare(a.Pos.Column, b.Pos.Column),
			cmp.Compare(a.Severity, b.Severity),
		)
	})
	if unverified == nil {
		return all, nil
	}
	return all, tooLarge(s.Program, x, unverified)
}

// look is what one rule finds.
func (s *Study) look(r *Rule, x *timed.Space) Findings {
	if found, ok := s.found[r]; ok {
		return found
	}
	p := &Pass{Study: s, rule: r, explored: x}
	r.Run(p)
	s.found[r] = p.findings()
	return s.found[r]
}
