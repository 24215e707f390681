package motion

import (
	"cmp"
	"math"
	"slices"
	"time"

	"propwright/model"
)

// A Call is what a routine really asks of an output, and when: a cue with its
// track resolved.
type Call struct {
	At     time.Duration // in the routine's time
	Cue    int           // index in Routine.Cues
	Output string
	Action model.Action
	Track  string // whose sound begins with it, "": none
	Sound  *Sound // that begins with it and can be stopped; nil: none
	Voice  *Voice // that is followed; nil: none is
}

// A Sound is a track that can be stopped.
type Sound struct {
	Stop model.Play
	Over time.Duration // how long it sounds at most, from its call, in whole milliseconds; or Endless
}

// Endless is said of a sound of more than two hours: it is stopped whenever its routine
// is left. The firmware needs cues to wait for a sound's end, one a minute.
const Endless = math.MaxUint32 * time.Millisecond

const longestSound = 2 * time.Hour

// Sheet gives a routine's calls in the order in which they are made: by time,
// cues of one time in file order. A track's call is made Latency before its
// cue's time, or at 0. Times are in whole milliseconds, like the machine's.
// What follows a track is called for when the sound begins. Cues whose output or track
// the design does not have are left out, and those that follow what is not played.
func Sheet(d *model.Design, r *model.Routine) []Call {
	var calls []Call
	for i := range r.Cues {
		c := &r.Cues[i]
		call := Call{At: c.At, Cue: i, Output: c.Output, Action: c.Action}
		if c.Track != "" {
			t := d.Track(c.Track)
			if t == nil {
				continue
			}
			call.At = max(0, c.At-t.Latency)
			call.Output, call.Action, call.Track = t.Play.Output, t.Play.Action(), t.Name
			if stop := t.Silencer(); d.Output(stop.Output) != nil {
				over := model.RoundUp(t.Latency + t.Length)
				if over > longestSound {
					over = Endless
				}
				call.Sound = &Sound{Stop: stop, Over: over}
			}
		}
		if c.Follow.Track != "" {
			var sounds bool
			if call.Voice, call.At, sounds = newVoice(d, r, c); !sounds {
				continue
			}
		}
		call.At = call.At.Round(time.Millisecond)
		if d.Output(call.Output) != nil {
			calls = append(calls, call)
		}
	}
	slices.SortStableFunc(calls, func(a, b Call) int { return cmp.Compare(a.At, b.At) })
	return calls
}
