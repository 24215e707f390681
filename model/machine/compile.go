package machine

import (
	"fmt"
	"math"
	"time"

	"propwright/model"
)

// MaxTime is the longest time a machine can count: a little under 25 days,
// so that the difference of two of the chip's 32-bit clock readings is never
// in doubt.
const MaxTime = math.MaxInt32 * time.Millisecond

// Millis is a time in the machine's whole milliseconds, rounded to the
// nearest.
func Millis(d time.Duration) uint32 {
	return uint32(max(0, min(d, MaxTime)).Round(time.Millisecond) / time.Millisecond)
}

// Compile resolves a design's names and precedence. The error, a
// model.Faults, is one that the design's file would have been refused for; an
// ambiguous design compiles.
func Compile(d *model.Design) (*Program, error) {
	c := compiler{
		p: &Program{
			Design: d,
			Length: make([]int64, len(d.States)),
			states: map[string]StateID{},
			events: map[eventKey]EventID{},
			named:  make([]row, len(d.States)),
			timers: make([][]Timer, len(d.States)),
		},
		inputs:   map[string]bool{},
		routines: map[string]int64{},
	}
	c.names()
	c.start()
	for i := range d.Transitions {
		c.transition(i)
	}
	if c.faults != nil {
		return nil, c.faults
	}
	c.arm()
	return c.p, nil
}

type compiler struct {
	p        *Program
	inputs   map[string]bool
	routines map[string]int64 // length in milliseconds, -1 where it loops
	faults   model.Faults
}

func (c *compiler) fault(pos model.Pos, advice, format string, args ...any) {
	c.faults = append(c.faults, model.Fault{Pos: pos, Wrong: fmt.Sprintf(format, args...), Advice: advice})
}

// An eventKey tells outside events apart.
type eventKey struct {
	kind model.TriggerKind
	name string
	hold uint32 // milliseconds
}

func keyOf(t model.Trigger) eventKey {
	k := eventKey{kind: t.Kind, name: t.Name}
	if t.Kind == model.Hold {
		k.hold = Millis(t.For)
	}
	return k
}

func (c *compiler) intern(t model.Trigger) EventID {
	k := keyOf(t)
	if e, ok := c.p.events[k]; ok {
		return e
	}
	e := EventID(len(c.p.Events))
	c.p.events[k] = e
	c.p.Events = append(c.p.Events, t)
	return e
}

// names enters everything that has a name.
func (c *compiler) names() {
	d := c.p.Design
	for i := range d.Remote.Buttons {
		b := &d.Remote.Buttons[i]
		t := model.Trigger{Kind: model.Press, Name: b.Name}
		if _, twice := c.p.events[keyOf(t)]; twice {
			c.fault(b.At("name"), "give each button a name of its own", "there are two buttons %q", b.Name)
		}
		c.intern(t)
	}
	for i := range d.Inputs {
		in := &d.Inputs[i]
		if c.inputs[in.Name] {
			c.fault(in.At("name"), "give each input a name of its own", "there are two inputs %q", in.Name)
		}
		c.inputs[in.Name] = true
	}
	for i := range d.Routines {
		r := &d.Routines[i]
		if _, twice := c.routines[r.Name]; twice {
			c.fault(r.At("name"), "give each routine a name of its own", "there are two routines %q", r.Name)
		}
		c.routines[r.Name] = -1
		if length := d.RoutineLength(r); !r.Loop {
			c.time(r.At("length"), length)
			c.routines[r.Name] = int64(Millis(length))
		}
	}
	for i := range d.States {
		s := &d.States[i]
		if _, twice := c.p.states[s.Name]; twice {
			c.fault(s.At("name"), "give each state a name of its own", "there are two states %q", s.Name)
		}
		if s.Name == model.Any || s.Name == model.Back {
			c.fault(s.At("name"), "choose another name", "%q has a meaning of its own and is no state's name", s.Name)
		}
		if kindIndex(s.Kind) == 0 {
			c.fault(s.At("kind"), "write dormant, ambient or performing", "state %q is of no known kind", s.Name)
		}
		c.p.states[s.Name] = StateID(i)
		c.p.Length[i] = -1
		if s.Plays == "" {
			continue
		}
		length, ok := c.routines[s.Plays]
		if !ok {
			c.fault(s.At("plays"), "name one of the routines", "there is no routine %q", s.Plays)
		}
		c.p.Length[i] = length
	}
}

// start finds the state that power-up enters (rule 1).
func (c *compiler) start() {
	var dormant, marked []*model.State
	for i := range c.p.Design.States {
		s := &c.p.Design.States[i]
		if s.Start {
			marked = append(marked, s)
		}
		if s.Kind == model.Dormant {
			dormant = append(dormant, s)
		}
	}
	switch {
	case len(marked) > 1:
		c.fault(marked[1].At("start"), "mark one dormant state only",
			"both %q and %q are marked start = true", marked[0].Name, marked[1].Name)
	case len(marked) == 1 && marked[0].Kind != model.Dormant:
		c.fault(marked[0].At("start"), "mark a dormant state",
			"the start state %q is not dormant: the prop would move as soon as it has power", marked[0].Name)
	case len(marked) == 1:
		c.p.Start = c.p.states[marked[0].Name]
	case len(dormant) == 0:
		c.fault(model.Pos{File: c.p.Design.File}, `add a [[state]] with kind = "dormant"`,
			"there is no dormant state to start in")
	case len(dormant) > 1:
		c.fault(dormant[1].Pos, "mark one of them start = true",
			"there are %d dormant states, and none is marked as the one to start in", len(dormant))
	default:
		c.p.Start = c.p.states[dormant[0].Name]
	}
}

