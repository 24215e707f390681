package rehearsal

import (
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
)

// A Player is a prop in rehearsal. It runs only when it is told to, in whole
// milliseconds of its own clock; it belongs to one goroutine.
type Player struct {
	design    *model.Design
	rehearsal *machine.Rehearsal
	stage     *motion.Stage
	idle      machine.Xorshift
	log       []Event
	script    []Line
}

// An Event is one thing that the prop took notice of, or powering it up.
type Event struct {
	At      time.Duration // since power-up
	Cause   string        // "power-up", "press wake", "done", "after 20s", "deferred press wake"
	Outcome machine.Outcome
	From    string // the state before, "" at power-up
	State   string // the state from then on
	// Transition is the index of the transition that says so in
	// Design.Transitions, -1 where there is none.
	Transition int
}

// New powers a prop up. Its random sequence is the one that the design fixes,
// else that of seed 1, so that two rehearsals of one design are the same.
func New(prog *machine.Program) *Player {
	random := machine.Seed(prog.Design.Prop.Seed)
	return NewDrawing(prog, random.Draw)
}

// NewDrawing is New for a prop whose choices and deadlines are drawn by draw, as
// with machine.NewDrawing: for example as the witness of a finding has them.
func NewDrawing(prog *machine.Program, draw func(lo, hi uint32) uint32) *Player {
	d := prog.Design
	m := machine.NewDrawing(prog, draw)
	p := &Player{
		design:    d,
		rehearsal: machine.Rehearse(m, machine.RepeatPeriodNEC),
		idle:      machine.Seed(uint32(machine.Seed(d.Prop.Seed)) ^ 0x9E3779B9),
	}
	p.stage = motion.New(d, p.draw)
	m.Observe = p.observe
	start := prog.Name(prog.Start)
	p.enter(start, 0)
	p.log = []Event{{Cause: "power-up", Outcome: machine.Entered, State: start, Transition: -1}}
	return p
}

// draw draws for idle moves. The firmware's idle moves are other ones of the
// same range: where a prop looks by chance is not a part of its behaviour.
func (p *Player) draw(lo, hi float64) float64 {
	if lo == hi {
		return lo
	}
	return lo + (hi-lo)*float64(p.idle.Next())/(1<<32)
}

func (p *Player) observe(c machine.Change) {
	prog := p.rehearsal.Machine.Program()
	e := Event{
		At:         time.Duration(c.At) * time.Millisecond,
		Outcome:    c.Outcome,
		From:       prog.Name(c.From),
		State:      prog.Name(c.To),
		Transition: -1,
	}
	trigger := ""
	if c.Move != nil {
		e.Transition = c.Move.Transition
		trigger = p.design.Transitions[c.Move.Transition].On[c.Move.Trigger].String()
	}
	switch c.Cause {
	case machine.CauseEvent:
		e.Cause = prog.Events[c.Event].String()
	case machine.CauseDeferred:
		e.Cause = "deferred " + trigger
	case machine.CauseAfter:
		e.Cause = trigger
	default:
		e.Cause = c.Cause.String()
	}
	switch c.Outcome {
	case machine.Entered:
		p.enter(e.State, e.At)
	case machine.Acted:
		if err := p.stage.Order(p.design.Transitions[e.Transition].Do, e.At); err != nil {
			panic(err) // the stage is asked for the present only
		}
	}
	p.log = append(p.log, e)
}

// enter moves the outputs to a state.
func (p *Player) enter(state string, at time.Duration) {
	if err := p.stage.Enter(state, at); err != nil {
		panic(err) // the state is the program's own, and the stage is asked for the present only
	}
}

// Do does an act, and notes it for the script. A press takes a millisecond,
// as on the air; a hold without a time goes on until the button is let go.
func (p *Player) Do(a machine.Act) error {
	if err := p.rehearsal.Play(a); err != nil {
		return err
	}
	p.note(a)
	return nil
}

