package machine

import "fmt"

// QueueLen is how many outside events wait for a step at most.
const QueueLen = 8

// A Machine runs a Program in virtual time. It takes one step for every
// millisecond: first the outside events that were posted since the last step,
// in order, then done, then the earliest after that is due.
type Machine struct {
	// Observe, if not nil, is told of everything that the machine handles
	// after power-up, right after it has handled it. It must not call Advance.
	Observe func(Change)

	p       *Program
	draw    func(lo, hi uint32) uint32
	now     uint64 // milliseconds
	queue   []EventID
	dropped int

	state    StateID
	entered  uint64 // when
	back     StateID
	deferred *Move
	ended    bool     // the routine has ended, done has been handled
	timers   []uint64 // deadline of each of the state's timers; spent for one that has fired
	chosen   StateID  // that an any_of led to last, NoState before that
	turns    []int    // by choice: which of its states is next, of one in turn
}

const spent = ^uint64(0)

// Cause is what made the machine do something.
type Cause uint8

const (
	CauseEvent    Cause = iota + 1 // an outside event
	CauseDone                      // the routine's end
	CauseDeferred                  // the routine's end, a deferred transition waiting for it
	CauseAfter                     // a timer
)

func (c Cause) String() string {
	switch c {
	case CauseEvent:
		return "event"
	case CauseDone:
		return "done"
	case CauseDeferred:
		return "deferred"
	case CauseAfter:
		return "after"
	}
	return fmt.Sprintf("Cause(%d)", uint8(c))
}

// Outcome is what became of an event.
type Outcome uint8

const (
	Entered    Outcome = iota + 1 // a state was entered, perhaps the same one again
	Deferred                      // the move waits for the routine's end
	Ignored                       // a transition says ignore
	Acted                         // the orders of a transition were carried out, and the state goes on
	Unanswered                    // no transition says anything
)

func (o Outcome) String() string {
	switch o {
	case Entered:
		return "entered"
	case Deferred:
		return "deferred"
	case Ignored:
		return "ignored"
	case Acted:
		return "acted"
	case Unanswered:
		return "unanswered"
	}
	return fmt.Sprintf("Outcome(%d)", uint8(o))
}

// Change is one thing that the machine handled.
type Change struct {
	At      uint32 // milliseconds since power-up
	Cause   Cause
	Event   EventID // with CauseEvent
	Outcome Outcome
	From    StateID
	To      StateID // the state afterwards: From unless Outcome is Entered
	Move    *Move   // nil where Unanswered
}

// New powers a machine up: at time 0 it enters the start state. The seed
// starts the random sequence; 0 counts as 1.
func New(p *Program, seed uint32) *Machine {
	random := Seed(seed)
	return NewDrawing(p, random.Draw)
}

// NewDrawing is like New for a machine for which somebody draws: draw gives
// a number from lo..hi. It is called, as the random sequence is, where an any_of
// is settled for one of several states, for the number of the state from 0; then,
// whenever a state is entered, once for each timer with lo < hi, in file order,
// in milliseconds.
func NewDrawing(p *Program, draw func(lo, hi uint32) uint32) *Machine {
	m := &Machine{p: p, draw: draw, back: p.Start, chosen: NoState, turns: make([]int, len(p.Choices))}
	m.enter(p.Start)
	return m
}

// Program is what the machine runs.
func (m *Machine) Program() *Program { return m.p }

// Now is the time since power-up in milliseconds.
func (m *Machine) Now() uint32 { return uint32(m.now) }

// State is the current state.
func (m *Machine) State() StateID { return m.state }

// Back is the state that `back` leads to.
func (m *Machine) Back() StateID { return m.back }

// Deferred is the move that waits for the routine's end, or nil.
func (m *Machine) Deferred() *Move { return m.deferred }

// Dropped counts the events that found the queue full.
func (m *Machine) Dropped() int { return m.dropped }

