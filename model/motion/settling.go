package motion

import (
	"slices"
	"time"

	"propwright/model"
)

// A Rest tells when the outputs of a design come to rest. A steady light and a switch
// that is on are at rest: they are what the maker wants. How long a sound that nothing
// silences goes on after its routine was left is not known here, but where it is known
// what leads where (model/check).
type Rest struct {
	design   *model.Design
	silenced bool // tracks, which takes a message of those that wait for the line
	// reach is for each output all that the design has it do, whatever comes when: from
	// the least to the most value of a servo or a spinner, rest among them; for others
	// up to 1 where anything is ever asked of them.
	reach map[string]Range
	// over is when, after a state was left, the pulses that its routine has fired are over
	// and its sounds have been told to stop, after all that waits for the line, at the
	// most over all states.
	over time.Duration
}

// A Settling is what the outputs do in a state that is entered and left alone.
type Settling struct {
	// Still is when, after the entry, all has come to rest that comes to rest by
	// itself: no servo moves, no spinner turns, no light changes, no pulse is held and
	// no sound plays that the state's own routine has begun. It is the most that can
	// be, whatever the outputs did before.
	Still time.Duration
	// Last is the output that comes to rest last; "" where that is a pulse or a message of
	// the state before, or a sound.
	Last string
	// Restless is what never comes to rest, in the order in which it is asked for.
	Restless []Unrest
}

// An Unrest is an output that never comes to rest in a state.
type Unrest struct {
	Output string
	What   string // "drifts", as people read it after the output's name
	Pos    model.Pos
}

// NewRest looks through a design's states once.
func NewRest(d *model.Design) *Rest {
	d = d.Wired()
	r := &Rest{design: d, silenced: len(Stops(d)) > 0, reach: map[string]Range{}}
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Kind == model.KindServo {
			r.reach[o.Name] = target(o, model.RestAction(o))
		}
	}
	played := map[string]bool{}
	for i := range d.States {
		st := &d.States[i]
		for _, p := range st.Pose {
			r.asks(p.Output, p.Action)
		}
		for _, dr := range st.Drift {
			for _, end := range dr.Between {
				r.asks(dr.Output, model.Action{To: model.Degrees(end), Speed: model.RevPerS(end)})
			}
		}
		if routine := d.Routine(st.Plays); routine != nil && !played[st.Plays] {
			played[st.Plays] = true
			r.plays(routine)
		}
	}
	for i := range d.Transitions {
		r.orders(d.Transitions[i].Do)
	}
	return r
}

// orders notes what a transition orders, some time. Its messages may all wait for the
// line.
func (r *Rest) orders(orders []model.Order) {
	line := r.over
	for i := range orders {
		or := &orders[i]
		r.asks(or.Output, or.Action)
		o := r.design.Output(or.Output)
		if o == nil {
			continue
		}
		r.goesOn(o)
		if r.silenced {
			line += Sending(o, or.Send)
		}
	}
	r.over = max(r.over, line)
}

// Unsettles says what an order sets in motion, "" where the prop is at rest after it as
// before: a switch is set, a steady light comes on or goes out at once, or a message is
// sent that plays no track.
func Unsettles(d *model.Design, or *model.Order) string {
	if o := d.Output(or.Output); o != nil && behaviours[o.Kind] != nil && behaviours[o.Kind].unsettles != nil {
		return behaviours[o.Kind].unsettles(d, or)
	}
	return ""
}

func (r *Rest) plays(routine *model.Routine) {
	_, line := Waiting(r.design, routine)
	told := map[model.Play]bool{}
	for _, c := range Sheet(r.design, routine) {
		r.asks(c.Output, c.Action)
		if c.Voice != nil {
			r.asks(c.Output, model.Action{To: c.Voice.Follow.Quiet})
		}
		r.goesOn(r.design.Output(c.Output))
		if c.Sound == nil || told[c.Sound.Stop] {
			continue
		}
		told[c.Sound.Stop] = true
		o := r.design.Output(c.Sound.Stop.Output)
		r.goesOn(o)
		line += Sending(o, c.Sound.Stop.Value)
		r.over = max(r.over, line)
	}
}

