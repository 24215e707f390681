package trim

import (
	"fmt"
	"math"

	"propwright/model"
	"propwright/model/motion"
)

// A Refused is the error of a move or a setting that is not allowed: nothing has moved.
type Refused struct{ why string }

func (r *Refused) Error() string { return r.why }

// Refuse makes a Refused.
func Refuse(format string, args ...any) error { return &Refused{fmt.Sprintf(format, args...)} }

// Step is the longest single move of a servo over unknown ground, in microseconds of
// pulse width: about one degree.
const Step = 10

// A Jog moves one servo or spinner by hand.
type Jog struct {
	Output *model.Output // as the design has it now
	Us     int           // the pulse width, in microseconds

	move     func(us int) error
	lo, hi   int    // it has been from lo to hi; 0: nowhere yet
	ends     [2]int // confirmed: the least and the greatest width; 0: none yet
	lastStep int
}

// NewJog returns the jog of an output. move turns the output to a pulse width. Nothing
// moves yet.
func NewJog(o *model.Output, move func(us int) error) *Jog {
	return &Jog{Output: o, move: move}
}

// Within bounds the jog by the ends that the design has, as confirmed ones: everything
// between them is known ground.
func (j *Jog) Within() {
	j.ends = [2]int{min(j.Output.UsAtMin, j.Output.UsAtMax), max(j.Output.UsAtMin, j.Output.UsAtMax)}
	j.lo, j.hi = j.ends[0], j.ends[1]
}

// Start turns the servo to its rest in the design. From where and how fast is unknown:
// a servo without feedback goes at once to its first pulse.
func (j *Jog) Start() error {
	rest := float64(j.Output.Rest) // 0, of a spinner
	us := (int(motion.Pulse(j.Output, rest)) + 1) / 2
	if err := j.move(us); err != nil {
		return err
	}
	if j.lo == 0 {
		j.lo, j.hi = us, us
	}
	j.been(us)
	return nil
}

// been records that the servo is at a pulse width.
func (j *Jog) been(us int) { j.lo, j.hi, j.Us = min(j.lo, us), max(j.hi, us), us }

// By moves the servo by some microseconds.
func (j *Jog) By(us int) error {
	if err := j.To(j.Us + us); err != nil {
		return err
	}
	j.lastStep = us
	return nil
}

// Again repeats the last step.
func (j *Jog) Again() error { return j.By(j.lastStep) }

// To moves the servo to a pulse width in microseconds. With an error, which says why it
// must not go there, it has not moved.
func (j *Jog) To(us int) error {
	switch {
	case us < model.LeastPulse || us > model.MostPulse:
		return Refuse("%dus is not a pulse for a servo: it takes %d to %d", us, model.LeastPulse, model.MostPulse)
	case j.ends[0] > 0 && us < j.ends[0]:
		return past(us, j.ends[0])
	case j.ends[1] > 0 && us > j.ends[1]:
		return past(us, j.ends[1])
	case us < j.lo-Step, us > j.hi+Step:
		return Refuse("%dus is more than %dus beyond where %s has been, %d to %dus: go there in small steps, and look", us, Step, j.Output.Name, j.lo, j.hi)
	}
	if err := j.move(us); err != nil {
		return err
	}
	j.been(us)
	return nil
}

func past(us, end int) error {
	return Refuse("%dus is past the end, which is confirmed at %dus", us, end)
}

// Clear forgets the confirmed ends, after a linkage was mended.
func (j *Jog) Clear() { j.ends = [2]int{} }

// A Setting is a key of the output and its new value.
type Setting struct{ Key, Value string }

// End confirms that the linkage ends here: at its min, or else its max. With an angle
// that was measured, in the file's words, this is the angle of that end.
func (j *Jog) End(atMax bool, angle string) ([]Setting, error) {
	if j.Output.Kind != model.KindServo {
		return nil, Refuse("%s is a spinner and has no ends; stop says where it stands still", j.Output.Name)
	}
	key, widthKey, other := "min", "us_at_min", j.Output.UsAtMax
	if atMax {
		key, widthKey, other = "max", "us_at_max", j.Output.UsAtMin
	}
	if other == j.Us {
		return nil, Refuse("the other end is at %dus, too: move away from it first", j.Us)
	}
	set := []Setting{{widthKey, fmt.Sprint(j.Us)}}
	if angle != "" {
		set = append(set, Setting{key, angle})
	}
	if j.Us > other {
		j.ends[1] = j.Us
	} else {
		j.ends[0] = j.Us
	}
	return set, nil
}

// Angle returns where a servo's linkage is, by the widths that the design has for its ends.
func (j *Jog) Angle() model.Degrees {
	o := j.Output
	share := float64(j.Us-o.UsAtMin) / float64(o.UsAtMax-o.UsAtMin)
	angle := float64(o.Min) + share*float64(o.Max-o.Min)
	return model.Degrees(math.Round(angle*10) / 10)
}

// Rest makes the present position a servo's rest, or a spinner's stop.
func (j *Jog) Rest() ([]Setting, error) {
	o := j.Output
	if o.Kind == model.KindSpinner {
		if o.FullUs == j.Us {
			return nil, Refuse("%dus is where %s is said to turn at full speed", j.Us, o.Name)
		}
		return []Setting{{"stop_us", fmt.Sprint(j.Us)}}, nil
	}
	angle := j.Angle()
	if angle < o.Min || angle > o.Max {
		return nil, Refuse("%dus is %s, outside %s to %s: confirm the ends first, with min and max", j.Us, angle, o.Min, o.Max)
	}
	return []Setting{{"rest", angle.String()}}, nil
}