// note adds an act to the script; waits that follow each other are one.
func (p *Player) note(a machine.Act) {
	if a.Kind == machine.ActWait {
		if a.For == 0 {
			return
		}
		if n := len(p.script); n > 0 && p.script[n-1].Act.Kind == machine.ActWait && p.script[n-1].Act.For <= machine.MaxTime-a.For {
			p.script[n-1].Act.For += a.For
			return
		}
	}
	p.script = append(p.script, Line{Act: a})
}

// Advance lets time pass, in whole milliseconds.
func (p *Player) Advance(d time.Duration) {
	d = min(max(0, d), machine.MaxTime).Truncate(time.Millisecond)
	p.rehearsal.Play(machine.Act{Kind: machine.ActWait, For: d}) // nothing in a wait can be wrong
	p.note(machine.Act{Kind: machine.ActWait, For: d})
}

// Step lets time pass until the next thing happens by itself: a routine's
// end, a timer, a release that counts. It is false, and no time passes, where
// nothing ever will.
func (p *Player) Step() bool {
	next, ok := p.rehearsal.Machine.Next()
	if due, down := p.rehearsal.Keypad.ReleaseDue(); down && (!ok || due < next) {
		next, ok = due, true
	}
	if ok {
		now := p.rehearsal.Machine.Now()
		p.Advance(time.Duration(max(next, now+1)-now) * time.Millisecond)
	}
	return ok
}

// Expect notes for the script that the prop is to be in its present state.
func (p *Player) Expect() { p.script = append(p.script, Line{Expect: p.State()}) }

// Now is the time since power-up.
func (p *Player) Now() time.Duration {
	return time.Duration(p.rehearsal.Machine.Now()) * time.Millisecond
}

// State is the name of the current state.
func (p *Player) State() string { return p.name(p.rehearsal.Machine.State()) }

// Back is the name of the state that back leads to.
func (p *Player) Back() string { return p.name(p.rehearsal.Machine.Back()) }

func (p *Player) name(s machine.StateID) string { return p.rehearsal.Machine.Program().Name(s) }

// Deferred is where the routine's end will lead in place of done, "" where
// nothing is deferred.
func (p *Player) Deferred() string {
	if m := p.rehearsal.Machine.Deferred(); m != nil {
		return p.rehearsal.Machine.Program().To(m)
	}
	return ""
}

// Since is how long the current state has lasted.
func (p *Player) Since() time.Duration {
	return p.Now() - time.Duration(p.rehearsal.Machine.Entered())*time.Millisecond
}

// Deadlines are the timers of the current state that run, with the time that
// each has left.
func (p *Player) Deadlines() []Deadline {
	var ds []Deadline
	for _, m := range p.rehearsal.Machine.Deadlines() {
		on := p.design.Transitions[m.Timer.Transition].On[m.Timer.Trigger]
		ds = append(ds, Deadline{on, time.Duration(m.At)*time.Millisecond - p.Now()})
	}
	return ds
}

// A Deadline is a timer that runs.
type Deadline struct {
	Trigger model.Trigger
	Left    time.Duration
}

// Down is the button that the prop takes to be pressed, until its release.
func (p *Player) Down() (button string, ok bool) {
	b, ok := p.rehearsal.Keypad.Down()
	if !ok {
		return "", false
	}
	return p.design.Remote.Buttons[b].Name, true
}

// Dropped counts the events that found the machine's queue full.
func (p *Player) Dropped() int { return p.rehearsal.Machine.Dropped() }

// Design is the design that is rehearsed.
func (p *Player) Design() *model.Design { return p.design }

// Log is everything that the prop took notice of, from power-up on. It must
// not be changed.
func (p *Player) Log() []Event { return p.log }

// Script is what was done so far; waits that follow each other are one line.
func (p *Player) Script() *Script {
	return &Script{Lines: append([]Line(nil), p.script...)}
}