// goesOn notes that an output may go on, whatever state is entered, with what it was
// asked for.
func (r *Rest) goesOn(o *model.Output) {
	if b := behaviours[o.Kind]; b != nil && b.goesOn != nil {
		r.over = max(r.over, b.goesOn(o))
	}
}

// asks notes what the design asks of an output.
func (r *Rest) asks(output string, a model.Action) {
	if o := r.design.Output(output); o != nil {
		r.reach[output] = r.reach[output].hull(target(o, a))
	}
}

// target is the value on an output's scale that an action asks for, 1 where it has none.
func target(o *model.Output, a model.Action) Range {
	if a.By != 0 {
		lo, hi := o.Scale()
		return Range{lo, hi}
	}
	if b := behaviours[o.Kind]; b != nil && b.target != nil {
		to, _ := b.target(a)
		return within(o, exactly(to))
	}
	return exactly(1)
}

// In finds when a state's outputs are at rest, and which never are.
func (r *Rest) In(st *model.State) (s Settling) {
	d := r.design
	s.Still = r.over
	restless := map[string][]ask{} // what was asked for and goes on, by output
	for _, a := range asked(d, st) {
		o := d.Output(a.Output)
		b := behaviours[o.Kind]
		if b == nil {
			continue
		}
		if a.Voice != nil { // in the end it is silent
			a.At += a.Voice.Takes()
			a.Action.To = a.Voice.Follow.Quiet
		}
		if reach := r.reach[a.Output]; b.settles != nil && !reach.Exact() {
			if still := a.At + b.settles(o, a.Action, reach); still > s.Still {
				s.Still, s.Last = still, a.Output
			}
		}
		// What covers it wholly takes the place of what was asked for before.
		on := slices.DeleteFunc(restless[a.Output], func(before ask) bool { return covers(o, a.Action, before.Action) })
		if b.restless != nil && b.restless(a.Action) != "" {
			on = append(on, a)
		}
		restless[a.Output] = on
	}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		for _, a := range restless[o.Name] {
			s.Restless = append(s.Restless, Unrest{o.Name, behaviours[o.Kind].restless(a.Action), a.pos})
		}
	}
	if routine := d.Routine(st.Plays); routine != nil {
		for _, c := range Sheet(d, routine) {
			if routine.Loop {
				s.Restless = append(s.Restless, Unrest{c.Output, "goes round after round", st.At("plays")})
			} else if t := d.Track(routine.Cues[c.Cue].Track); t != nil {
				if _, to := c.Heard(t); to > s.Still {
					s.Still, s.Last = to, ""
				}
			}
		}
	}
	for _, dr := range st.Drift {
		s.Restless = append(s.Restless, Unrest{dr.Output, "drifts", st.At("drift")})
	}
	return s
}

// An ask is a call with its place in the file; At counts from the state's entry.
type ask struct {
	Call
	pos model.Pos
}

// asked is what a state asks of the outputs, in order: its pose, and its routine where
// that ends.
func asked(d *model.Design, st *model.State) (all []ask) {
	for _, c := range Entry(d, st) {
		pos := st.Pos
		if c.Cue >= 0 {
			pos = st.Pose[c.Cue].Pos
		}
		all = append(all, ask{c, pos})
	}
	if r := d.Routine(st.Plays); r != nil && !r.Loop {
		for _, c := range Sheet(d, r) {
			all = append(all, ask{c, r.Cues[c.Cue].Pos})
		}
	}
	return all
}

// covers reports whether an action leaves nothing of one before it to be seen.
func covers(o *model.Output, a, before model.Action) bool {
	first, last := o.Stretch(a)
	from, to := o.Stretch(before)
	return first <= from && last >= to
}
