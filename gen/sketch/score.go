package sketch

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/motion"
)

type cue struct {
	Title                 string // of the run that begins here
	Wait                  int
	What                  string
	Output, Value, Frames int
	Remark                string
}

// longestWait is the longest wait of one cue, in milliseconds.
const longestWait = 60000

// score writes the states' poses and the routines they play as cues.
func (b *builder) score() {
	for i := range b.d.States {
		s, st := &b.d.States[i], &b.States[i]
		st.Pose = len(b.Cues)
		b.pose(s)
		st.PoseCount = len(b.Cues) - st.Pose
		if st.PoseCount > 0 {
			b.Cues[st.Pose].Title = "pose of " + s.Name
		}
		st.Drift = len(b.Drifts)
		for j := range s.Drift {
			b.drift(&s.Drift[j])
		}
		st.DriftCount = len(b.Drifts) - st.Drift
		b.MaxDrifts = max(b.MaxDrifts, st.DriftCount)
	}
	for i := range b.d.States {
		if r := b.d.Routine(b.d.States[i].Plays); r != nil && len(motion.Sheet(b.d, r)) > 0 {
			b.States[i].Routine = fmt.Sprint(b.routine(r))
		}
	}
	b.orders()
	b.Stacked = b.stacked()
	b.stops()
	if len(b.Cues) == 0 {
		b.Cues = append(b.Cues, cue{What: "PW_CUE_END", Remark: "nothing moves"})
	}
}

// pose writes the cues of entering a state: first those that bring outputs which it
// does not name to rest, then those of the outputs that it names.
func (b *builder) pose(s *model.State) {
	for _, c := range motion.Entry(b.d, s) {
		note := ""
		switch {
		case c.Cue >= 0:
		case s.Kind == model.Dormant:
			note = "at rest"
		default:
			note = "stands still"
		}
		b.cue(b.d.Output(c.Output), c.Action, 0, note)
	}
}

// routine writes a routine once, however many states play it, and returns its
// first cue.
func (b *builder) routine(r *model.Routine) int {
	if at, ok := b.routineAt[r.Name]; ok {
		return at
	}
	first := len(b.Cues)
	b.routineAt[r.Name] = first
	var now time.Duration
	calls := motion.Sheet(b.d, r)
	ends := b.soundEnds(r, calls)
	over := func(by time.Duration) {
		for ; len(ends) > 0 && ends[0].at <= by; ends = ends[1:] {
			wait := b.wait(ends[0].at - now)
			b.Cues = append(b.Cues, cue{What: "PW_CUE_SOUND", Wait: wait, Output: ends[0].stop, Remark: "the sound is over"})
			now = ends[0].at
		}
	}
	for _, call := range calls {
		over(call.At)
		c := &r.Cues[call.Cue]
		note := c.Note
		if t := b.d.Track(c.Track); t != nil {
			note = remark(t.Name, t.Note, note)
		}
		if o, wait := b.d.Output(call.Output), b.wait(call.At-now); call.Voice != nil {
			b.follow(o, c, call, wait, note)
		} else {
			b.cue(o, call.Action, wait, note)
		}
		if s := call.Sound; s != nil {
			b.Cues = append(b.Cues, cue{
				What: "PW_CUE_SOUND", Output: slices.Index(motion.Stops(b.d), s.Stop), Value: 1,
				Remark: "sounds for " + model.FormatDuration(s.Over),
			})
		}
		now = call.At
	}
	over(never)
	end := cue{What: "PW_CUE_END"}
	if r.Loop {
		length := b.d.RoutineLength(r).Round(time.Millisecond)
		b.Loops = true
		end = cue{What: "PW_CUE_LOOP", Value: first, Wait: b.wait(length - now)}
	}
	b.Cues = append(b.Cues, end)
	b.Cues[first].Title = remark("routine "+r.Name, r.Note)
	return first
}

// A soundEnd is the time in a routine at which a sound that a stop silences is over.
type soundEnd struct {
	at   time.Duration
	stop int // of motion.Stops
}

// never is later than any time of a routine.
const never = time.Duration(1<<63 - 1)

// soundEnds returns the ends of a routine's sounds in order; a loop's are in the round in
// which they come. A sound lasts at least as long as those before it that its stop silences.
func (b *builder) soundEnds(r *model.Routine, calls []motion.Call) (ends []soundEnd) {
	stops, round := motion.Stops(b.d), b.d.RoutineLength(r).Round(time.Millisecond)
	for i, c := range calls {
		if c.Sound == nil {
			continue
		}
		sameStop := func(other motion.Call) bool { return other.Sound != nil && other.Sound.Stop == c.Sound.Stop }
		next := never
		if n := slices.IndexFunc(calls[i+1:], sameStop); n >= 0 {
			next = calls[i+1+n].At
		} else if r.Loop {
			next = round + calls[slices.IndexFunc(calls, sameStop)].At
		}
		if at := c.At + c.Sound.Over; at < next && c.Sound.Over != motion.Endless {
			if r.Loop {
				at %= round
			}
			ends = append(ends, soundEnd{at, slices.Index(stops, c.Sound.Stop)})
		}
	}
	slices.SortStableFunc(ends, func(a, b soundEnd) int { return cmp.Compare(a.at, b.at) })
	return ends
}

// stops writes the cues that silence what may sound when a state is entered.
func (b *builder) stops() {
	stops := motion.Stops(b.d)
	b.Stops, b.StopCue = len(stops), len(b.Cues)
	for _, stop := range stops {
		b.cue(b.d.Output(stop.Output), stop.Action(), 0, "silence")
	}
	if b.Stops > 0 {
		b.Cues[b.StopCue].Title = "what silences a sound"
	}
}

// orders writes the cues that transitions order.
func (b *builder) orders() {
	for _, i := range Orders(b.p) {
		t := &b.d.Transitions[i]
		first := len(b.Cues)
		b.Orders = append(b.Orders, first)
		for j := range t.Do {
			b.cue(b.d.Output(t.Do[j].Output), t.Do[j].Action, 0, "")
		}
		if len(b.Cues) > first {
			b.Cues[first].Title = comment(b.d.Title(model.SortTransition.At(0, i)))
		}
	}
	b.OrdersEnd = len(b.Cues)
}

// wait returns the milliseconds for one cue to wait; more than it can
// count goes into further cues that only wait.
func (b *builder) wait(d time.Duration) int {
	ms := int(d / time.Millisecond)
	for ; ms > longestWait; ms -= longestWait {
		b.Cues = append(b.Cues, cue{What: "PW_CUE_WAIT", Wait: longestWait})
	}
	return ms
}

// cue writes one action of an output.
func (b *builder) cue(o *model.Output, a model.Action, wait int, note string) {
	k := outputKinds[o.Kind]
	if k.cue == nil {
		return
	}
	c := cue{Wait: wait}
	if !k.cue(b, o, a, &c) {
		return
	}
	c.Remark = remark(o.Name+" "+o.Says(a), note)
	b.Cues = append(b.Cues, c)
}

func frames(d time.Duration) int { return int(motion.Frames(d) / motion.Frame) }
