package motion

import (
	"time"

	"propwright/model"
)

// A move takes a spinner from one speed to another, in revolutions per second.
// Nothing but its plan limits it.
type move struct {
	start time.Duration
	over  time.Duration // in whole frames
	from  Range
	to    Range
	ease  model.Ease
}

// at is the value at a time that is not before the move's start.
func (m move) at(t time.Duration) Range {
	if t-m.start >= m.over {
		return m.to
	}
	return m.from.mix(m.to, Eased(m.ease, float64(t-m.start)/float64(m.over)))
}

// A spinner is all moves of one spinner in order of their starts.
type spinner struct {
	output *model.Output
	moves  []move // the first starts at or before any time that is asked for
}

func newSpinner(o *model.Output) *spinner { return &spinner{o, []move{{}}} }

func (s *spinner) at(t time.Duration) Range {
	i := len(s.moves) - 1
	for i > 0 && s.moves[i].start > t {
		i--
	}
	return s.moves[i].at(t)
}

func (s *spinner) move(to float64, over time.Duration, e model.Ease, m moment) {
	s.moves = append(s.moves, move{start: m.time, over: Frames(over), from: s.at(m.time), to: within(s.output, exactly(to)), ease: e})
}

func (s *spinner) roam(between Range, m moment) {
	last := s.moves[len(s.moves)-1]
	s.moves = append(s.moves, move{start: m.time, to: last.at(m.time).hull(last.to).hull(within(s.output, between))})
}

// within is the part of a range that is on the output's scale.
func within(o *model.Output, r Range) Range {
	lo, hi := o.Scale()
	return Range{min(max(r.Lo, lo), hi), min(max(r.Hi, lo), hi)}
}

// Ends are the widths of the shortest and of the longest pulse of a servo or a spinner, in
// microseconds.
func Ends(o *model.Output) Range {
	lo, hi := o.Scale()
	return Width(o, Range{lo, hi})
}

// Width is the pulse width in microseconds that puts a servo to a position in
// degrees or a spinner to a speed in revolutions per second.
func Width(o *model.Output, value Range) Range {
	if o.Kind == model.KindSpinner {
		return value.along(0, float64(o.StopUs), float64(o.RevPerS), float64(o.FullUs))
	}
	return value.along(float64(o.Min), float64(o.UsAtMin), float64(o.Max), float64(o.UsAtMax))
}
