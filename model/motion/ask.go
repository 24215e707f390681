package motion

import "time"

// Value is a servo's position in degrees, or a spinner's speed in revolutions
// per second.
func (s *Stage) Value(output string, at time.Duration) Range {
	p := s.played(output, at)
	if p == nil || p.path == nil {
		return Range{}
	}
	return p.path.at(at)
}

// Us is the width of a servo's or a spinner's pulses in microseconds.
func (s *Stage) Us(output string, at time.Duration) Range {
	p := s.played(output, at)
	if p == nil || p.path == nil {
		return Range{}
	}
	return Width(p.Output, p.path.at(at))
}

// Pixel is what a pixel of a strip shows; pixels count from 0.
func (s *Stage) Pixel(output string, pixel int, at time.Duration) Light {
	p := s.played(output, at)
	if p == nil {
		return Light{}
	}
	return p.strip.at(pixel, at)
}

// Active reports whether a pulse output is held active or a switch is on.
func (s *Stage) Active(output string, at time.Duration) bool {
	p := s.played(output, at)
	if p == nil {
		return false
	}
	for _, a := range p.active {
		if a.from <= at && at < a.to {
			return true
		}
	}
	return false
}

// Sent lists what a message output has sent up to and at a time.
func (s *Stage) Sent(output string, to time.Duration) []Sent {
	p := s.played(output, to)
	if p == nil {
		return nil
	}
	n := len(p.sent)
	for n > 0 && p.sent[n-1].At > to {
		n--
	}
	return p.sent[:n:n]
}

// Asked lists what poses and cues have asked of an output up to and at a time.
func (s *Stage) Asked(output string, to time.Duration) []Asked {
	p := s.played(output, to)
	if p == nil {
		return nil
	}
	n := len(p.asked)
	for n > 0 && p.asked[n-1].At > to {
		n--
	}
	return p.asked[:n:n]
}

// Heard lists the sounds of tracks that cues up to and at a time have started,
// in order of their calls. A sound that was stopped ends there.
func (s *Stage) Heard(to time.Duration) []Heard {
	s.advance(to)
	return s.heard[:len(s.heard):len(s.heard)]
}

// Current is what an output draws at a time, in milliampere, as the check
// counts it: a servo or a spinner that has moved since the frame before draws
// its stall current (see MotorMA).
func (s *Stage) Current(output string, at time.Duration) Range {
	p := s.played(output, at)
	if p == nil {
		return Range{}
	}
	switch p.form {
	case OnScale:
		was := p.path.at(max(0, at-Frame))
		v := p.path.at(at) // after was: frames are made one after the other
		moves := v != was
		if p.stops {
			moves = v != exactly(0)
		}
		return Range{MotorMA(p.Output, moves && v.Exact()), MotorMA(p.Output, moves || !v.Exact())}
	case InLights:
		var sum Range
		for i := range p.Count {
			ma := p.strip.at(i, at).ma()
			sum.Lo, sum.Hi = sum.Lo+ma.Lo, sum.Hi+ma.Hi
		}
		return sum
	}
	return Range{}
}

// played is the output after all that is due up to and at a time, or nil.
func (s *Stage) played(output string, at time.Duration) *played {
	s.advance(at)
	return s.outputs[output]
}
