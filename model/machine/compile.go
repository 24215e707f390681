package machine

import (
	"fmt"
	"math"
	"slices"
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

// Compile resolves a design's names and precedence. The design is one that
// model.Read has no faults with, or was made as one: Compile judges nothing,
// and panics at a name that is not there. An ambiguous design compiles: of two
// transitions of one rank the first in file order counts. The program's design
// is the wired one.
func Compile(d *model.Design) *Program {
	d = d.Wired()
	c := compiler{
		p: &Program{
			Design: d,
			Length: make([]int64, len(d.States)),
			states: map[string]StateID{},
			events: map[triggerKey]EventID{},
			named:  make([]row, len(d.States)),
			timers: make([][]Timer, len(d.States)),
		},
	}
	c.names()
	start := d.Start()
	if start < 0 {
		panic("machine: the design was not read: no state is the one to start in")
	}
	c.p.Start = StateID(start)
	for i := range d.Transitions {
		c.transition(i)
	}
	c.arm()
	c.p.settleAmbiguities()
	return c.p
}

type compiler struct{ p *Program }

// A triggerKey tells triggers apart; all times are in milliseconds.
type triggerKey struct {
	kind   model.TriggerKind
	name   string
	hold   uint32
	lo, hi uint32 // of an after
}

func keyOf(t model.Trigger) triggerKey {
	return triggerKey{t.Kind, t.Name, Millis(t.For), Millis(t.After.Lo), Millis(t.After.Hi)}
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
		c.intern(model.Trigger{Kind: model.Press, Name: d.Remote.Buttons[i].Name})
	}
	for i := range d.Events {
		c.intern(model.Trigger{Kind: model.Posted, Name: d.Events[i].Name})
	}
	lengths := map[string]int64{}
	for i := range d.Routines {
		r := &d.Routines[i]
		lengths[r.Name] = -1
		if !r.Loop {
			lengths[r.Name] = int64(Millis(d.RoutineLength(r)))
		}
	}
	for i := range d.States {
		s := &d.States[i]
		c.p.states[s.Name] = StateID(i)
		c.p.Length[i] = -1
		if s.Plays != "" {
			c.p.Length[i] = named(lengths, "routine", s.Plays)
		}
	}
}

// named looks something up by its name.
func named[T any](all map[string]T, what, name string) T {
	x, ok := all[name]
	if !ok {
		panic(fmt.Sprintf("machine: the design was not read: there is no %s %q", what, name))
	}
	return x
}

// transition enters one transition into the rows of its sources.
func (c *compiler) transition(i int) {
	t := &c.p.Design.Transitions[i]
	m := Move{Transition: i, Ignore: t.Ignore, Do: len(t.Do) > 0 && !t.Ignore}
	m.Defer = t.Defer && !m.Stays()
	choice, isChoice := model.ParseChoice(t.To)
	switch {
	case m.Stays():
	case t.To == model.Back:
		m.Target = BackTarget
	case isChoice:
		m.Target = StateID(len(c.p.Design.States) + len(c.p.Choices))
		settled := Choice{InTurn: choice.InTurn}
		for _, name := range choice.States {
			settled.States = append(settled.States, named(c.p.states, "state", name))
		}
		c.p.Choices = append(c.p.Choices, settled)
	default:
		m.Target = named(c.p.states, "state", t.To)
	}
	for j := range t.From {
		from := &t.From[j]
		var r *row
		switch m.Rank = rankOf(rowOf(*from)); m.Rank {
		case RankAny:
			r = &c.p.all
		case RankKind:
			r = &c.p.kinds[kindIndex(from.Kind)]
		default:
			r = &c.p.named[named(c.p.states, "state", from.State)]
		}
		for k := range t.On {
			m.Trigger = k
			c.enter(r, m, from)
		}
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

// settleAmbiguities finds the states that each pair leaves in doubt, and drops
// a pair that a higher rank beats in all of them.
func (p *Program) settleAmbiguities() {
	for i := range p.ambig {
		a := &p.ambig[i]
		on := p.Trigger(&a.First)
		for s := range StateID(len(p.named)) {
			matches := a.Rank == RankAny || a.Rank == RankKind && p.Kind(s) == a.Kind || a.Rank == RankNamed && s == a.State
			rows := p.rows(s)
			higher := rows[:RankNamed-a.Rank]
			if matches && !slices.ContainsFunc(higher, func(r *row) bool { return p.says(r, on) }) {
				a.In = append(a.In, s)
			}
		}
	}
	p.ambig = slices.DeleteFunc(p.ambig, func(a Ambiguity) bool { return a.In == nil })
}

// says reports whether a row has a candidate for a trigger.
func (p *Program) says(r *row, on model.Trigger) bool {
	switch on.Kind {
	case model.Done:
		return r.done != nil
	case model.After:
		lo, hi := Millis(on.After.Lo), Millis(on.After.Hi)
		return slices.ContainsFunc(r.timers, func(t Timer) bool { return t.Lo == lo && t.Hi == hi })
	}
	e, ok := p.Event(on)
	return ok && r.move(e) != nil
}
