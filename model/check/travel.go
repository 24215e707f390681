package check

import (
	"fmt"
	"math"
	"time"

	"propwright/model"
	"propwright/model/motion"
)

func overTravel(p *Pass) {
	d := p.Design
	for i := range d.Routines {
		r := &d.Routines[i]
		for j := range r.Cues {
			c := &r.Cues[j]
			p.outside(c.Source.At("to"), fmt.Sprintf("the cue at %s of routine %q", model.FormatDuration(c.At), r.Name), d.Output(c.Output), c.To)
		}
	}
	for i := range d.States {
		s := &d.States[i]
		for j := range s.Pose {
			pose := &s.Pose[j]
			p.outside(pose.At("to"), fmt.Sprintf("the pose of state %q", s.Name), d.Output(pose.Output), pose.To)
		}
		for j := range s.Drift {
			dr := &s.Drift[j]
			o := d.Output(dr.Output)
			for _, end := range dr.Between {
				if p.outside(dr.At("between"), fmt.Sprintf("the drift of state %q", s.Name), o, model.Degrees(end)) {
					break
				}
			}
		}
	}
}

// outside reports an angle that is not within a servo's travel.
func (p *Pass) outside(pos model.Pos, what string, o *model.Output, to model.Degrees) bool {
	if o == nil || o.Kind != model.KindServo || o.Min <= to && to <= o.Max {
		return false
	}
	p.Report(Finding{
		Pos:     pos,
		Message: fmt.Sprintf("%s sends %q to %v, outside of its travel %v to %v", what, o.Name, to, o.Min, o.Max),
		Advice:  fmt.Sprintf("choose an angle inside of it: as it stands the servo stops at %v", clamp(o, to)),
	})
	return true
}

func clamp(o *model.Output, to model.Degrees) model.Degrees { return min(max(to, o.Min), o.Max) }

// A leg is one cue's move of a servo as the cue sheet plans it: in the time
// that the cue asks for, whether the mechanism can follow or not.
type leg struct {
	cue   int           // index in Routine.Cues
	at    time.Duration // since the routine began, round after round
	from  motion.Range  // where the servo can be then
	to    model.Degrees
	ease  model.Ease
	asked time.Duration // 0: as fast as the mechanism stands
	takes time.Duration // in whole frames
}

// legs are a routine's moves of a servo, those of two rounds where it loops.
// Where the servo is when the routine begins nobody knows: anywhere in its
// travel, or on its way to the pose of the state. Of two cues of one time the
// later one moves.
func legs(d *model.Design, r *model.Routine, o *model.Output) []leg {
	rounds := 1
	if r.Loop {
		rounds = 2
	}
	calls := motion.Sheet(d, r)
	length := d.RoutineLength(r).Round(time.Millisecond)
	posed := posedFor(d, r, o)
	var ls []leg
	for n := range rounds {
		for _, c := range calls {
			if c.Output != o.Name {
				continue
			}
			l := leg{
				cue: c.Cue, at: time.Duration(n)*length + c.At, ease: c.Action.Ease, asked: c.Action.Over,
				from: anywhere(o), to: clamp(o, c.Action.To),
			}
			for k := range posed {
				at := posed[k].place(l.at)
				if k == 0 {
					l.from = at
				}
				l.from.Lo, l.from.Hi = min(l.from.Lo, at.Lo), max(l.from.Hi, at.Hi)
			}
			if k := len(ls) - 1; k >= 0 {
				l.from = ls[k].place(l.at)
				if ls[k].at == l.at {
					ls = ls[:k]
				}
			}
			l.takes = motion.Frames(l.asked)
			if l.asked == 0 {
				l.takes = l.stretched(o)
			}
			ls = append(ls, l)
		}
	}
	return ls
}

func anywhere(o *model.Output) motion.Range {
	return motion.Range{Lo: float64(o.Min), Hi: float64(o.Max)}
}

