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

// played is the output after all that is due up to and at a time, or nil.
func (s *Stage) played(output string, at time.Duration) *played {
	s.advance(at)
	return s.outputs[output]
}
