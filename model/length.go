package model

import "time"

// Output returns the output of that name, or nil.
func (d *Design) Output(name string) *Output {
	return named(d.Outputs, name, func(o *Output) string { return o.Name })
}

// Track returns the track of that name, or nil.
func (d *Design) Track(name string) *Track {
	return named(d.Tracks, name, func(t *Track) string { return t.Name })
}

// Routine returns the routine of that name, or nil.
func (d *Design) Routine(name string) *Routine {
	return named(d.Routines, name, func(r *Routine) string { return r.Name })
}

// Start returns the index of the state that power-up enters, or -1 if the design does
// not say (rule 1 of model/machine).
func (d *Design) Start() int {
	found := -1
	for i := range d.States {
		switch s := &d.States[i]; {
		case s.Start:
			return i
		case s.Kind == Dormant && found == -1:
			found = i
		case s.Kind == Dormant:
			found = -2
		}
	}
	return max(found, -1)
}

func named[T any](all []T, name string, of func(*T) string) *T {
	for i := range all {
		if of(&all[i]) == name {
			return &all[i]
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
	if o := d.Output(c.Output); o != nil && o.ofKind().lasts != nil {
		return c.At + o.ofKind().lasts(o)
	}
	return c.At + c.Over
}

// RoutineLength is the time from a routine's start to the end of its last
// cue, or its Length where that is longer: what one round of it takes. What follows a
// track begins with its sound and, like that, goes on beside the routine.
func (d *Design) RoutineLength(r *Routine) time.Duration {
	end := r.Length
	for i := range r.Cues {
		end = max(end, d.CueEnd(&r.Cues[i]))
		if at, _, ok := d.Followed(r, &r.Cues[i]); ok {
			end = max(end, at)
		}
	}
	return end
}
