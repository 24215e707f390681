package check

import (
	"fmt"
	"iter"
	"math"
	"slices"
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
			p.outside(&c.Source, "to", fmt.Sprintf("the cue at %s of routine %q", model.FormatDuration(c.At), r.Name), d.Output(c.Output), c.To)
			if c.Follow.Track != "" {
				p.outside(&c.Source, "quiet", fmt.Sprintf("the cue at %s of routine %q", model.FormatDuration(c.At), r.Name), d.Output(c.Output), c.Follow.Quiet)
			}
		}
	}
	p.orderTravel()
	for i := range d.States {
		s := &d.States[i]
		for j := range s.Pose {
			pose := &s.Pose[j]
			p.outside(&pose.Source, "to", fmt.Sprintf("the pose of state %q", s.Name), d.Output(pose.Output), pose.To)
		}
		for j := range s.Drift {
			dr := &s.Drift[j]
			o := d.Output(dr.Output)
			for _, end := range dr.Between {
				if p.outside(&dr.Source, "between", fmt.Sprintf("the drift of state %q", s.Name), o, model.Degrees(end)) {
					break
				}
			}
		}
	}
}

// outside reports an angle that is not within a servo's travel.
func (p *Pass) outside(s *model.Source, key, what string, o *model.Output, to model.Degrees) bool {
	if o == nil || o.Kind != model.KindServo || o.Min <= to && to <= o.Max {
		return false
	}
	f := Finding{
		Pos:     s.At(key),
		Message: fmt.Sprintf("%s sends %q to %v, outside of its travel %v to %v", what, o.Name, to, o.Min, o.Max),
		Advice:  fmt.Sprintf("choose an angle inside of it: as it stands the servo stops at %v", clamp(o, to)),
	}
	if key != "between" {
		f.Fix = fix(s, key, clamp(o, to).String())
	}
	p.Report(f)
	return true
}

func clamp(o *model.Output, to model.Degrees) model.Degrees { return min(max(to, o.Min), o.Max) }

// A leg is the move of a servo by one cue.
type leg struct {
	cue   int           // index in Routine.Cues
	at    time.Duration // since the routine began, over its rounds
	from  motion.Range  // where the servo can be then
	to    model.Degrees
	ease  model.Ease
	asked time.Duration // 0 means as quickly as the mechanism allows
	takes time.Duration // as the cue plans it, else rests; in whole frames
	rests time.Duration // the longest time until it is still; in whole frames
	// motor is the firmware's generator with the move planned. It is nil if the
	// servo's motion at the start of the move is unknown.
	motor *motion.Generator
}

// legs returns a routine's moves of a servo, over two rounds if it loops. When the
// routine begins the servo is on its way to the state's pose or, without one, where
// the state found it; if found is nil that is anywhere in its travel. Of two cues at
// the same time the later one counts.
func legs(d *model.Design, r *model.Routine, o *model.Output, found []motion.Range) []leg {
	rounds := 1
	if r.Loop {
		rounds = 2
	}
	calls := motion.Sheet(d, r)
	length := d.RoutineLength(r).Round(time.Millisecond)
	ways := waysIn(d, r, o, found)
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
			if k := len(ls) - 1; k >= 0 {
				l.follow(o, &ls[k])
				if ls[k].at == l.at {
					ls = ls[:k]
				}
			} else {
				l.begin(o, ways)
			}
			if c.Voice != nil {
				l.voice(o, c.Voice)
			} else {
				l.settle(o)
			}
			ls = append(ls, l)
		}
	}
	return ls
}

func anywhere(o *model.Output) motion.Range {
	return motion.Range{Lo: float64(o.Min), Hi: float64(o.Max)}
}

// waysIn returns the moves of a servo into the states that play a routine, or none if
// one of them is unknown. The way into a pose takes the longest time that it can take
// from anywhere; until then the servo's place is unknown.
func waysIn(d *model.Design, r *model.Routine, o *model.Output, found []motion.Range) (ls []leg) {
	for i := range d.States {
		s := &d.States[i]
		if s.Plays != r.Name {
			continue
		}
		to, takes, moves := entry(d, s, o)
		switch {
		case moves:
			ls = append(ls, leg{from: anywhere(o), to: to, takes: takes})
		case found == nil || !found[i].Exact():
			return nil
		default:
			ls = append(ls, leg{from: found[i], to: model.Degrees(found[i].Lo)})
		}
	}
	return ls
}

