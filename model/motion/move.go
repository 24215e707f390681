package motion

import (
	"time"

	"propwright/model"
)

// A move takes a servo (in degrees) or a spinner (in revolutions per second)
// from one value to another.
type move struct {
	start time.Duration
	over  time.Duration // in whole frames; the longest it can take where chance has a part
	from  Range
	to    Range
	ease  model.Ease
}

// at is the value at a time that is not before the move's start.
func (m move) at(t time.Duration) Range {
	switch {
	case t-m.start >= m.over:
		return m.to
	case m.from.Exact() && m.to.Exact():
		return m.from.mix(m.to, Eased(m.ease, float64(t-m.start)/float64(m.over)))
	default: // how far it is depends on where it began
		return m.from.hull(m.to)
	}
}

// A course is all moves of one output in order of their starts. The first
// starts at or before any time that is asked for.
type course []move

func (c course) at(t time.Duration) Range {
	for i := len(c) - 1; i > 0; i-- {
		if c[i].start <= t {
			return c[i].at(t)
		}
	}
	return c[0].at(t)
}

// move is the move that a pose or a cue asks for at a time.
func (p *played) move(a model.Action, at time.Duration) move {
	to, ease := p.target(a)
	return newMove(p.Output, at, p.course.at(at), exactly(to), a.Over, ease)
}

// newMove is the move that takes a servo or a spinner from where it is to a
// target, kept within what the output can and stretched to what it stands.
func newMove(o *model.Output, start time.Duration, from, to Range, over time.Duration, e model.Ease) move {
	to = within(o, to)
	far := max(to.Hi-from.Lo, from.Hi-to.Lo)
	over = max(over, LeastTime(o, 0, model.Degrees(far), e))
	return move{start: start, over: Frames(over), from: from, to: to, ease: e}
}

// atRest is the move with which a servo or a spinner begins: none.
func atRest(o *model.Output) move {
	rest := within(o, exactly(float64(o.Rest)))
	return move{from: rest, to: rest}
}

// within is the part of a range that is on the output's scale.
func within(o *model.Output, r Range) Range {
	lo, hi := o.Scale()
	return Range{min(max(r.Lo, lo), hi), min(max(r.Hi, lo), hi)}
}

// Width is the pulse width in microseconds that puts a servo to a position in
// degrees or a spinner to a speed in revolutions per second.
func Width(o *model.Output, value Range) Range {
	if o.Kind == model.KindSpinner {
		return value.along(0, float64(o.StopUs), float64(o.RevPerS), float64(o.FullUs))
	}
	return value.along(float64(o.Min), float64(o.UsAtMin), float64(o.Max), float64(o.UsAtMax))
}
