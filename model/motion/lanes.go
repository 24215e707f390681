package motion

import (
	"time"

	"propwright/model"
)

// A Lane is what a routine asks of one output, in time.
type Lane struct {
	Output   string
	Segments []Segment // in order of their starts
}

// A Segment is one cue's part of a lane.
type Segment struct {
	Cue   int           // index in Routine.Cues
	Start time.Duration // in the routine's time
	// End is when the cue has been played to its end: a servo's move when its
	// mechanism is there, stretched to MaxSpeed and in whole frames; the next
	// segment may begin before it.
	End time.Duration
	// From and To are a servo's degrees or a spinner's revolutions per second.
	From, To float64
}

// Lanes is a routine's cue sheet by output, in the design's order, outputs
// without a cue left out; as if the routine were entered with every output at
// rest. One round is shown of a routine that loops.
func Lanes(d *model.Design, r *model.Routine) []Lane {
	calls := Sheet(d, r)
	var lanes []Lane
	for i := range d.Outputs {
		o := &d.Outputs[i]
		lane := Lane{Output: o.Name}
		p := newPlayed(o)
		for _, c := range calls {
			if c.Output != o.Name {
				continue
			}
			seg := Segment{Cue: c.Cue, Start: c.At, End: c.At}
			if p.segment != nil {
				p.segment(p, c.Action, &seg)
			}
			if p.perform != nil {
				p.perform(p, c.Action, c.At)
			}
			lane.Segments = append(lane.Segments, seg)
		}
		if lane.Segments != nil {
			lanes = append(lanes, lane)
		}
	}
	return lanes
}
