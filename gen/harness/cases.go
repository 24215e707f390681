package harness

import (
	"fmt"
	"path/filepath"
	"slices"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

// A caseView is a sequence of events with times, and the states that the firmware
// must enter.
type caseView struct {
	Name, Source string // a Go test's name, and what it plays
	Seed         uint32
	Posts        []postView
	Stops        []stopView
	Ends         []endView
	Until        uint32 // milliseconds since power-up
}

type postView struct {
	At    uint32
	Event machine.EventID
	Text  string
}

// A stopView is the entry of a state. It has the deadlines of the state's timers, in
// milliseconds since the entry, if they are chosen and not drawn.
type stopView struct {
	At        uint32
	State     machine.StateID
	Deadlines []uint32
	Next      string // "" in a design without choices; else what is drawn for the next one, "0" for what comes
}

// An endView is the state that must be current after the step of a time.
type endView struct {
	At    uint32
	State machine.StateID
	Text  string // who asks for it
}

// A recording makes a case of what a machine and its remote do.
type recording struct {
	*machine.Rehearsal
	program *machine.Program
	chosen  bool            // draws are written down too
	last    machine.StateID // that an any_of led to
	view    caseView
}

func record(m *machine.Machine, chosen bool) *recording {
	r := &recording{program: m.Program(), chosen: chosen, last: machine.NoState, Rehearsal: machine.Rehearse(m, machine.RepeatPeriodNEC)}
	if chosen {
		r.Rehearsal = machine.Rehearse(m, check.RepeatPeriod(r.program.Design))
	}
	m.Observe = r.observe
	r.enter(0, r.program.Start)
	return r
}

func (r *recording) observe(c machine.Change) {
	if c.Cause == machine.CauseEvent {
		r.view.Posts = append(r.view.Posts, postView{c.At, c.Event, r.program.Events[c.Event].String()})
	}
	if c.Outcome == machine.Entered {
		r.choose(&c)
		r.enter(c.At, c.To)
	}
}

// choose records, with the state before, what was drawn for a state that is entered
// by choice.
func (r *recording) choose(c *machine.Change) {
	choice, _ := r.program.Choice(c.Move.Target)
	if choice == nil || choice.InTurn {
		return
	}
	states := choice.Candidates(r.last)
	r.last = c.To
	if n := slices.Index(states, c.To); r.chosen && n > 0 {
		r.view.Stops[len(r.view.Stops)-1].Next = fmt.Sprint(n)
	} else if r.chosen {
		r.view.Stops[len(r.view.Stops)-1].Next = fmt.Sprint(len(states)) // as good as 0, which never comes
	}
}

func (r *recording) enter(at uint32, s machine.StateID) {
	stop := stopView{At: at, State: s}
	if len(r.program.Choices) > 0 {
		stop.Next = "0"
	}
	if r.chosen {
		for _, d := range r.Machine.Deadlines() {
			stop.Deadlines = append(stop.Deadlines, d.At-r.Machine.Entered())
		}
	}
	r.view.Stops = append(r.view.Stops, stop)
}

func (r *recording) expect(s machine.StateID, text string) {
	r.view.Ends = append(r.view.Ends, endView{r.Machine.Now(), s, text})
}

// choosable reports whether the firmware's timers, and the next choice, can be set as
// they were chosen: not those of a state that is left in the step that enters it.
func (v *caseView) choosable(p *machine.Program) bool {
	for i := 1; i < len(v.Stops); i++ {
		if v.Stops[i].At != v.Stops[i-1].At {
			continue
		}
		if next := v.Stops[i-1].Next; next != "" && next != "0" {
			return false
		}
		for _, t := range p.Timers(v.Stops[i-1].State) {
			if t.Lo < t.Hi {
				return false
			}
		}
	}
	return true
}

// rehearsals makes a case of each script. The error is model.Faults where a
// script does not fit the design.
func rehearsals(p *machine.Program, scripts []*rehearsal.Script) ([]caseView, error) {
	d := p.Design
	seed := max(d.Prop.Seed, 1)
	var cases []caseView
	for _, s := range scripts {
		if err := s.Fit(d); err != nil {
			return nil, err
		}
		r := record(machine.New(p, seed), false)
		for _, l := range s.Lines {
			if l.Expect == "" {
				if err := r.Play(l.Act); err != nil {
					return nil, model.Faults{{Pos: l.Pos, Wrong: err.Error()}}
				}
				continue
			}
			want, _ := p.State(l.Expect)
			r.expect(want, fmt.Sprintf("%s, line %d", filepath.Base(s.File), l.Pos.Line))
		}
		r.view.Name, r.view.Source = s.Title(d.File), filepath.Base(s.File)
		r.view.Seed, r.view.Until = seed, r.Machine.Now()
		cases = append(cases, r.view)
	}
	return cases, nil
}

// required makes a case of each requirement that can be played.
func required(s *check.Study) ([]caseView, error) {
	played, err := s.Cases()
	if err != nil {
		return nil, err
	}
	p := s.Program
	var cases []caseView
	for _, c := range played {
		r := record(c.Machine(p), true)
		if err := r.Play(c.Acts...); err != nil {
			return nil, err
		}
		if p.Name(r.Machine.State()) == c.State {
			r.expect(r.Machine.State(), "the requirement")
		}
		r.view.Name, r.view.Source = c.Requirement.String(), "what is required: "+c.Requirement.String()
		r.view.Seed, r.view.Until = 1, r.Machine.Now()
		if r.view.choosable(p) {
			cases = append(cases, r.view)
		}
	}
	return cases, nil
}