// begin sets the start of a routine's first leg from the ways into its states.
func (l *leg) begin(o *model.Output, ways []leg) {
	rested := len(ways) > 0
	for k := range ways {
		at := ways[k].place(l.at)
		if k == 0 {
			l.from = at
		}
		l.from.Lo, l.from.Hi = min(l.from.Lo, at.Lo), max(l.from.Hi, at.Hi)
		rested = rested && l.at >= ways[k].takes
	}
	if rested && l.from.Exact() {
		l.still(o, ways[0].to)
	}
}

// follow sets the start of a leg from the leg before it.
func (l *leg) follow(o *model.Output, before *leg) {
	switch {
	case before.motor != nil:
		g := *before.motor
		for n := frames(l.at) - frames(before.at); n > 0 && !g.Still(); n-- {
			g.Tick()
			g.Step()
		}
		l.motor = &g
		l.from = motion.Range{Lo: g.Degrees(o), Hi: g.Degrees(o)}
	case l.at >= before.at+before.takes:
		l.still(o, before.to)
	default:
		l.from = before.place(l.at)
	}
}

// still lets a leg begin at rest.
func (l *leg) still(o *model.Output, at model.Degrees) {
	g := resting(o, float64(at))
	l.motor, l.from = &g, motion.Range{Lo: float64(at), Hi: float64(at)}
}

// resting returns the generator of a servo at rest.
func resting(o *model.Output, at float64) motion.Generator {
	return motion.NewGenerator(motion.LimitsOf(o), motion.Pulse(o, at))
}

// settle plans the move and computes how long it takes, at most if the servo's
// motion is unknown.
func (l *leg) settle(o *model.Output) {
	if l.motor != nil {
		l.motor.Move(motion.Pulse(o, float64(l.to)), frames(l.asked), l.ease)
		l.rests = time.Duration(l.motor.Takes()) * motion.Frame
	} else {
		reach := motion.Range{Lo: min(l.from.Lo, float64(l.to)), Hi: max(l.from.Hi, float64(l.to))}
		l.rests = motion.Settle(o, l.to, l.asked, l.ease, reach)
	}
	l.takes = motion.Frames(l.asked)
	if l.asked == 0 {
		l.takes = l.rests
	}
}

// voice lets the servo move between silence and the loudest, and end at silence.
func (l *leg) voice(o *model.Output, v *motion.Voice) {
	quiet := clamp(o, v.Follow.Quiet)
	l.motor = nil
	l.from.Lo, l.from.Hi = min(l.from.Lo, float64(l.to), float64(quiet)), max(l.from.Hi, float64(l.to), float64(quiet))
	l.to = quiet
	l.takes = v.Takes() + motion.Settle(o, quiet, 0, model.EaseSmooth, l.from)
	l.rests = l.takes
}

func frames(t time.Duration) int { return int(motion.Frames(t) / motion.Frame) }

// place returns where the servo can be at a time not before the leg's, according to
// its plan.
func (l *leg) place(at time.Duration) motion.Range {
	to := float64(l.to)
	if at-l.at >= l.takes {
		return motion.Range{Lo: to, Hi: to}
	}
	if l.asked == 0 {
		return motion.Range{Lo: min(l.from.Lo, to), Hi: max(l.from.Hi, to)}
	}
	done := motion.Eased(l.ease, float64(at-l.at)/float64(l.takes))
	return motion.Range{Lo: l.from.Lo + (to-l.from.Lo)*done, Hi: l.from.Hi + (to-l.from.Hi)*done}
}

// slack keeps rounding errors from making a cue too fast.
const slack = time.Microsecond

func tooFast(p *Pass) {
	p.orderTooFast()
	for o, r := range p.moving() {
		for _, l := range p.late(r, o, nil) {
			p.reportIn(l.Finding)
		}
	}
}

func lateStart(p *Pass) {
	w, found := calmly(p.Program), map[*model.Output][]motion.Range{}
	for o, r := range p.moving() {
		if found[o] == nil {
			found[o] = w.found(o)
		}
		starts := p.late(r, o, found[o])
		if len(starts) == 0 {
			continue
		}
		always := p.late(r, o, nil) // too-fast has told
		for _, l := range starts {
			if !slices.ContainsFunc(always, func(a lateCue) bool { return a.cue == l.cue }) {
				p.reportIn(l.Finding)
			}
		}
	}
}

// moving yields each servo with each routine.
func (p *Pass) moving() iter.Seq2[*model.Output, *model.Routine] {
	return func(yield func(*model.Output, *model.Routine) bool) {
		for i := range p.Design.Outputs {
			for j := range p.Design.Routines {
				if o := &p.Design.Outputs[i]; o.Kind == model.KindServo && !yield(o, &p.Design.Routines[j]) {
					return
				}
			}
		}
	}
}

// A lateCue is a cue that comes late; cue is its index in the routine.
type lateCue struct {
	cue int
	Finding
}