// posedFor are the ways of a servo into the poses of the states that play a
// routine, none where one of them poses it nowhere. Each takes as long as it
// may from anywhere: until it is over nobody knows where the servo is.
func posedFor(d *model.Design, r *model.Routine, o *model.Output) (ls []leg) {
	for i := range d.States {
		s := &d.States[i]
		if s.Plays != r.Name {
			continue
		}
		a, ok := motion.Posed(s, o.Name)
		if !ok {
			return nil
		}
		l := leg{from: anywhere(o), to: clamp(o, a.To), ease: a.Ease, asked: a.Over}
		l.takes, l.asked = l.stretched(o), 0
		ls = append(ls, l)
	}
	return ls
}

// stretched is how long the firmware lets the move take at the most, in whole
// frames: no mechanism is driven faster than its max_speed.
func (l *leg) stretched(o *model.Output) time.Duration {
	far := max(float64(l.to)-l.from.Lo, l.from.Hi-float64(l.to))
	return motion.Frames(max(l.asked, motion.LeastTime(o, 0, model.Degrees(far), l.ease)))
}

// place is where the servo can be at a time that is not before the leg's.
func (l *leg) place(at time.Duration) motion.Range {
	to := float64(l.to)
	if at-l.at >= l.takes {
		return motion.Range{Lo: to, Hi: to}
	}
	if l.asked == 0 && !l.from.Exact() { // how far it is depends on where it began
		return motion.Range{Lo: min(l.from.Lo, to), Hi: max(l.from.Hi, to)}
	}
	done := motion.Eased(l.ease, float64(at-l.at)/float64(l.takes))
	return motion.Range{Lo: l.from.Lo + (to-l.from.Lo)*done, Hi: l.from.Hi + (to-l.from.Hi)*done}
}

// slack keeps rounding from making a cue too fast.
const slack = time.Microsecond

func tooFast(p *Pass) {
	d := p.Design
	for i := range d.Routines {
		r := &d.Routines[i]
		for j := range d.Outputs {
			if o := &d.Outputs[j]; o.Kind == model.KindServo {
				p.tooFast(r, o)
			}
		}
	}
}

// tooFast reports the cues that a servo's mechanism cannot follow from any
// place where the servo can be when they begin. That spares a routine's first
// cue: to where the routine begins the firmware lets it take its time.
func (p *Pass) tooFast(r *model.Routine, o *model.Output) {
	said := map[int]bool{}
	for _, l := range legs(p.Design, r, o) {
		nearest := min(max(float64(l.to), l.from.Lo), l.from.Hi)
		way := math.Abs(float64(l.to) - nearest)
		least, limit := leastTime(o, way, l.ease)
		if l.asked == 0 || least <= l.asked+slack || said[l.cue] {
			continue
		}
		said[l.cue] = true
		c := &r.Cues[l.cue]
		needs := model.FormatDuration(roundUp(least - slack))
		p.Report(Finding{
			Pos: c.Source.At("over"),
			Message: fmt.Sprintf("the cue at %s of routine %q turns %q from %v to %v in %s; by its %s it needs %s at the least",
				model.FormatDuration(c.At), r.Name, o.Name, rounded(nearest), l.to, model.FormatDuration(l.asked), limit, needs),
			Advice: fmt.Sprintf("write over = %q or more, turn it less far, or leave over out where it may take as long as it needs", needs),
		})
	}
}

// rounded is an angle to a tenth of a degree, for people.
func rounded(deg float64) model.Degrees { return model.Degrees(math.Round(deg*10) / 10) }

// leastTime is the shortest time in which the mechanism stands a move of so
// many degrees from rest, and the limit that decides.
func leastTime(o *model.Output, way float64, e model.Ease) (time.Duration, string) {
	least, limit := motion.LeastTime(o, 0, model.Degrees(way), e), fmt.Sprintf("max_speed of %v", o.MaxSpeed)
	if o.MaxAccel > 0 {
		s := math.Sqrt(motion.PeakAccel(e) * way / float64(o.MaxAccel))
		const year = 365 * 24 * time.Hour // as motion.LeastTime
		if t := time.Duration(min(s*float64(time.Second), float64(year))); t > least {
			least, limit = t, fmt.Sprintf("max_accel of %v", o.MaxAccel)
		}
	}
	return least, limit
}
