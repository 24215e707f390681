// Package many makes designs of many states, in the shapes that cost a check
// the most. They are read like any design and break many rules in many states.
package many

import (
	"fmt"
	"math"
	"time"

	"propwright/model"
)

// A Shape is how the states of a design lead to each other.
type Shape struct {
	Name   string
	Design func(states int) *model.Design
}

// Shapes are all of them.
var Shapes = []Shape{
	{"ring", Ring},
	{"chain", Chain},
	{"complete", Complete},
	{"timers", Timers},
	{"held", Held},
	{"defers", func(states int) *model.Design { return Defers(states/20, 10, 10) }},
}

// Ring is a design in which one button leads from each state to the next, and
// from the last to the first; nothing answers the stop button.
func Ring(states int) *model.Design {
	d := empty(1)
	for s := range states {
		add(d, s, ambient)
		d.Transitions = append(d.Transitions, on(s, press(1), name((s+1)%states)))
	}
	return d
}

// Chain is Ring without the transition from the last state to the first.
func Chain(states int) *model.Design {
	d := Ring(states)
	d.Transitions = d.Transitions[:states-1]
	return d
}

// Complete is a design with a transition from every state to every other, each
// on a button of its own: states counts the transitions.
func Complete(states int) *model.Design {
	n := int(math.Sqrt(float64(states)))
	d := empty(n)
	for s := range n {
		add(d, s, ambient)
		for b := range n {
			if b != s {
				d.Transitions = append(d.Transitions, on(s, press(1+b), name(b)))
			}
		}
	}
	return d
}

// Timers is Ring with timers, each of another time, in place of the button.
func Timers(states int) *model.Design {
	d := Ring(states)
	for s := range d.Transitions {
		least := time.Duration(1+s) * time.Second
		d.Transitions[s].On = []model.Trigger{{Kind: model.After, After: model.Span{Lo: least, Hi: least + time.Minute}}}
	}
	return d
}

// Held is a design of one state that is reentered every millisecond while a button
// is held for states milliseconds: at each of them the press is as far ahead of it.
func Held(states int) *model.Design {
	d := empty(1)
	add(d, 0, ambient)
	add(d, 1, ambient)
	hold := model.Trigger{Kind: model.Hold, Name: "b1", For: time.Duration(states) * time.Millisecond}
	timer := model.Trigger{Kind: model.After, After: model.Span{Lo: time.Millisecond, Hi: time.Millisecond}}
	d.Transitions = []model.Transition{on(0, press(1), name(1)), on(1, timer, name(1)), on(1, hold, name(0))}
	return d
}

// Defers is a design of groups of states that each lead to the next: from every
// one of a group's idle states a button leads to every one of its performing
// states, which end in back and defer to every one of the idle states. A group
// has idle × performing × (idle + 1) situations.
func Defers(groups, idle, performing int) *model.Design {
	d := empty(idle + performing + 1)
	d.Routines = []model.Routine{{Name: "turn", Length: time.Second}}
	size := idle + performing
	for g := range groups {
		for s := range size {
			k := ambient
			if s >= idle {
				k = model.State{Kind: model.Performing, Plays: "turn"}
			}
			add(d, g*size+s, k)
		}
		for s := range size {
			from := g*size + s
			if s < idle {
				for p := range performing {
					d.Transitions = append(d.Transitions, on(from, press(1+idle+p), name(g*size+idle+p)))
				}
				d.Transitions = append(d.Transitions, on(from, press(1+s), name((g*size+(s+1)%idle))))
				continue
			}
			d.Transitions = append(d.Transitions, on(from, model.Trigger{Kind: model.Done}, model.Back))
			for i := range idle {
				t := on(from, press(1+i), name(g*size+i))
				t.Defer = true
				d.Transitions = append(d.Transitions, t)
			}
		}
		d.Transitions = append(d.Transitions, on(g*size, press(size+1), name((g+1)%groups*size)))
	}
	return d
}

var ambient = model.State{Kind: model.Ambient}

// empty is a design without states, its remote with a stop button, b0, and
// buttons b1 to bn.
func empty(n int) *model.Design {
	d := &model.Design{
		Prop:   model.Prop{Name: "many", Label: "Many", Board: "atmega328p", RestWithin: 3 * time.Second},
		Remote: model.Remote{Pin: 2, Stop: "b0"},
	}
	for b := range n + 1 {
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{Name: fmt.Sprint("b", b), Code: fmt.Sprintf("nec:0x%02x:0x%02x", b>>8, b&0xff)})
	}
	return d
}

// add adds a state of number s like one; the first is dormant.
func add(d *model.Design, s int, like model.State) {
	if like.Name = name(s); s == 0 {
		like.Kind = model.Dormant
	}
	d.States = append(d.States, like)
}

func name(s int) string { return fmt.Sprint("s", s) }

func press(b int) model.Trigger { return model.Trigger{Kind: model.Press, Name: fmt.Sprint("b", b)} }

func on(s int, t model.Trigger, to string) model.Transition {
	return model.Transition{From: []model.From{{State: name(s)}}, On: []model.Trigger{t}, To: to}
}
