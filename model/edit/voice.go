package edit

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"time"

	"propwright/model"
	"propwright/model/motion"
)

// WriteOut puts cues in the place of those among the given ones that follow a track: moves
// and lights that come within tolerance of what the track asks for, a share of the way
// from silence to the loudest. A move that the mechanism does not stand in its time
// takes longer. The new cues are returned. Where none of the given ones follows a
// track whose loudness is known, that is an error.
func (f *Draft) WriteOut(cues []model.Elem, tolerance float64) (written []model.Elem, err error) {
	cues = slices.Clone(cues)
	count := 0
	err = f.Together("write what follows a track as cues", func() error {
		for k, at := range cues {
			n, err := f.writeOut(at, tolerance)
			if err != nil {
				return err
			}
			if n == 0 {
				continue
			}
			count++
			for i := range n {
				written = append(written, model.SortCue.At(at.Index, at.Part+i))
			}
			for j := range cues { // those behind it in the file have moved
				if j > k && cues[j].Part > at.Part {
					cues[j].Part += n - 1
				}
			}
			for j := range written[:len(written)-n] {
				if written[j].Part > at.Part {
					written[j].Part += n - 1
				}
			}
		}
		if count == 0 {
			return fmt.Errorf("nothing here follows a track whose loudness is known")
		}
		return nil
	})
	return written, err
}

// writeOut is WriteOut of one cue, and gives how many there are in its place.
func (f *Draft) writeOut(at model.Elem, tolerance float64) (int, error) {
	d := f.design
	r := &d.Routines[at.Index]
	c := &r.Cues[at.Part]
	o := d.Output(c.Output)
	calls := motion.Sheet(d, r)
	end := time.Duration(math.MaxInt64) // when another cue has the output
	var follow *motion.Call
	for i := range calls {
		switch {
		case calls[i].Cue == at.Part:
			follow = &calls[i]
		case follow != nil && calls[i].Output == c.Output:
			end = min(end, calls[i].At)
		}
	}
	if follow == nil || follow.Voice == nil || o == nil {
		return 0, nil
	}
	course := follow.Voice.Course()
	if len(course) == 0 {
		return 0, nil
	}
	if length := d.RoutineLength(r); r.Length > 0 && length > follow.At {
		end = min(end, length)
	}
	// A level is reached at the end of its frame.
	course = append([]uint16{0}, course...)
	if most := int((end-follow.At)/motion.Frame) + 1; most < len(course) {
		course = course[:max(most, 1)]
	}
	way := float64(c.To - c.Follow.Quiet)
	corners := simplified(course, tolerance*motion.Loudest)
	// The servo comes from silence, or from where the routine has left it. From where it
	// comes into the routine may not be known: then it is at rest after the first move.
	var motors []motion.Generator
	begins := func(at float64) {
		motors = append(motors, motion.NewGenerator(motion.LimitsOf(o), motion.Pulse(o, at)))
	}
	if o.Kind == model.KindServo {
		begins(float64(c.Follow.Quiet))
		begins(motion.Alone(d, r).Value(c.Output, max(follow.At-1, 0)).Lo) // before its first step
	}
	for i, from := range corners[:len(corners)-1] {
		to := corners[i+1]
		over := time.Duration(to-from) * motion.Frame
		share := float64(course[to]) / motion.Loudest
		keys := []Key{
			{Key: "at", Value: model.FormatDuration(follow.At + time.Duration(from)*motion.Frame)},
			{Key: "output", Value: c.Output},
		}
		if o.Kind == model.KindServo {
			angle := model.Degrees(math.Round(10*(float64(c.Follow.Quiet)+share*way)) / 10)
			keys = append(keys, Key{Key: "to", Value: angle.String()}, Key{Key: "ease", Value: string(model.EaseLinear)})
			takes := stood(motors, o, angle, to-from)
			over = time.Duration(takes) * motion.Frame
			if len(motors) == 2 && takes == to-from {
				begins(float64(angle))
			}
		} else {
			keys = append(keys, Key{Key: "colour", Value: mixed(c.Colour2, c.Colour, share).String()},
				Key{Key: "first", Value: strconv.Itoa(c.First)}, Key{Key: "last", Value: strconv.Itoa(c.Last)})
		}
		keys = append(keys, Key{Key: "over", Value: model.FormatDuration(over)})
		if i == 0 && c.Note != "" {
			keys = append(keys, Key{Key: "note", Value: c.Note})
		}
		new := model.SortCue.At(at.Index, at.Part+1+i)
		n, err := with(f.design, new, keys)
		if err != nil {
			return 0, err
		}
		if i == 0 {
			above := c.All()
			for _, key := range slices.Sorted(maps.Keys(c.Keys)) {
				above = append(above, c.Keys[key].Comments.All()...)
			}
			n.Routines[at.Index].Cues[new.Part].Above = above
		}
		f.commit("write a cue", n)
	}
	n, _ := f.design.Without(at)
	f.commit("take the cue that follows", n)
	if length := n.RoutineLength(&n.Routines[at.Index]); r.Length > 0 && length > r.Length {
		if err := f.Set(model.Elem{Sort: model.SortRoutine, Index: at.Index}, "length", model.FormatDuration(length)); err != nil {
			return 0, err
		}
	}
	return len(corners) - 1, nil
}

