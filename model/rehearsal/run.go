package rehearsal

import (
	"fmt"

	"propwright/model"
	"propwright/model/machine"
)

// A Stop is one state that a prop went through, or what outputs were asked for in it.
type Stop struct {
	AtMS  uint32 `json:"at_ms"` // when it was entered, or asked for, since power-up
	State string `json:"state"`
	Cause string `json:"cause"`          // see Event
	Does  string `json:"does,omitempty"` // what was asked for; "": the state was entered
}

// A Miss is an expectation that was not met.
type Miss struct {
	Pos       model.Pos
	AtMS      uint32
	Want, Got string
}

func (m Miss) Error() string {
	return fmt.Sprintf("%s: after %d ms the prop is in %s, not in %s", m.Pos, m.AtMS, m.Got, m.Want)
}

// Run plays a script on a prop that has just been powered up. It gives the
// prop at the script's end and every expectation that was not met; those do not
// end the rehearsal. The error is model.Faults
// of the script, where the design lacks what it names.
func Run(prog *machine.Program, s *Script) (*Player, []Miss, error) {
	if err := s.Fit(prog.Design); err != nil {
		return nil, nil, err
	}
	p := New(prog)
	var misses []Miss
	for _, l := range s.Lines {
		if l.Expect == "" {
			if err := p.Do(l.Act); err != nil {
				return nil, nil, model.Faults{{Pos: l.Pos, Wrong: err.Error()}}
			}
		} else if got := p.State(); got != l.Expect {
			misses = append(misses, Miss{l.Pos, uint32(p.Now().Milliseconds()), l.Expect, got})
		}
	}
	return p, misses, nil
}

// Stops are the states that the prop has gone through, the start state first, and
// what outputs were asked for meanwhile.
func (p *Player) Stops() []Stop {
	var stops []Stop
	for _, e := range p.log {
		s := Stop{AtMS: uint32(e.At.Milliseconds()), State: e.State, Cause: e.Cause}
		switch e.Outcome {
		case machine.Entered:
		case machine.Acted:
			s.Does = p.design.Does(&p.design.Transitions[e.Transition])
		default:
			continue
		}
		stops = append(stops, s)
	}
	return stops
}
