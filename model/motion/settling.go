package motion

import (
	"time"

	"propwright/model"
)

// A Settling is what the outputs do in a state that is entered and left alone.
type Settling struct {
	// Still is when, after the entry, all has come to rest that comes to rest by
	// itself: no servo moves, no spinner turns, no light changes, no pulse is held and
	// no sound plays that the state's own routine has begun. It is the most that can
	// be, whatever the outputs did before.
	Still time.Duration
	// Restless is what never comes to rest.
	Restless []Unrest
}

// An Unrest is an output that never comes to rest in a state.
type Unrest struct {
	Output string
	What   string // "drifts", as people read it after the output's name
	Pos    model.Pos
}

// SettlingOf finds when a state's outputs are at rest, and which never are. A steady
// light and a switch that is on are at rest: they are what the maker wants. What
// a board that cannot be told to stop goes on to sound after another state's
// routine is Lingering.
func SettlingOf(d *model.Design, st *model.State) (s Settling) {
	last := map[string]asked{} // what each output was asked for last
	ask := func(c asked) {
		s.Still = max(s.Still, c.at+c.takes(d))
		last[c.Output] = c
	}
	for _, c := range Entry(d, st) {
		pos := st.Pos
		if c.Cue >= 0 {
			pos = st.Pose[c.Cue].Pos
		}
		ask(asked{c, 0, pos})
	}
	s.Still = max(s.Still, silenced(d))
	r := d.Routine(st.Plays)
	if r != nil && !r.Loop {
		for _, c := range Sheet(d, r) {
			ask(asked{c, c.At, r.Cues[c.Cue].Pos})
			if t := d.Track(r.Cues[c.Cue].Track); t != nil {
				s.Still = max(s.Still, c.At+t.Latency+t.Length)
			}
		}
	}
	for i := range d.Outputs {
		if c, ok := last[d.Outputs[i].Name]; ok {
			if what := c.restless(&d.Outputs[i]); what != "" {
				s.Restless = append(s.Restless, Unrest{d.Outputs[i].Name, what, c.pos})
			}
		}
	}
	if r != nil && r.Loop {
		for _, name := range routineOutputs(d, r) {
			s.Restless = append(s.Restless, Unrest{name, "goes round after round", st.At("plays")})
		}
	}
	for _, dr := range st.Drift {
		s.Restless = append(s.Restless, Unrest{dr.Output, "drifts", st.At("drift")})
	}
	return s
}

// An asked call is one with its time since the state's entry and its place in the file.
type asked struct {
	Call
	at  time.Duration
	pos model.Pos
}

// takes is how long the output needs for it, whatever it did before.
func (c *asked) takes(d *model.Design) time.Duration {
	o := d.Output(c.Output)
	reach := reached(d, o)
	switch {
	case reach.Exact():
		return 0 // nothing moves it
	case o.Kind == model.KindServo:
		return Settle(o, c.Action.To, c.Action.Over, c.Action.Ease, reach)
	case o.Kind == model.KindSpinner, o.Kind == model.KindPixels:
		return Frames(c.Action.Over) + Frame
	case o.Kind == model.KindPulse:
		return o.Hold
	}
	return 0
}

// reached is all that a design has an output do, whatever comes when: from the least
// to the most value of a servo or a spinner, rest among them; for others up to 1 where
// anything is ever asked of them.
func reached(d *model.Design, o *model.Output) (r Range) {
	value := func(a model.Action) Range {
		if b := behaviours[o.Kind]; b != nil && b.target != nil {
			to, _ := b.target(a)
			return within(o, exactly(to))
		}
		return exactly(1)
	}
	if o.Kind == model.KindServo {
		r = value(model.RestAction(o))
	}
	reach := func(a model.Action) { r = r.hull(value(a)) }
	for i := range d.States {
		st := &d.States[i]
		for _, p := range st.Pose {
			if p.Output == o.Name {
				reach(p.Action)
			}
		}
		for _, dr := range st.Drift {
			if dr.Output == o.Name {
				for _, end := range dr.Between {
					reach(model.Action{To: model.Degrees(end), Speed: model.RevPerS(end)})
				}
			}
		}
		if routine := d.Routine(st.Plays); routine != nil {
			for _, c := range Sheet(d, routine) {
				if c.Output == o.Name {
					reach(c.Action)
				}
			}
		}
	}
	return r
}

// restless is why an output never comes to rest, "" where it does.
func (c *asked) restless(o *model.Output) string {
	switch {
	case o.Kind == model.KindSpinner && c.Action.Speed != 0:
		return "turns"
	case o.Kind == model.KindPixels && animated(c.Action.Effect):
		return "shows " + string(c.Action.Effect)
	}
	return ""
}

// animated reports whether an effect goes on changing.
func animated(e model.Effect) bool {
	return e == model.EffectBreathe || e == model.EffectChase || e == model.EffectFlicker
}

func routineOutputs(d *model.Design, r *model.Routine) (names []string) {
	seen := map[string]bool{}
	for _, c := range Sheet(d, r) {
		if !seen[c.Output] {
			seen[c.Output] = true
			names = append(names, c.Output)
		}
	}
	return names
}

// silenced is how long it takes at the most until a pulse that another state's
// routine fired is over, and until its sound has been told to stop: the hold of a
// pulse, or the time that a message needs on its line.
func silenced(d *model.Design) (most time.Duration) {
	for i := range d.States {
		r := d.Routine(d.States[i].Plays)
		if r == nil {
			continue
		}
		for _, c := range Sheet(d, r) {
			if o := d.Output(c.Output); o.Kind == model.KindPulse {
				most = max(most, o.Hold)
			}
			if c.Sound != nil {
				most = max(most, stopping(d, c.Sound.Stop))
			}
		}
	}
	return most
}

// stopping is how long it takes to tell a board to stop.
func stopping(d *model.Design, stop model.Play) time.Duration {
	o := d.Output(stop.Output)
	if o.Kind == model.KindPulse {
		return o.Hold
	}
	for _, m := range o.Messages {
		if m.Name == stop.Value && o.Baud > 0 { // 10 bits a byte: start, 8, stop
			return time.Duration(10*len(m.Bytes)) * time.Second / time.Duration(o.Baud)
		}
	}
	return 0
}

// Lingering is how long a sound of a state's routine can go on after the state
// was left, at the most, and its track: that of a track which nothing silences.
// early says whether the state can be left before its routine's end.
func Lingering(d *model.Design, st *model.State, early bool) (longest *model.Track, rest time.Duration) {
	r := d.Routine(st.Plays)
	if r == nil {
		return nil, 0
	}
	for _, c := range Sheet(d, r) {
		t := d.Track(r.Cues[c.Cue].Track)
		if t == nil || c.Sound != nil {
			continue
		}
		left := t.Latency + t.Length
		if !early {
			left = c.At + left - d.RoutineLength(r)
		}
		if left > rest {
			longest, rest = t, left
		}
	}
	return longest, rest
}
