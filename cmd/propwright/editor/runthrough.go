package editor

import (
	"math"
	"time"

	"propwright/cmd/propwright/editor/pane"
	"propwright/gen/letters"
	"propwright/model"
	"propwright/model/motion"
)

// A runThrough plays a routine by itself, from rest and without the behaviour around it.
type runThrough struct {
	clock  clock
	shown  bool          // at is on the screen
	at     time.Duration // the routine's time
	looped bool          // the stretch is played again and again
	from   time.Duration // the stretch
	to     time.Duration
}

// scrub is how far a key moves the time, in one step and in a large one.
const (
	scrub    = 20 * time.Millisecond // a frame of the servos
	scrubFar = 500 * time.Millisecond
)

// rest ends the playing.
func (v *routines) rest() {
	v.through.clock.stop()
	v.through.shown = false
}

// leaveTime lets the time follow the cursor again, unless the routine is playing.
func (v *routines) leaveTime() {
	if !v.through.clock.running {
		v.through.shown = false
	}
}

// begins returns where playing begins: where it was stopped, else at the cue under the cursor.
func (v *routines) begins() time.Duration {
	t := &v.through
	if t.shown {
		return t.at
	}
	if at, ok := v.cues.elem(); ok && v.inCue {
		return v.desk.design().Routines[at.Index].Cues[at.Part].At
	}
	return 0
}

// playing returns the routine that is played; false where there is none, which is said.
func (v *routines) playing() (*model.Routine, bool) {
	at, ok := v.list.elem()
	if !ok {
		v.say("there is no routine yet; Ctrl-N makes one")
		return nil, false
	}
	return &v.desk.design().Routines[at.Index], true
}

// run plays the routine from here on, or stops it.
func (v *routines) run() {
	t := &v.through
	if t.clock.running {
		t.clock.stop()
		return
	}
	r, ok := v.playing()
	if !ok {
		return
	}
	begins := v.begins()
	if begins >= v.laid(r).length {
		begins = 0
	}
	t.looped = false
	v.start(begins)
}

// loop plays the stretch of the chosen cues again and again, or stops it.
func (v *routines) loop(cues []model.Elem) {
	t := &v.through
	if t.clock.running && t.looped {
		t.clock.stop()
		return
	}
	t.clock.stop()
	d := v.desk.design()
	t.looped, t.from, t.to = true, math.MaxInt64, 0
	for _, at := range cues {
		r := &d.Routines[at.Index]
		t.from = min(t.from, r.Cues[at.Part].At)
		t.to = max(t.to, d.RoutineLength(&model.Routine{Cues: r.Cues[at.Part : at.Part+1]}))
	}
	if len(v.marked) == 0 && !v.inCue {
		t.from, t.to = 0, v.laid(&d.Routines[v.of]).length
	}
	t.to = max(t.to, t.from+scrub)
	v.start(t.from)
}

func (v *routines) start(at time.Duration) {
	t := &v.through
	t.shown, t.at = true, at
	t.clock.start(v.queue, func(passed time.Duration) {
		if v.over.Top() == nil {
			v.pass(passed)
		}
	})
}

// pass lets time pass.
func (v *routines) pass(d time.Duration) {
	t := &v.through
	t.at += d
	r, ok := v.playing()
	switch {
	case !ok:
		v.rest()
	case t.looped && t.at >= t.to:
		t.at = t.from + (t.at-t.from)%(t.to-t.from)
	case !t.looped && !r.Loop && t.at >= v.laid(r).length:
		t.at = v.laid(r).length
		t.clock.stop()
	}
}

// scrub moves the time by hand.
func (v *routines) scrub(by time.Duration) {
	r, ok := v.playing()
	if !ok {
		return
	}
	at := v.begins() + by
	v.through.clock.stop()
	v.through.shown, v.through.at = true, min(max(at, 0), v.laid(r).length)
}

// laid returns a routine laid out in time.
func (v *routines) laid(r *model.Routine) *lanes {
	if d := v.desk.design(); v.lanes.of != d || v.lanes.r.Name != r.Name {
		v.lanes = newLanes(d, r)
	}
	return &v.lanes
}

// mostMoment is how many lines the outputs' values may take.
const mostMoment = 4

// moment returns what the outputs do at the time that is on the screen.
func (v *routines) moment(l *lanes, w int) []string {
	t := &v.through
	how := "at "
	switch {
	case t.clock.running && t.looped:
		how = "looping "
	case t.clock.running:
		how = "playing "
	}
	words := []string{how + model.SayClock(t.at)}
	for i := range l.lanes {
		ln := &l.lanes[i]
		if ln.output != nil {
			line := outputForms[motion.FormOf(ln.output)].gauge(v.theme, l.stage, t.at, ln.output, 1)
			words = append(words, ln.name+" "+line.text)
			continue
		}
		for _, at := range ln.at {
			if at <= t.at && t.at < at+ln.track.Length {
				words = append(words, ln.name+" "+model.SayClock(t.at-at))
			}
		}
	}
	lines := letters.Pack(words, "   ", inColumns(w))
	return lines[:min(len(lines), mostMoment)]
}

// inColumns lets lines fit that take at most w columns of the screen.
func inColumns(w int) func(line string) bool {
	return func(line string) bool { return pane.Width(line) <= w }
}
