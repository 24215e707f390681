package check

import (
	"fmt"

	"propwright/model"
	"propwright/model/ir"
	"propwright/model/machine"
	"propwright/model/motion"
	"propwright/model/timed"
)

// RepeatPeriod returns the time between frames of a button kept down, in
// milliseconds, as given by the first button whose code tells it.
func RepeatPeriod(d *model.Design) uint32 {
	for i := range d.Remote.Buttons {
		if c, err := ir.ParseCode(d.Remote.Buttons[i].Code); err == nil && c.RepeatPeriod() > 0 {
			return max(1, machine.Millis(c.RepeatPeriod()))
		}
	}
	return machine.RepeatPeriodNEC
}

// machine returns a machine that draws the finding's numbers.
func (f *Finding) machine(p *machine.Program) *machine.Machine {
	draws := f.Draws
	return machine.NewDrawing(p, func(_, hi uint32) uint32 {
		if len(draws) == 0 {
			return hi
		}
		n := draws[0]
		draws = draws[1:]
		return n
	})
}

// Replay plays a finding's witness in a machine and checks its claim. The
// error says what happens instead; it is nil for a finding without a witness.
func (f *Finding) Replay(p *machine.Program) error {
	return f.replay(p, restTimes(p))
}

func (f *Finding) replay(p *machine.Program, rest []int64) error {
	if f.Claim == (Claim{}) {
		return nil
	}
	if f.Claim.Breaks != "" {
		return f.replayBreach(p, rest)
	}
	want, ok := p.State(f.Claim.State)
	if !ok {
		return fmt.Errorf("there is no state %q", f.Claim.State)
	}
	if f.Claim.Lap > len(f.Witness) {
		return fmt.Errorf("a lap of %d acts, and only %d acts in all", f.Claim.Lap, len(f.Witness))
	}
	m := f.machine(p)
	passed := map[uint32]bool{} // by time: whether the wanted state was entered then
	watch, stage := newRestWatch(p, rest), motion.New(p.Design, nil)
	if err := stage.Enter(p.Name(p.Start), 0); err != nil {
		return err
	}
	m.Observe = func(c machine.Change) {
		watch.observe(c)
		if c.Cause == machine.CauseEvent && p.Events[c.Event].Kind == model.Press {
			watch.begin(int64(c.At)) // rest counts from the last press
		}
		if c.Outcome == machine.Entered {
			passed[c.At] = passed[c.At] || c.To == want
			if err := stage.Enter(p.Name(c.To), ms(int64(c.At))); err != nil {
				panic(err) // the machine enters its own states, in order
			}
		}
	}
	r := machine.Rehearse(m, RepeatPeriod(p.Design))
	there := func() bool { return m.State() == want || passed[m.Now()] }
	circle := true
	for i, a := range f.Witness {
		if i == len(f.Witness)-f.Claim.Lap {
			circle = there()
			if f.Claim.Alone {
				watch.begin(int64(m.Now()))
			}
		}
		if err := r.Play(a); err != nil {
			return err
		}
	}
	rested := watch.rested(int64(m.Now()))
	if f.Claim.Alone && f.Claim.Lap == 0 {
		rested = rest[want] < timed.Never
	}
	switch took := ms(watch.when() - watch.since); {
	case !there():
		return fmt.Errorf("the prop is in %q, not in %q", p.Name(m.State()), f.Claim.State)
	case (f.Claim.Still || f.Claim.Lap > 0) && rested:
		return fmt.Errorf("the prop came to rest")
	case f.Claim.Took > 0 && watch.when() == timed.Never:
		return fmt.Errorf("the prop does not come to rest")
	case f.Claim.Took > 0 && took != f.Claim.Took:
		return fmt.Errorf("the prop comes to rest %v after the press, not %v", took, f.Claim.Took)
	case f.Claim.Sounds != "" && !soundsOn(stage, f.Claim.Sounds, ms(int64(m.Now()))):
		return fmt.Errorf("the track %q does not sound on", f.Claim.Sounds)
	case !circle:
		return fmt.Errorf("the last %d acts do not begin in %q", f.Claim.Lap, f.Claim.State)
	case f.Claim.Still:
		// The end of a routine may still come, which nothing answers, and timers
		// that are deferred for good.
		var err error
		m.Observe = func(c machine.Change) {
			if c.Outcome == machine.Entered && err == nil {
				err = fmt.Errorf("at %d ms the prop goes on by itself to %q", c.At, p.Name(c.To))
			}
		}
		for at, ok := m.Next(); ok && err == nil; at, ok = m.Next() {
			m.AdvanceTo(at)
		}
		return err
	}
	return nil
}
