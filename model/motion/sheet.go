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
	// Over is for how long after its call, in whole milliseconds, its stop may have
	// something to silence: until it and those that began before it end, or the routine
	// has them stopped; or Endless.
	Over time.Duration
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
	silencing := map[model.Play][]int{}
	for i := range calls {
		s := calls[i].Sound
		if s == nil {
			continue
		}
		by, known := silencing[s.Stop]
		if !known {
			by = silencers(d, s.Stop, calls)
			silencing[s.Stop] = by
		}
		if over := hushed(d, r, calls, i, by); over < s.Over {
			calls[i].quieten(calls, over)
		}
	}
	outlast(d, r, calls)
	return calls
}

// outlast has a sound last, for the stop that silences it, as long as one that began
// before it and that the same stop silences: a board may play both.
func outlast(d *model.Design, r *model.Routine, calls []Call) {
	round, rounds := d.RoutineLength(r).Round(time.Millisecond), 1
	if r.Loop {
		rounds = 2 // what began in the round before may sound in each
	}
	until := map[model.Play]time.Duration{}
	for range rounds {
		for i := range calls {
			s := calls[i].Sound
			if s == nil {
				continue
			}
			if s.Over = max(s.Over, until[s.Stop]-calls[i].At); s.Over > longestSound {
				s.Over = Endless
			}
			until[s.Stop] = calls[i].At + s.Over
		}
		for stop := range until {
			until[stop] -= round
		}
	}
}

// silencers lists the calls that do what a stop does.
func silencers(d *model.Design, stop model.Play, calls []Call) (by []int) {
	for i := range calls {
		if stops(d, stop, calls[i].Output, calls[i].Action) {
			by = append(by, i)
		}
	}
	return by
}

// hushed is how long after a call its own routine makes the first of those that silence
// it, in a loop perhaps in its next round, in whole milliseconds; Endless where it does not.
func hushed(d *model.Design, r *model.Routine, calls []Call, call int, by []int) time.Duration {
	round := time.Duration(0)
	next, found := slices.BinarySearch(by, call)
	if found {
		next++
	}
	if next == len(by) {
		if len(by) == 0 || by[0] >= call || !r.Loop {
			return Endless
		}
		next, round = 0, d.RoutineLength(r).Round(time.Millisecond)
	}
	return max(round+calls[by[next]].At-calls[call].At, time.Millisecond)
}

// quieten has a call's sound, and what follows it, end sooner.
func (c *Call) quieten(calls []Call, over time.Duration) {
	for i := range calls {
		f := &calls[i]
		if v := f.Voice; v != nil && v.Follow.Track == c.Track && c.At <= f.At && f.At < c.At+c.Sound.Over {
			left := int(max(0, c.At+over-f.At) / Frame)
			v.Levels = v.Levels[:min(v.First+left, len(v.Levels))]
		}
	}
	c.Sound.Over = over
}

// stops reports whether what is asked of an output is what a stop does.
func stops(d *model.Design, stop model.Play, output string, a model.Action) bool {
	o := d.Output(output)
	return o != nil && output == stop.Output && o.Says(a) == o.Says(stop.Action())
}

// Heard is from when to when, in the routine's time, the track of a call sounds, if the
// routine is not left before.
func (c *Call) Heard(t *model.Track) (from, to time.Duration) {
	from, to = c.At+t.Latency, c.At+t.Latency+t.Length
	if c.Sound != nil {
		end := c.At + c.Sound.Over
		from, to = min(from, end), min(to, end)
	}
	return from, to
}
