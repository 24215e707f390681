package check

import (
	"propwright/model"
	"propwright/model/machine"
	"propwright/model/timed"
)

// A Case shows that a requirement holds where it is hardest: what is played
// ends in State.
type Case struct {
	Requirement model.Requirement
	Acts        []machine.Act
	Draws       []uint32 // as of a Finding
	State       string
}

// Machine is one that draws what the case asks for.
func (c *Case) Machine(p *machine.Program) *machine.Machine {
	return (&Finding{Draws: c.Draws}).machine(p)
}

// Cases gives a case for each requirement of the design that can be played: of
// `reachable` the shortest way; of `from … ends in` the presses in the
// configuration that comes first; of `… within` the slowest outcome of the event,
// up to the state required; of `never … within` the quickest one, up to the
// state that must not come so soon. There is none where a requirement is
// broken, where its event or its state cannot come about, or where the prop
// is at once where it must be. The error is as that of Check.
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

// hardest is a run that shows a requirement where it is hardest to keep; the zero
// Run where there is none.
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

// hardestInTime is a run on which the goal comes as early or as late as it can.
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
