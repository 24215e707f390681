// Package trace writes what a prop's outputs do in time as a table (CSV), a
// row for each frame of 20 ms, and draws it on one time axis, to hang beside the
// bench: positions and speeds with their limits, light in its colours, pulses,
// messages and sound, and the sum of the currents with what the supply gives.
//
// It knows how outputs in time are written and drawn. It refuses to know what
// triggers them (model/machine, model/rehearsal) and how they move
// (model/motion). The same design and the same events give the same bytes.
//
// A picture can be read in black and white: a limit is dashed and has its number
// beside it, and every light has its effect and colour in words above it.
package trace

import (
	"fmt"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
	"propwright/model/rehearsal"
)

// Longest is the longest time that a trace shows.
const Longest = time.Hour

// A Trace is what a prop's outputs do from power-up on.
type Trace struct {
	title  string
	design *model.Design
	stage  *motion.Stage
	frames int                       // rows: one for each motion.Frame from 0 on
	log    []rehearsal.Event         // nil: of a routine
	values map[string][]motion.Range // see value
}

// OfRoutine returns the trace of a routine that is played from rest, to the end of
// its sounds, or for one round where it loops. The error says which names there
// are, or that it is too long.
func OfRoutine(d *model.Design, name string) (*Trace, error) {
	d = d.Wired()
	r := d.Routine(name)
	if r == nil {
		names := d.Names(model.SortRoutine)
		if len(names) == 0 {
			return nil, fmt.Errorf("there is no routine %q: the design has no routines", name)
		}
		if near := model.Nearest(name, names); near != "" {
			return nil, fmt.Errorf("there is no routine %q: did you mean %q?", name, near)
		}
		return nil, fmt.Errorf("there is no routine %q: the design has %s", name, strings.Join(names, ", "))
	}
	t := &Trace{title: r.Name + ", played " + fromRest, design: d, stage: motion.Alone(d, r)}
	length := d.RoutineLength(r)
	if r.Loop {
		t.title = r.Name + ", one round " + fromRest
		return t, t.last(max(0, length-1))
	}
	for _, c := range motion.Sheet(d, r) {
		if track := d.Track(c.Track); track != nil {
			_, to := c.Heard(track)
			length = max(length, to)
		}
	}
	return t, t.last(length + motion.Frame - 1)
}

// Of returns the trace of a rehearsal up to now. The error says that it is too long.
func Of(p *rehearsal.Player) (*Trace, error) {
	t := &Trace{title: "a rehearsal", design: p.Design(), stage: p.Stage(), log: p.Log()}
	return t, t.last(p.Now())
}

// last sets the time up to which there are frames.
func (t *Trace) last(at time.Duration) error {
	if at > Longest {
		return fmt.Errorf("a trace shows %s at most, and this takes %s: make it shorter", model.FormatDuration(Longest), model.FormatDuration(at.Truncate(time.Second)))
	}
	t.frames = int(at/motion.Frame) + 1
	return nil
}

func at(frame int) time.Duration { return time.Duration(frame) * motion.Frame }

// end returns the time of the last frame.
func (t *Trace) end() time.Duration { return at(t.frames - 1) }

// value returns what an output on a scale is at. The stage makes frames one after
// the other, so they are asked for once, in order.
func (t *Trace) value(o *model.Output, frame int) motion.Range {
	if t.values == nil {
		t.values = map[string][]motion.Range{}
	}
	all := t.values[o.Name]
	for f := len(all); f < t.frames; f++ {
		all = append(all, t.stage.Value(o.Name, at(f)))
	}
	t.values[o.Name] = all
	return all[frame]
}

// speed returns how fast a value on a scale has changed since the frame before, in
// its unit per second. Where chance has a part it is anything that the output
// can do.
func (t *Trace) speed(o *model.Output, frame int) motion.Range {
	was, is := t.value(o, max(frame-1, 0)), t.value(o, frame)
	if most := float64(o.MaxSpeed); !(was.Exact() && is.Exact()) && most > 0 {
		return motion.Range{Lo: -most, Hi: most}
	}
	per := motion.Frame.Seconds()
	return motion.Range{Lo: (is.Lo - was.Hi) / per, Hi: (is.Hi - was.Lo) / per}
}

// current returns what all outputs draw together, in milliampere.
func (t *Trace) current(frame int) (sum motion.Range) {
	for i := range t.design.Outputs {
		ma := t.stage.Current(t.design.Outputs[i].Name, at(frame))
		sum.Lo, sum.Hi = sum.Lo+ma.Lo, sum.Hi+ma.Hi
	}
	return sum
}

// active reports whether a pulse or a switch was on at any time since the frame
// before.
func (t *Trace) active(o *model.Output, frame int) bool {
	for ms := time.Duration(0); ms < motion.Frame && ms <= at(frame); ms += time.Millisecond {
		if t.stage.Active(o.Name, at(frame)-ms) {
			return true
		}
	}
	return false
}

// sounds lists the tracks that can be heard.
func (t *Trace) sounds() (heard []motion.Heard) {
	for _, h := range t.stage.Heard(t.end()) {
		if h.To > h.From {
			heard = append(heard, h)
		}
	}
	return heard
}

// A span is a state from its entry on.
type span struct {
	from, to time.Duration
	name     string
}

// states lists the states that a rehearsal went through.
func (t *Trace) states() (spans []span) {
	for _, e := range t.log {
		if e.Outcome == machine.Entered {
			if n := len(spans); n > 0 {
				spans[n-1].to = e.At
			}
			spans = append(spans, span{e.At, t.end(), e.State})
		}
	}
	return spans
}
