package motion

import (
	"math"
	"time"

	"propwright/model"
)

// A path is where a servo or a spinner goes.
type path interface {
	// at is the value at a time, in degrees or in revolutions per second.
	at(t time.Duration) Range
	// move begins a move to a value.
	move(to float64, over time.Duration, e model.Ease, m moment)
	// roam has the output go from value to value of a range, at unknown times.
	roam(between Range, m moment)
}

// A moment is when something is asked of an output. The firmware plays cues just
// before a frame of the same time is made, but enters a state, and carries out
// a transition's orders, just after it has begun: then the frame is made without any of
// the move's time gone by.
type moment struct {
	time    time.Duration
	entered bool // or ordered
}

// frame is the first frame that is made after a moment, counted from power-up.
func (m moment) frame() int { return int(Frames(m.time) / Frame) }

// held reports whether the first frame is made before any time of a move that
// begins at the moment has gone by.
func (m moment) held() bool { return m.entered && m.time%Frame == 0 }

// begun is how many frames have begun by a moment, the one at power-up among them.
func (m moment) begun() int {
	if m.held() {
		return m.frame() + 1
	}
	return m.frame()
}

// A servo is all moves of one servo in order of their starts.
type servo struct {
	output *model.Output
	legs   []leg

	// What was asked for last: frames are made one after the other.
	leg, frame int
	motor      Generator
}

// A leg is what a servo does from a moment on, until the next leg begins.
type leg struct {
	moment
	motor Generator // before the first frame
	// widths are where the servo is sent, frame by frame, while it follows a voice.
	widths []uint16
	// Where chance has had a part it is not known where the servo is, only that
	// it is between two pulse widths and can stop there; from the frame settled on it is at
	// rest at the move's end.
	vague   bool
	lo, hi  uint16
	settled int
}

func newServo(o *model.Output) *servo {
	rest := NewGenerator(LimitsOf(o), Pulse(o, float64(o.Rest)))
	return &servo{output: o, legs: []leg{{motor: rest}}, motor: rest, frame: -1}
}

// Pulse is the pulse width for a value of a servo or a spinner, kept within the output's travel, in
// half microseconds.
func Pulse(o *model.Output, value float64) uint16 {
	l := LimitsOf(o)
	return clamp(Ticks(Width(o, exactly(value)).Lo), l.Lowest, l.Highest)
}

// Nudge is by how much a pulse is wider for a servo that is sent further by an angle,
// in half microseconds; at the most its whole travel.
func Nudge(o *model.Output, by model.Degrees) int {
	l := LimitsOf(o)
	travel := float64(l.Highest - l.Lowest)
	slope := 2 * float64(o.UsAtMax-o.UsAtMin) / float64(o.Max-o.Min)
	return int(math.Round(min(max(slope*float64(by), -travel), travel)))
}

func (s *servo) at(t time.Duration) Range {
	frame := int(t / Frame)
	l := s.last(t)
	if l.vague && frame < l.settled {
		a, b := degrees(s.output, l.lo), degrees(s.output, l.hi)
		return Range{min(a, b), max(a, b)}
	}
	g := s.made(l, frame)
	return exactly(g.Degrees(s.output))
}

// degrees is a servo's angle at a pulse width.
func degrees(o *model.Output, width uint16) float64 {
	return exactly(float64(width)/2).along(float64(o.UsAtMin), float64(o.Min), float64(o.UsAtMax), float64(o.Max)).Lo
}

// last is the leg at a time. The first one begins before any time that is asked
// for.
func (s *servo) last(t time.Duration) *leg {
	i := len(s.legs) - 1
	for i > 0 && s.legs[i].time > t {
		i--
	}
	if s.leg != i {
		s.leg, s.frame, s.motor = i, s.legs[i].frame()-1, s.legs[i].motor
	}
	return &s.legs[i]
}

// made is the generator after a frame of a leg, which is the one asked for last.
func (s *servo) made(l *leg, frame int) Generator {
	if l.vague {
		return NewGenerator(l.motor.Limits, l.motor.to)
	}
	if frame < s.frame {
		s.frame, s.motor = l.frame()-1, l.motor
	}
	for ; s.frame < frame && (!s.motor.Still() || s.frame+1 < l.frame()+len(l.widths)); s.frame++ {
		if n := s.frame + 1 - l.frame(); 0 <= n && n < len(l.widths) {
			s.motor.Move(l.widths[n], 0, model.EaseSmooth)
		}
		if s.frame >= l.frame() || !l.held() {
			s.motor.Tick()
		}
		s.motor.Step()
	}
	return s.motor
}