// late returns the cues that a servo cannot follow from any place where it can be when
// they begin, and those for which it has to brake first. found is as for legs.
func (p *Pass) late(r *model.Routine, o *model.Output, found []motion.Range) (all []lateCue) {
	said := map[int]bool{}
	for _, l := range legs(p.Design, r, o, found) {
		if l.asked == 0 || said[l.cue] {
			continue
		}
		c := &r.Cues[l.cue]
		nearest := min(max(float64(l.to), l.from.Lo), l.from.Hi)
		least, limit := leastTime(o, math.Abs(float64(l.to)-nearest), l.ease)
		cue := fmt.Sprintf("the cue at %s of routine %q", model.FormatDuration(c.At), r.Name)
		fits, needs := least <= l.asked+slack, l.asked
		if !fits {
			needs = model.RoundUp(least - slack)
		}
		if needs = l.inTime(o, needs); needs == l.asked {
			continue
		}
		message := fmt.Sprintf("%s turns %q from %v to %v in %s; by its %s it needs %s at the least",
			cue, o.Name, rounded(nearest), l.to, model.FormatDuration(l.asked), limit, model.FormatDuration(needs))
		if late := l.late(o, frames(l.asked)); late > 0 && fits {
			message = fmt.Sprintf("%s finds %q turning at %v; by its max_accel of %v it comes to %v %s late",
				cue, o.Name, model.DegPerS(math.Round(math.Abs(float64(l.motor.DegreesPerS(o))))), o.MaxAccel, l.to, model.FormatDuration(late))
		}
		said[l.cue] = true
		all = append(all, lateCue{l.cue, Finding{
			Pos:     c.Source.At("over"),
			State:   p.player(r),
			Message: message,
			Advice:  fmt.Sprintf("write over = %q or more, turn it less far, or leave over out where it may take as long as it needs", model.FormatDuration(needs)),
			Fix:     fix(&c.Source, "over", model.FormatDuration(needs)),
		}})
	}
	return all
}

// player returns the first state that plays a routine, or "".
func (p *Pass) player(r *model.Routine) string {
	for i := range p.Design.States {
		if s := &p.Design.States[i]; s.Plays == r.Name {
			return s.Name
		}
	}
	return ""
}

// late returns how much later the move, planned for so many frames, ends because the
// servo is moving when it begins: from rest at the same place it would end at least
// two frames earlier.
func (l *leg) late(o *model.Output, frames int) time.Duration {
	if l.motor == nil || o.MaxAccel == 0 || l.motor.Speed() == 0 {
		return 0
	}
	to := motion.Pulse(o, float64(l.to))
	moving, rested := *l.motor, motion.NewGenerator(l.motor.Limits, l.motor.Width())
	moving.Move(to, frames, l.ease)
	rested.Move(to, frames, l.ease)
	if takes := moving.Takes(); takes > max(frames, rested.Takes()+1) {
		return time.Duration(takes-frames) * motion.Frame
	}
	return 0
}

// inTime returns the least time, from over up, in which the move does not end late.
func (l *leg) inTime(o *model.Output, over time.Duration) time.Duration {
	late, inTime := frames(over), frames(over)
	for l.late(o, inTime) > 0 {
		late, inTime = inTime, 2*inTime
	}
	if late == inTime {
		return over
	}
	for inTime-late > 1 {
		if n := (late + inTime) / 2; l.late(o, n) > 0 {
			late = n
		} else {
			inTime = n
		}
	}
	return time.Duration(late)*motion.Frame + time.Millisecond // it is rounded up to frames
}

// rounded rounds an angle to a tenth of a degree.
func rounded(deg float64) model.Degrees { return model.Degrees(math.Round(deg*10) / 10) }

// leastTime returns the shortest time in which the mechanism can make a move of so
// many degrees from rest with an ease, and the limit that decides.
func leastTime(o *model.Output, way float64, e model.Ease) (time.Duration, string) {
	way = math.Abs(way)
	least, limit := 0.0, "" // seconds
	if o.MaxSpeed > 0 {
		least, limit = motion.Peak(e)*way/float64(o.MaxSpeed), fmt.Sprintf("max_speed of %v", o.MaxSpeed)
	}
	if o.MaxAccel > 0 {
		if s := math.Sqrt(motion.PeakAccel(e) * way / float64(o.MaxAccel)); s > least {
			least, limit = s, fmt.Sprintf("max_accel of %v", o.MaxAccel)
		}
	}
	const year = 365 * 24 * time.Hour // a bound that no design reaches
	return time.Duration(math.Ceil(min(least*float64(time.Second), float64(year)))), limit
}
