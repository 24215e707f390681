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

// A Study is a design with all that is computed from it: its program, the
// exploration, what the rules find, and what other packages make of it (see Part).
// Each is made when first asked for and then kept, so the design must not change.
// A Study is not safe for concurrent use.
type Study struct {
	*model.Design               // wired
	Written       *model.Design // as in its file
	Program       *machine.Program

	options timed.Options // except Rest, see restTimes
	after   int           // configurations explored after a requirement's event
	rest    []int64
	found   map[*Rule]Findings
	parts   map[any]any // by *Part[T], func() (T, error)
}

// NewStudy begins the study of a design that machine.Compile takes.
func NewStudy(d *model.Design) *Study { return newStudy(d, RepeatPeriod(d)) }

// newStudy is NewStudy with the period in milliseconds at which the remote repeats
// frames whose code does not give it.
func newStudy(d *model.Design, period uint32) *Study {
	p := machine.Compile(d)
	return &Study{
		Design: p.Design, Written: d, Program: p,
		options: timed.Options{Period: period, Bytes: mostBytes},
		after:   mostAfter,
		found:   map[*Rule]Findings{}, parts: map[any]any{},
	}
}

// mostBytes limits the memory of an exploration. mostAfter limits the configurations
// explored after an event, some 500 bytes each, to bound memory and time.
const (
	mostBytes = 1 << 30
	mostAfter = 1 << 17
)

// ErrTooLarge means that the exploration of a design does not fit in memory.
var ErrTooLarge = errors.New("too many situations")

// A Part is something computed once for a study. Other packages have parts too:
// gen/sketch has the firmware.
type Part[T any] struct {
	make func(*Study) (T, error)
}

// NewPart returns a Part that is made by a function.
func NewPart[T any](make func(*Study) (T, error)) *Part[T] { return &Part[T]{make} }

// Of returns the part of a study and the error of making it. It is made on first
// use.
func (p *Part[T]) Of(s *Study) (T, error) {
	once, ok := s.parts[p].(func() (T, error))
	if !ok {
		once = sync.OnceValues(func() (T, error) { return p.make(s) })
		s.parts[p] = once
	}
	return once()
}

// explored is the exploration. Its error wraps ErrTooLarge if memory ran out; the
// Space is then what was found until then.
var explored = NewPart(func(s *Study) (*timed.Space, error) {
	o := s.options
	o.Rest = s.restTimes()
	x := timed.Explore(s.Program, o)
	return x, tooLarge(s.Program, x, nil)
})

// tooLarge returns the error of an exploration that ran out of memory, or nil.
// unverified are the rules that needed all of it.
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

// Check applies rules and returns their findings in file order. Each rule is
// applied to a study once. An error wraps ErrTooLarge and says what is not
// verified; the findings are then those of the rules that do not explore.
func (s *Study) Check(rules []*Rule) (Findings, error) {
	x, _ := explored.Of(s)
	found := make([]Findings, len(rules))
	for i, r := range rules {
		if !r.Explores || !x.Full() {
			found[i] = s.look(r, x)
		}
	}
	// Rules also explore what follows stop and other events.
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

// look applies one rule.
func (s *Study) look(r *Rule, x *timed.Space) Findings {
	if found, ok := s.found[r]; ok {
		return found
	}
	p := &Pass{Study: s, rule: r, explored: x}
	r.Run(p)
	s.found[r] = p.findings()
	return s.found[r]
}
