package ir

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Surety is how far a lesson can be relied on.
type Surety uint8

const (
	Noise    Surety = iota // nothing to rely on: press again
	Doubtful               // understood, but press again to be sure
	Certain
)

func (s Surety) String() string {
	switch s {
	case Noise:
		return "noise"
	case Doubtful:
		return "doubtful"
	case Certain:
		return "certain"
	}
	return fmt.Sprintf("Surety(%d)", uint8(s))
}

// A Lesson is what was understood of one press of a button.
type Lesson struct {
	Code Code // without a protocol where nothing was understood
	Sure Surety
	Why  string // what the surety rests on, or what was wrong and what to do: a sentence without its full stop

	Frames  int // that were understood as this code, with those that only repeat it
	Broken  int // that were not understood
	Longest int // marks and spaces of the longest frame

	Mean    float64 // how far the times are off, the mean of |measured - nominal| / unit; 0 of a raw code
	Worst   int     // microseconds that the time furthest off is off
	Stretch int     // microseconds by which marks are longer than they should be, on average
}

// A Learner takes the times of a remote's frames and makes a lesson of each
// press. The zero Learner is ready. It keeps the frames of one press, at most
// some hundred kilobytes.
type Learner struct {
	frames [][]int
	gaps   []int // silence before each frame
	frame  []int
	gap    int
}

const (
	pressSilence = 250_000 // microseconds after which a press is over: no period is as long
	mostFrames   = 100
	mostPeriod   = 10_000_000 // microseconds: far more than any remote's; a longer one had a mark that never ended
)

// Feed takes the next time, as Decoder.Feed does. It gives a lesson with the
// silence after a press.
func (l *Learner) Feed(mark bool, us int) (Lesson, bool) {
	if mark || us < rawSilence {
		switch {
		case len(l.frame) == 0 && !mark: // silence goes on
			l.gap += us
		case len(l.frame)%2 == 0 == mark:
			l.frame = append(l.frame, us)
		default: // a time was lost
			l.end()
			if mark {
				l.frame = append(l.frame, us)
			}
		}
		if len(l.frame) > RawMost+1 {
			l.end()
		}
		return Lesson{}, false
	}
	l.end()
	l.gap += us
	if l.gap < pressSilence || len(l.frames) == 0 {
		return Lesson{}, false
	}
	lesson := l.judge()
	*l = Learner{gap: l.gap}
	return lesson, true
}

func (l *Learner) end() {
	if len(l.frame) > 0 && len(l.frames) < mostFrames {
		l.frames = append(l.frames, l.frame)
		l.gaps = append(l.gaps, l.gap)
	}
	l.frame, l.gap = nil, 0
}