// begin is a leg from a moment on, with all that is known of where the servo is.
func (s *servo) begin(m moment) leg {
	before := s.last(m.time)
	frame := m.frame() - 1
	if before.vague && frame < before.settled {
		return leg{moment: m, motor: before.motor, vague: true, lo: before.lo, hi: before.hi}
	}
	g := s.made(before, frame)
	lo, hi := g.stops()
	return leg{moment: m, motor: g, lo: lo, hi: hi}
}

func (s *servo) move(to float64, over time.Duration, e model.Ease, m moment) {
	s.send(Pulse(s.output, to), over, e, m)
}

// nudge sends the servo further, by so many half microseconds, than where it was sent
// last. Where chance has sent it that is known no better than where it is.
func (s *servo) nudge(by int, over time.Duration, e model.Ease, m moment) {
	further := func(width uint16) uint16 {
		return uint16(clamp(int32(width)+int32(by), int32(s.motor.Lowest), int32(s.motor.Highest)))
	}
	if before := s.last(m.time); !before.vague || before.settled < math.MaxInt {
		s.send(further(before.target(m)), over, e, m)
		return
	}
	l := s.begin(m)
	l.settled = math.MaxInt
	l.lo, l.hi = min(l.lo, further(l.lo)), max(l.hi, further(l.hi))
	s.legs = append(s.legs, l)
}

// frames is how many frames of a leg have begun by a moment.
func (l *leg) frames(m moment) int { return m.begun() - l.frame() }

// target is where a leg has sent the servo by a moment.
func (l *leg) target(m moment) uint16 {
	made := min(l.frames(m), len(l.widths))
	if made <= 0 {
		return l.motor.to
	}
	return l.widths[made-1]
}

// send moves the servo to a pulse width.
func (s *servo) send(width uint16, over time.Duration, e model.Ease, m moment) {
	l := s.begin(m)
	l.motor.Move(width, int(Frames(over)/Frame), e)
	l.lo, l.hi = min(l.lo, width), max(l.hi, width)
	if l.vague {
		l.settled = m.frame() + 1 + l.motor.settle(l.lo, l.hi, width, int(Frames(over)/Frame), e)
	}
	s.legs = append(s.legs, l)
}

func (s *servo) roam(between Range, m moment) {
	l := s.begin(m)
	a, b := Pulse(s.output, between.Lo), Pulse(s.output, between.Hi)
	l.vague, l.settled = true, math.MaxInt
	l.lo, l.hi = min(l.lo, l.motor.to, a, b), max(l.hi, l.motor.to, a, b)
	s.legs = append(s.legs, l)
}

// stops are the ends of the way on which the output brakes, if it does so now,
// as pulse widths.
func (g *Generator) stops() (lo, hi uint16) {
	end := *g
	for end.speed != 0 {
		end.speed -= clamp(end.speed, -g.Accel, g.Accel)
		end.at += end.speed * (one / speedUnit)
	}
	stop := clamp(uint16(width(end.at)), g.Lowest, g.Highest)
	return min(g.sent, stop), max(g.sent, stop)
}

// settle is the most frames until an output that is sent to a width has come to
// rest there, from whatever it does between two widths if it can stop between them.
// They are those of the generator from some such places and speeds, the extremes
// among them, and two more: no case is much worse than its neighbours.
// TestSettleIsNeverTooShort holds it against random ones.
func (l *Limits) settle(lo, hi, to uint16, frames int, e model.Ease) int {
	way := hi - lo
	// How far it goes on from its highest speed.
	brake := uint16(min(float64(way), float64(l.Fastest)*float64(l.Fastest+l.Accel)/float64(2*l.Accel*speedUnit)+1))
	most := 0
	for _, at := range []uint16{0, way / 4, way / 2, way - way/4, way, brake, way - brake} {
		for _, room := range []int32{int32(way - at), 0, -int32(at)} { // that it stops in
			g := NewGenerator(*l, lo+at)
			g.speed = canStop(max(room, -room)*speedUnit, l.Accel, l.Fastest)
			if room < 0 {
				g.speed = -g.speed
			}
			g.Move(to, frames, e)
			most = max(most, g.Takes())
		}
	}
	return most + 2
}

// Settle is the longest time from a state's entry, or a cue, until a servo that is
// sent to a place has come to rest there, whatever it has been doing if it could
// stop within the range. It is in whole frames.
func Settle(o *model.Output, to model.Degrees, over time.Duration, e model.Ease, between Range) time.Duration {
	l := LimitsOf(o)
	a, b := Pulse(o, between.Lo), Pulse(o, between.Hi)
	return Frame * time.Duration(1+l.settle(min(a, b), max(a, b), Pulse(o, float64(to)), int(Frames(over)/Frame), e))
}