// stood is the least time, from so many frames on, in which a servo's mechanism stands a
// move to an angle, in frames, whichever of the motors is like it. They make the move for
// as many frames as were asked for.
func stood(motors []motion.Generator, o *model.Output, to model.Degrees, asked int) int {
	width := motion.Pulse(o, float64(to))
	const longest = 1000 // 20 s
	takes := asked
	late := func(motor motion.Generator) bool {
		way, seconds := math.Abs(float64(to)-motor.Degrees(o)), float64(takes)*motion.Frame.Seconds()
		rested := motion.NewGenerator(motor.Limits, motor.Width())
		motor.Move(width, takes, model.EaseLinear)
		rested.Move(width, takes, model.EaseLinear)
		return o.MaxSpeed > 0 && motion.Peak(model.EaseLinear)*way > float64(o.MaxSpeed)*seconds ||
			o.MaxAccel > 0 && motion.PeakAccel(model.EaseLinear)*way > float64(o.MaxAccel)*seconds*seconds ||
			motor.Takes() > max(takes, rested.Takes()+1) // it has to brake first
	}
	for takes < longest && slices.ContainsFunc(motors, late) {
		takes++
	}
	for i := range motors {
		motors[i].Move(width, takes, model.EaseLinear)
		for range asked {
			motors[i].Tick()
			motors[i].Step()
		}
	}
	return takes
}

func mixed(a, b model.Colour, share float64) model.Colour {
	mix := func(a, b uint8) uint8 { return uint8(math.Round(float64(a) + share*(float64(b)-float64(a)))) }
	return model.Colour{R: mix(a.R, b.R), G: mix(a.G, b.G), B: mix(a.B, b.B)}
}

// simplified are the corners of a line that is nowhere farther than the tolerance from
// the course, as indices, the first and the last among them: D. Douglas, T. Peucker,
// "Algorithms for the reduction of the number of points required to represent a
// digitized line or its caricature", Cartographica 10(2), 1973, with distances across.
func simplified(course []uint16, tolerance float64) []int {
	corners := []int{0}
	var between func(from, to int)
	between = func(from, to int) {
		worst, off := from, tolerance
		for n := from + 1; n < to; n++ {
			on := float64(course[from]) + (float64(course[to])-float64(course[from]))*float64(n-from)/float64(to-from)
			if miss := math.Abs(on - float64(course[n])); miss > off {
				worst, off = n, miss
			}
		}
		if worst > from {
			between(from, worst)
			between(worst, to)
			return
		}
		corners = append(corners, to)
	}
	if len(course) > 1 {
		between(0, len(course)-1)
	}
	return corners
}
