package machine

import (
	"propwright/model"
)

// StateID is a state's index in file order.
type StateID int32

// BackTarget as a Move.Target is the state that `back` holds.
const BackTarget StateID = -1

// EventID is an outside event's index in Program.Events.
type EventID int32

// Rank says how specific the `from` of a transition is.
type Rank uint8

const (
	RankAny   Rank = iota // from = "any"
	RankKind              // from = "any KIND"
	RankNamed             // from = a state's name
)

// Move is what one trigger of one transition does in one state.
type Move struct {
	Transition int     // index in Design.Transitions
	Trigger    int     // index in that transition's On
	Rank       Rank    // of the `from` that matched
	Target     StateID // or BackTarget or a choice, see Program.Choice; meaningless where it stays
	Ignore     bool
	Do         bool // the orders of the transition are carried out
	Defer      bool
}

// Stays reports whether a move leads nowhere: the state goes on.
func (m *Move) Stays() bool { return m.Ignore || m.Do }

// Timer is one `after` trigger that is armed on entering a state.
type Timer struct {
	Move
	Lo, Hi uint32 // milliseconds; drawn uniformly from Lo..Hi, both included
}

// Program is a compiled design: names are indices and precedence is resolved.
//
// Events holds every outside event of the design, each once: first a press of
// every button of the remote, in file order, whether used or not; then the
// hold, repeat, release, rise and fall triggers that transitions name, in order of
// their first appearance. Two hold triggers are one event when button and
// time are the same. Done and after are not outside events.
//
// Two after triggers are the same trigger when lo and hi are the same; then
// the more specific `from` wins like with any other event. An after with
// Ignore is not armed (and nothing is drawn for it).
type Program struct {
	Design *model.Design
	Start  StateID
	Events []model.Trigger
	// Length is, for each state, the milliseconds from entering it to `done`;
	// -1 where its routine loops or it plays none.
	Length []int64
	// Choices are the targets that are settled when their transition is taken, in
	// file order. As a Move.Target they count on behind the states.
	Choices []Choice

	states map[string]StateID
	events map[triggerKey]EventID
	named  []row     // [state]: what transitions say that name the state
	kinds  [4]row    // [kindIndex]: what `any KIND` says
	all    row       // what `any` says
	timers [][]Timer // [state], in file order; states without timers of their own share one slice
	ambig  []Ambiguity
}

// Ambiguity is a trigger that two transitions of one rank wait for in the
// same states, in one of which at least no transition of a higher rank waits
// for it too. The machine takes the first in file order.
type Ambiguity struct {
	Rank          Rank
	State         StateID         // with RankNamed
	Kind          model.StateKind // with RankKind
	First, Second Move
	In            []StateID // where no higher rank decides, in file order
}

// Move is what an outside event does in a state, precedence resolved: nil
// where there is no candidate. The move may be one to ignore.
func (p *Program) Move(s StateID, e EventID) *Move {
	for _, r := range p.rows(s) {
		if m := r.move(e); m != nil {
			return m
		}
	}
	return nil
}

// Done is what `done` does in a state; nil where there is no candidate.
func (p *Program) Done(s StateID) *Move {
	for _, r := range p.rows(s) {
		if r.done != nil {
			return r.done
		}
	}
	return nil
}

// Timers are the timers that entering a state arms, in file order.
func (p *Program) Timers(s StateID) []Timer { return p.timers[s] }

// Event finds the outside event that a trigger waits for. There is none for
// done and after, and for a trigger that no transition names.
func (p *Program) Event(t model.Trigger) (EventID, bool) {
	e, ok := p.events[keyOf(t)]
	return e, ok
}

// Ambiguities lists the pairs of transitions that rule 2 forbids, in file
// order of the second.
func (p *Program) Ambiguities() []Ambiguity { return p.ambig }

// Kind is a state's kind.
func (p *Program) Kind(s StateID) model.StateKind { return p.Design.States[s].Kind }

// Name is a state's name.
func (p *Program) Name(s StateID) string { return p.Design.States[s].Name }

// To is where a move leads, as model.Transition.To has it, "" where it stays.
func (p *Program) To(m *Move) string { return p.Design.Transitions[m.Transition].To }

// Trigger is what brings a move about.
func (p *Program) Trigger(m *Move) model.Trigger {
	return p.Design.Transitions[m.Transition].On[m.Trigger]
}

// State finds a state by name.
func (p *Program) State(name string) (StateID, bool) {
	s, ok := p.states[name]
	return s, ok
}

// Button finds a button by name; its press is the event of the same number.
func (p *Program) Button(name string) (int, bool) {
	e, ok := p.events[triggerKey{kind: model.Press, name: name}]
	return int(e), ok
}

// rows gives what the design says for a state, the most specific first.
func (p *Program) rows(s StateID) [3]*row {
	return [3]*row{&p.named[s], &p.kinds[kindIndex(p.Kind(s))], &p.all}
}

func (p *Program) performing(s StateID) bool { return p.Kind(s) == model.Performing }