func (c *compiler) time(pos model.Pos, d time.Duration) {
	if d < 0 || d > MaxTime {
		c.fault(pos, "give a time from 0 to 24 days", "the machine cannot count %v", d)
	}
}

// transition enters one transition into the rows of its sources.
func (c *compiler) transition(i int) {
	t := &c.p.Design.Transitions[i]
	target := StateID(0)
	switch {
	case t.Ignore:
	case t.To == model.Back:
		target = BackTarget
	case t.To == "":
		c.fault(t.Pos, "give it a state to go to, or ignore = true", "the transition leads nowhere")
	default:
		s, ok := c.p.states[t.To]
		if !ok {
			c.fault(t.At("to"), "name one of the states, or back", "there is no state %q", t.To)
		}
		target = s
	}
	for j := range t.On {
		c.trigger(&t.On[j], t.Defer)
	}
	for j := range t.From {
		from := &t.From[j]
		m := Move{Transition: i, Target: target, Ignore: t.Ignore, Defer: t.Defer && !t.Ignore}
		kind := from.Kind
		var r *row
		switch {
		case from.State == model.Any && from.Kind == "":
			m.Rank, r = RankAny, &c.p.all
		case from.State == model.Any:
			k := kindIndex(from.Kind)
			if k == 0 {
				c.fault(from.Pos, "write dormant, ambient or performing", "%q is no kind of state", from.Kind)
			}
			m.Rank, r = RankKind, &c.p.kinds[k]
		default:
			s, ok := c.p.states[from.State]
			if !ok {
				c.fault(from.Pos, "name one of the states, or any", "there is no state %q", from.State)
				continue
			}
			m.Rank, r, kind = RankNamed, &c.p.named[s], c.p.Kind(s)
		}
		if kind != model.Performing && !t.Ignore {
			if t.Defer {
				c.fault(from.Pos, "defer from performing states only", "there is no routine's end to wait for here")
			}
			if t.To == model.Back {
				c.fault(from.Pos, "name the state to go to", "back is for performing states only")
			}
		}
		for k := range t.On {
			m.Trigger = k
			c.enter(r, m, from)
		}
	}
}

// trigger makes sure that a trigger can be waited for.
func (c *compiler) trigger(t *model.Trigger, deferred bool) {
	switch t.Kind {
	case model.Press, model.Hold, model.Release:
		if _, ok := c.p.events[eventKey{kind: model.Press, name: t.Name}]; !ok {
			c.fault(t.Pos, "name one of the remote's buttons", "there is no button %q", t.Name)
		}
		if t.Kind == model.Hold {
			c.time(t.Pos, t.For)
		}
	case model.Rise, model.Fall:
		if !c.inputs[t.Name] {
			c.fault(t.Pos, "name one of the inputs", "there is no input %q", t.Name)
		}
	case model.After:
		c.time(t.Pos, t.After.Lo)
		c.time(t.Pos, t.After.Hi)
		if t.After.Lo > t.After.Hi {
			c.fault(t.Pos, "put the shorter time first", "the range %v..%v is upside down", t.After.Lo, t.After.Hi)
		}
	case model.Done:
		if deferred {
			c.fault(t.Pos, "leave out defer", "done is the routine's end; there is nothing left to wait for")
		}
	default:
		c.fault(t.Pos, "write press, hold, release, after, done, rise or fall", "the trigger is of no known kind")
	}
}

// enter puts a move into a row, and notes where the row is taken already.
func (c *compiler) enter(r *row, m Move, from *model.From) {
	t := c.p.Design.Transitions[m.Transition].On[m.Trigger]
	var earlier *Move
	switch t.Kind {
	case model.Done:
		earlier = r.addDone(&m)
	case model.After:
		earlier = r.addTimer(Timer{Move: m, Lo: Millis(t.After.Lo), Hi: Millis(t.After.Hi)})
	default:
		earlier = r.add(c.intern(t), &m)
	}
	if earlier == nil || earlier.Transition == m.Transition {
		return
	}
	c.p.ambig = append(c.p.ambig, Ambiguity{
		Rank: m.Rank, State: c.p.states[from.State], Kind: from.Kind, First: *earlier, Second: m,
	})
}

// arm works out each state's timers.
func (c *compiler) arm() {
	var shared [len(c.p.kinds)][]Timer
	var general [len(c.p.kinds)][]Timer
	for k := range general {
		general[k] = over(c.p.kinds[k].timers, c.p.all.timers)
		shared[k] = armed(general[k])
	}
	for s := range c.p.named {
		k := kindIndex(c.p.Kind(StateID(s)))
		if own := c.p.named[s].timers; len(own) > 0 {
			c.p.timers[s] = armed(over(own, general[k]))
		} else {
			c.p.timers[s] = shared[k]
		}
	}
}
