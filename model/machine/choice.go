package machine

import "slices"

// NoState is not a state.
const NoState StateID = -2

// A Choice is a target that is settled when its transition is taken.
type Choice struct {
	InTurn bool      // the first of the states, then the next one each time, and again
	States []StateID // of an any_of each once
}

// Choice is the choice that a Move.Target is, and its number in Choices; nil where
// it is not one.
func (p *Program) Choice(target StateID) (c *Choice, number int) {
	if number = int(target) - len(p.Design.States); number < 0 {
		return nil, -1
	}
	return &p.Choices[number], number
}

// Candidates are the states of an any_of to one of which it leads, each as likely
// as the others, where chosen is the one that an any_of led to last.
func (c *Choice) Candidates(chosen StateID) []StateID {
	return slices.DeleteFunc(slices.Clone(c.States), func(s StateID) bool { return s == chosen })
}

// Targets are the states that a move can lead to, some perhaps twice; none for
// BackTarget and for a move that stays.
func (p *Program) Targets(m *Move) []StateID {
	switch c, _ := p.Choice(m.Target); {
	case m.Stays():
		return nil
	case c != nil:
		return c.States
	case m.Target == BackTarget:
		return nil
	}
	return []StateID{m.Target}
}

// settle is the state that a target leads to.
func (m *Machine) settle(target StateID) StateID {
	c, number := m.p.Choice(target)
	switch {
	case target == BackTarget:
		return m.back
	case c == nil:
		return target
	case c.InTurn:
		s := c.States[m.turns[number]]
		m.turns[number] = (m.turns[number] + 1) % len(c.States)
		return s
	}
	states := c.Candidates(m.chosen)
	m.chosen = states[m.drawn(0, uint32(len(states)-1))]
	return m.chosen
}