// Post puts an outside event into the queue for the next step. It reports
// false where the queue is full and the event was dropped.
func (m *Machine) Post(e EventID) bool {
	if len(m.queue) == QueueLen {
		m.dropped++
		return false
	}
	m.queue = append(m.queue, e)
	return true
}

// Advance takes the steps of the next ms milliseconds.
func (m *Machine) Advance(ms uint32) {
	for end := m.now + uint64(ms); m.now < end; {
		m.now = min(m.due(), end)
		m.step()
	}
}

// AdvanceTo takes the steps up to that of time t, in milliseconds since
// power-up. It does nothing where that time is past.
func (m *Machine) AdvanceTo(t uint32) {
	if t > m.Now() {
		m.Advance(t - m.Now())
	}
}

// Next is the time of the next step in which something happens if nothing is
// posted any more; false where nothing ever will.
func (m *Machine) Next() (t uint32, ok bool) {
	next := m.due()
	return uint32(next), next != spent
}

// due is the next step in which something happens, spent where there is none.
func (m *Machine) due() uint64 {
	if len(m.queue) > 0 {
		return m.now + 1
	}
	next := spent
	if length := m.p.Length[m.state]; length >= 0 && !m.ended {
		next = m.entered + uint64(length)
	}
	for _, deadline := range m.timers {
		next = min(next, deadline)
	}
	return max(next, m.now+1)
}

// step is the machine's step at time now (rule 8).
func (m *Machine) step() {
	for len(m.queue) > 0 {
		e := m.queue[0]
		m.queue = append(m.queue[:0], m.queue[1:]...)
		m.handle(m.p.Move(m.state, e), Change{Cause: CauseEvent, Event: e})
	}
	if length := m.p.Length[m.state]; length >= 0 && !m.ended && m.now-m.entered >= uint64(length) {
		m.ended = true
		if m.deferred != nil {
			m.take(m.deferred, Change{Cause: CauseDeferred})
		} else {
			m.handle(m.p.Done(m.state), Change{Cause: CauseDone})
		}
	}
	first := -1
	for i, deadline := range m.timers {
		if deadline <= m.now && (first < 0 || deadline < m.timers[first]) {
			first = i
		}
	}
	if first >= 0 {
		m.timers[first] = spent
		m.handle(&m.p.timers[m.state][first].Move, Change{Cause: CauseAfter})
	}
}

// handle does what a move says (rules 3 to 5).
func (m *Machine) handle(move *Move, c Change) {
	c.From, c.Move = m.state, move
	switch {
	case move == nil:
		c.Outcome = Unanswered
	case move.Ignore:
		c.Outcome = Ignored
	case move.Do:
		c.Outcome = Acted
	case move.Defer:
		m.deferred = move
		c.Outcome = Deferred
	default:
		m.take(move, c)
		return
	}
	m.tell(c)
}

// take leaves the state and enters another (rule 5).
func (m *Machine) take(move *Move, c Change) {
	c.From, c.Move, c.Outcome = m.state, move, Entered
	if !m.p.performing(m.state) {
		m.back = m.state
	}
	m.deferred = nil
	m.enter(m.settle(move.Target))
	m.tell(c)
}

// enter begins a state (rule 6).
func (m *Machine) enter(s StateID) {
	m.state, m.entered, m.ended = s, m.now, false
	m.timers = m.timers[:0]
	for _, t := range m.p.timers[s] {
		m.timers = append(m.timers, m.now+uint64(m.drawn(t.Lo, t.Hi)))
	}
}

// drawn is a number from lo..hi; nothing is drawn where they are the same.
func (m *Machine) drawn(lo, hi uint32) uint32 {
	if lo == hi {
		return lo
	}
	return max(lo, min(hi, m.draw(lo, hi)))
}

func (m *Machine) tell(c Change) {
	if m.Observe != nil {
		c.At, c.To = m.Now(), m.state
		m.Observe(c)
	}
}
