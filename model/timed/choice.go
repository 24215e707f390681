package timed

import (
	"fmt"
	"slices"

	"propwright/model/machine"
)

// A memory is what choices have led to before, as it decides where they can lead.
type memory struct {
	chosen machine.StateID // by an any_of
	turns  []int           // by choice: the place in its list that is next, of one in turn
}

// recall gives the number of a memory in Space.memories.
func (x *Space) recall(m memory) int32 {
	key := fmt.Sprint(m)
	n, known := x.memory[key]
	if !known {
		n = int32(len(x.memories))
		x.memory[key] = n
		x.memories = append(x.memories, m)
		x.kept += memoryBytes + 8*len(m.turns) + len(key)
	}
	return n
}

// settle is the state that a target other than back leads to; of those that an
// any_of can lead to the one that chances has.
func (x *Space) settle(c *location, target machine.StateID) machine.StateID {
	choice, number := x.program.Choice(target)
	if choice == nil {
		return target
	}
	m := x.memories[c.memory]
	if choice.InTurn {
		at := m.turns[number]
		m.turns = slices.Clone(m.turns)
		m.turns[number] = (at + 1) % len(choice.States)
		c.memory = x.recall(m)
		return choice.States[at]
	}
	states := choice.Candidates(m.chosen)
	m.chosen = states[x.chances.pick(len(states))]
	c.memory = x.recall(m)
	return m.chosen
}

// A pick is the number that is drawn for an any_of of several states.
type pick struct {
	entry   int    // how many states were entered before in the step
	n, most uint32 // drawn from 0..most
}

// Chances say how the choices come out on the way through one step.
type chances struct {
	picks   []pick
	at      int // how many of picks are behind
	entered int // how many states have been entered
}

// each does a step once for each way in which the choices in it can come out, until
// do returns false. An each within do is the last that it does.
func (s *chances) each(do func() (goOn bool)) (goOn bool) {
	at, entered := s.at, s.entered
	defer func() { s.picks, s.at, s.entered = s.picks[:at], at, entered }()
	for {
		if s.at, s.entered = at, entered; !do() {
			return false
		}
		last := len(s.picks) - 1
		for ; last >= at && s.picks[last].n == s.picks[last].most; last-- {
		}
		if last < at {
			return true
		}
		s.picks = s.picks[:last+1]
		s.picks[last].n++
	}
}

// pick is a number from 0 to below n.
func (s *chances) pick(n int) uint32 {
	if n == 1 {
		return 0
	}
	if s.at == len(s.picks) {
		s.picks = append(s.picks, pick{entry: s.entered, most: uint32(n - 1)})
	}
	s.at++
	return s.picks[s.at-1].n
}

// taken are the picks behind.
func (s *chances) taken() []pick {
	if s.at == 0 {
		return nil
	}
	return slices.Clone(s.picks[:s.at])
}
