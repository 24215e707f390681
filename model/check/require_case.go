package check

import (
	"propwright/model"
	"propwright/model/machine"
	"propwright/model/timed"
)

// A Case shows that a requirement holds where that is hardest: playing it ends
// in State.
type Case struct {
	Requirement model.Requirement
	Acts        []machine.Act
	Draws       []uint32 // see Finding
	State       string
}

// Machine returns a machine that draws the case's numbers.
func (c *Case) Machine(p *machine.Program) *machine.Machine {
	return (&Finding{Draws: c.Draws}).machine(p)
}

// Cases returns a case for each requirement that can be played. For `reachable` it is
// the shortest run; for `from … ends in` the presses in the first configuration;
// for `… within` the slowest outcome, up to the required state; for `never … within`
// the fastest, up to the state that must not come so soon. There is none if the
// requirement is broken, if its event or state cannot occur, or if the prop is at
// once in the required state. The error is that of Check.
func (s *Study) Cases() ([]Case, error) {
	if len(s.Requires) == 0 {
		return nil, nil
	}
	x, err := explored.Of(s)
	if err != nil {
		return nil, err
	}
	isBroken := map[model.Pos]bool{}
	for _, f := range s.look(requireRules[0], x) {
		isBroken[f.Pos] = true
	}
	var cases []Case
	for i := range s.Requires {
		at := &s.Requires[i]
		q, err := model.ParseRequirement(at.That)
		if err != nil || isBroken[at.At("that")] {
			continue
		}
		r := &required{Pass: &Pass{Study: s, explored: x}, Requirement: q}
		run := r.hardest()
		if w, ok := run.Witness(); ok {
			cases = append(cases, Case{Requirement: q, Acts: w.Acts, Draws: w.Draws, State: s.Program.Name(run.State())})
		}
	}
	if err := tooLarge(s.Program, x, nil); err != nil {
		return nil, err
	}
	return cases, nil
}

// hardest returns a run on which the requirement is hardest to keep, or the zero Run.
func (r *required) hardest() (run timed.Run) {
	x := r.explored
	switch r.Form {
	case model.Reachable:
		s, _ := r.Program.State(r.State)
		if i, ok := x.First(s); ok {
			run = x.To(i)
		}
	case model.EndsIn:
		if ends := r.presses(); len(ends) > 0 {
			run = ends[0]
		}
	default:
		return r.hardestInTime()
	}
	return run
}

// hardestInTime returns a run on which the goal comes as early or as late as possible.
func (r *required) hardestInTime() (run timed.Run) {
	var hardest *timed.Response
	_, responses := r.delays()
	for found := range responses {
		switch {
		case found.AtOnce, found.Time == timed.Never:
		case hardest == nil,
			r.Form == model.Never && found.Time < hardest.Time,
			r.Form == model.Within && found.Time > hardest.Time:
			hardest = &found
		}
	}
	if hardest != nil {
		run = hardest.Run(0)
	}
	return run
}
