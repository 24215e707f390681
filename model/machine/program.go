package machine

import (
	"propwright/model"
)

// StateID is a state's index in file order.
type StateID int

// BackTarget as a Move.Target is the state that `back` holds.
const BackTarget StateID = -1

// EventID is an outside event's index in Program.Events.
type EventID int

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
	Target     StateID // or BackTarget; meaningless with Ignore
	Ignore     bool
	Defer      bool
}

// Timer is one `after` trigger that is armed on entering a state.
type Timer struct {
	Move
	Lo, Hi uint32 // milliseconds; drawn uniformly from Lo..Hi, both included
}

// Program is a compiled design: names are indices and precedence is resolved.
//
// Events holds every outside event of the design, each once: first a press of
// every button of the remote, in file order, whether used or not; then the
// hold, release, rise and fall triggers that transitions name, in order of
// their first appearance. Two hold triggers are one event when button and
// time are the same. Done and after are no outside events.
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

	moves  [][]*Move // [state][event], nil: no candidate
	done   []*Move   // [state]
	timers [][]Timer // [state], in file order
}