// judge makes the lesson of the frames of one press.
func (l *Learner) judge() Lesson {
	var heard []Frame
	var of []int // which frame each is
	broken := 0
	d := Decoder{Raw: true}
	for i, frame := range l.frames {
		d.Feed(false, max(l.gaps[i], rawSilence))
		found := false
		take := func(f Frame, ok bool) {
			if ok {
				heard, of, found = append(heard, f), append(of, i), true
			}
		}
		for j, us := range frame {
			take(d.Feed(j%2 == 0, us))
		}
		// The silence is told in two parts; the decoder's clock is right
		// all the same.
		probe := d
		take(probe.Feed(false, rawSilence))
		if !found {
			broken++
		}
	}
	lesson := Lesson{Broken: broken}
	for _, frame := range l.frames {
		lesson.Longest = max(lesson.Longest, len(frame))
	}
	if len(heard) == 0 {
		lesson.Why = "no frame was understood: it may be too short for a remote, broken off, or noise; hold the remote close and press again"
		return lesson
	}
	codes := map[Code]int{}
	for _, f := range heard {
		codes[f.Code]++
	}
	most := slices.MaxFunc(heard, func(a, b Frame) int { return cmp.Compare(codes[a.Code], codes[b.Code]) })
	lesson.Code, lesson.Frames = most.Code, codes[most.Code]
	lesson.compare(l, heard, of)
	raw := lesson.Code.Protocol == "raw"
	if raw {
		lesson.Code.Address = l.period()
	}
	lesson.Code.Resent = resent(lesson.Code, heard)
	p := find(lesson.Code.Protocol)
	switch {
	case lesson.Frames < len(heard):
		lesson.Sure = Noise
		lesson.Why = fmt.Sprintf("the press gave %d frames of %s and %d of another code; keep other remotes away and press again",
			lesson.Frames, lesson.Code, len(heard)-lesson.Frames)
	case broken > lesson.Frames/2:
		lesson.Sure = Doubtful
		lesson.Why = fmt.Sprintf("%d of %d frames were broken; hold the remote closer and press again", broken, broken+lesson.Frames)
	case raw && lesson.Frames < 2:
		lesson.Sure = Doubtful
		lesson.Why = "the protocol is not known and only one frame came; hold the button a little longer, or press again: the same fingerprint twice will do"
	case !p.HasCheck() && lesson.Frames < 2:
		lesson.Sure = Doubtful
		lesson.Why = fmt.Sprintf("%s has no check and only one frame came; hold the button a little longer", p.Name)
	case lesson.Mean > 0.3:
		lesson.Sure = Doubtful
		lesson.Why = fmt.Sprintf("the times are off by %.0f %% of the unit; hold the remote closer, out of bright light, and press again", 100*lesson.Mean)
	case p.HasCheck():
		lesson.Sure = Certain
		lesson.Why = "the frame's check is right"
	default:
		lesson.Sure = Certain
		lesson.Why = fmt.Sprintf("%d frames were the same", lesson.Frames)
	}
	return lesson
}

// resent reports whether a press's frames show that a remote sends the whole frame
// again where the protocol has a shorter one. Two of them may be two presses.
func resent(c Code, heard []Frame) bool {
	whole := 0
	for _, f := range heard {
		switch {
		case f.Code != c:
		case f.Repeat:
			return false
		default:
			whole++
		}
	}
	return whole > 2 && (c.Repeats() == RepeatMark || c.Repeats() == RepeatBare)
}

// compare works out how far the times of the lesson's frames are off.
func (lesson *Lesson) compare(l *Learner, heard []Frame, of []int) {
	p := find(lesson.Code.Protocol)
	if p.Wave.Family == Unknown {
		return
	}
	var off, stretch float64
	times, marks := 0, 0
	for i, f := range heard {
		if f.Code != lesson.Code {
			continue
		}
		frame := l.frames[of[i]]
		for _, nominal := range [][]int{EncodePress(f.Code, f.Toggle), EncodeHeld(f.Code, f.Toggle)} {
			if len(nominal) != len(frame) {
				continue
			}
			for j, us := range frame {
				d := us - nominal[j]
				off += math.Abs(float64(d))
				times++
				if abs(d) > abs(lesson.Worst) {
					lesson.Worst = d
				}
				if j%2 == 0 {
					stretch += float64(d)
					marks++
				}
			}
			break
		}
	}
	if times > 0 {
		lesson.Mean = off / float64(times) / p.Wave.Unit
		lesson.Stretch = int(math.Round(stretch / float64(marks)))
	}
}

func abs(n int) int { return max(n, -n) }

// period is the time from frame to frame in milliseconds, 0 where it is not
// known.
func (l *Learner) period() uint32 {
	var periods []int
	for i := 1; i < len(l.frames); i++ {
		length := l.gaps[i]
		for _, us := range l.frames[i-1] {
			length += us
		}
		if length < mostPeriod {
			periods = append(periods, length)
		}
	}
	if len(periods) == 0 {
		return 0
	}
	slices.Sort(periods)
	return uint32(periods[len(periods)/2]+500) / 1000
}
