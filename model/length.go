package model

import "time"

// Output returns the output of that name, or nil.
func (d *Design) Output(name string) *Output {
	for i := range d.Outputs {
		if d.Outputs[i].Name == name {
			return &d.Outputs[i]
		}
	}
	return nil
}

// Track returns the track of that name, or nil.
func (d *Design) Track(name string) *Track {
	for i := range d.Tracks {
		if d.Tracks[i].Name == name {
			return &d.Tracks[i]
		}
	}
	return nil
}

// Routine returns the routine of that name, or nil.
func (d *Design) Routine(name string) *Routine {
	for i := range d.Routines {
		if d.Routines[i].Name == name {
			return &d.Routines[i]
		}
	}
	return nil
}

// CueEnd is when, in its routine's time, a cue has been played to its end: a
// move, a ramp or a fade after its Over, a pulse after the output's Hold,
// anything else at once. A track's sound goes on beside its routine.
func (d *Design) CueEnd(c *Cue) time.Duration {
	if c.Track != "" {
		return c.At
	}
	end := c.At + c.Over
	if o := d.Output(c.Output); o != nil && o.Kind == KindPulse && c.Fire {
		end = c.At + o.Hold
	}
	return end
}

// RoutineLength is the time from a routine's start to the end of its last
// cue, or its Length where that is longer: what one round of it takes.
func (d *Design) RoutineLength(r *Routine) time.Duration {
	end := r.Length
	for i := range r.Cues {
		end = max(end, d.CueEnd(&r.Cues[i]))
	}
	return end
}
