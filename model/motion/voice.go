package motion

import (
	"math"
	"time"

	"propwright/model"
)

// A Voice is how an output follows the loudness of a track, in the firmware's own
// arithmetic: frame by frame it takes the next of the levels, makes it Gain times as
// loud, and goes on by a share of what is missing. Silence is 0 and the loudest 65535;
// where that is, the call's action and the cue say.
//
// The firmware has the levels in flash, two in a byte: 25 bytes for a second of sound.
type Voice struct {
	Follow  model.Follow // as the cue has it
	First   int          // of the track's levels, where the output begins to follow in its middle
	Levels  []uint8      // the track's, one a frame, up to where the routine silences it
	Gain    uint16       // what the level 1 is of 65535
	Attack  uint16       // the share, of 256, by which it goes after what is louder
	Release uint16       // and after what is less loud
}

// Loudest is the loudness of a Voice that is not surpassed.
const Loudest = math.MaxUint16

// newVoice is how a cue of a routine follows its track, and when it begins. It is false
// where the routine does not play the track then. Of a track whose loudness is not known
// there are no levels.
func newVoice(d *model.Design, r *model.Routine, c *model.Cue) (v *Voice, at time.Duration, ok bool) {
	at, into, ok := d.Followed(r, c)
	if !ok {
		return nil, 0, false
	}
	levels, err := d.Levels(d.Track(c.Follow.Track))
	if err != nil {
		levels = nil
	}
	return &Voice{
		Follow:  c.Follow,
		First:   min(int(into/Frame), len(levels)),
		Levels:  levels,
		Gain:    uint16(math.Round(c.Follow.Gain * Loudest / model.MostLevel)),
		Attack:  share(c.Follow.Attack),
		Release: share(c.Follow.Release),
	}, at, true
}

// share is the part of a step, of 256, that a first-order lag makes in a frame; 1 at the
// least.
func share(timeConstant time.Duration) uint16 {
	if timeConstant <= 0 {
		return 256
	}
	return uint16(max(1, math.Round(256*(1-math.Exp(-Frame.Seconds()/timeConstant.Seconds())))))
}

// Course is the loudness that is followed, frame by frame, until it has died away.
func (v *Voice) Course() []uint16 {
	var course []uint16
	level := uint16(0)
	for n := v.First; n < len(v.Levels) || level > 0; n++ {
		loud := uint16(0)
		if n < len(v.Levels) {
			loud = uint16(min(uint32(v.Levels[n])*uint32(v.Gain), Loudest))
		}
		if loud > level {
			level += uint16(uint32(loud-level) * uint32(v.Attack) >> 8)
		} else { // rounded up, so that it comes to an end
			level -= uint16((uint32(level-loud)*uint32(v.Release) + 255) >> 8)
		}
		course = append(course, level)
	}
	return course
}

// Widths are the pulse widths in half microseconds to which a servo is sent, frame by
// frame, while it follows a voice; the last one is that of silence.
func (v *Voice) Widths(o *model.Output, loud model.Degrees) []uint16 {
	course := v.Course()
	from, to := Pulse(o, float64(v.Follow.Quiet)), Pulse(o, float64(loud))
	for i, level := range course {
		if to > from {
			course[i] = from + uint16(uint32(to-from)*uint32(level)>>16)
		} else {
			course[i] = from - uint16(uint32(from-to)*uint32(level)>>16)
		}
	}
	return course
}

// Takes is how long it is followed.
func (v *Voice) Takes() time.Duration { return time.Duration(len(v.Course())) * Frame }

// after is the first moment at which frames are made of what is followed.
func (m moment) after() moment {
	if m.held() {
		return moment{time: m.time + time.Millisecond}
	}
	return m
}

// follow has a servo follow a voice.
func (s *servo) follow(v *Voice, loud model.Degrees, m moment) {
	m = m.after()
	l := s.begin(m)
	l.widths = v.Widths(s.output, loud)
	if len(l.widths) == 0 {
		return
	}
	quiet := Pulse(s.output, float64(v.Follow.Quiet))
	l.lo, l.hi = min(l.lo, quiet), max(l.hi, quiet)
	for _, w := range l.widths {
		l.lo, l.hi = min(l.lo, w), max(l.hi, w)
	}
	if l.vague {
		l.motor.Move(quiet, 0, model.EaseSmooth)
		l.settled = m.frame() + len(l.widths) + 1 + l.motor.settle(l.lo, l.hi, quiet, 0, model.EaseSmooth)
	}
	s.legs = append(s.legs, l)
}

// quit leaves a servo that follows where it has been sent by a moment.
func (s *servo) quit(m moment) {
	if l := &s.legs[len(s.legs)-1]; l.widths != nil {
		l.widths = l.widths[:min(max(l.frames(m), 0), len(l.widths))]
	}
}

// quit leaves lights that follow as they are at a moment.
func (s *strip) quit(m moment) {
	for i := range *s {
		if l := &(*s)[i]; l.voice != nil {
			l.voice = l.voice[:min(max(m.begun()-l.begun(), 0), len(l.voice))]
		}
	}
}

// follow puts a light that follows a voice over the pixels.
func (s *strip) follow(o *model.Output, c Call, m moment) {
	s.put(o, c.Action, m)
	if n := len(*s); n > 0 && c.Voice != nil {
		l := &(*s)[n-1]
		l.voice = c.Voice.Course()
		if l.voice == nil {
			l.voice = []uint16{}
		}
	}
}

// loudness is the voice's so many frames after the layer was put, as a share.
func (l *layer) loudness(age int) int {
	if age == 0 || len(l.voice) == 0 {
		return 0
	}
	return (int(l.voice[min(age, len(l.voice))-1]) + whole/2) / whole
}
