package check

import (
	"fmt"
	"time"

	"propwright/model"
)

func soundOverrun(p *Pass) {
	d := p.Design
	for i := range d.Routines {
		r := &d.Routines[i]
		length := d.RoutineLength(r)
		for j := range r.Cues {
			c := &r.Cues[j]
			t := d.Track(c.Track)
			if t == nil {
				continue
			}
			// A track's trigger is not sent before the routine begins.
			end := max(c.At, t.Latency) + t.Length
			if end <= length {
				continue
			}
			p.Report(Finding{
				Pos: c.Source.At("track"),
				Message: fmt.Sprintf("the track %q, which begins at %s of routine %q, sounds until %s, but the routine ends at %s",
					t.Name, model.FormatDuration(max(c.At, t.Latency)), r.Name, model.FormatDuration(end), model.FormatDuration(length)),
				Advice: fmt.Sprintf("give the routine length = %q, or begin the track sooner", model.FormatDuration(roundUp(end))),
			})
		}
	}
}

// roundUp is a time in whole milliseconds.
func roundUp(t time.Duration) time.Duration {
	return (t + time.Millisecond - 1).Truncate(time.Millisecond)
}
