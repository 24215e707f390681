package prove

import (
	"context"
	"fmt"
	"time"

	"propwright/gen/bench"
	"propwright/gen/tour"
	"propwright/model"
	"propwright/model/machine"
)

// Tour takes the firmware on the bench walk of its design (gen/tour), and looks at every
// output on the way: each pulse's width, a strip's colours five times a second, each edge
// of a level, each byte of a message. Progress is called before each step.
func (f *Firmware) Tour(ctx context.Context, progress func(steps, of int)) (r *Result, err error) {
	walk := tour.Find(f.Study)
	r = &Result{Left: append(walk.Left, f.left()...)}
	err = bench.Try(func(t bench.TB) {
		x := f.begin(t, true)
		var seen sights
		var lasted ms
		finish := func() {
			if r.Against == nil {
				x.to(x.now() + ms(2*settled/time.Millisecond))
				r.Against = x.differs()
			}
			seen.add(x.watch.seen)
			lasted += x.now()
		}
		done, why := 0, ""
		for ; done < len(walk.Steps) && why == "" && r.Against == nil && ctx.Err() == nil; done++ {
			progress(done, len(walk.Steps))
			if walk.Steps[done].Kind == tour.Restarts {
				if finish(); r.Against == nil {
					x = f.begin(t, true)
				}
				continue
			}
			why = x.step(walk.Steps[:done+1])
			r.Against = x.differs()
		}
		finish()
		if r.Against == nil && why != "" {
			r.Left = append(r.Left, fmt.Sprintf("the steps from %d on: %s", done, why))
		}
		r.Shown = fmt.Sprintf("%d of %d steps, %s; %d pulses, %d refreshes, %d levels and %d messages looked at",
			done, len(walk.Steps), model.SayDuration(time.Duration(lasted/1000)*time.Second), seen.Pulses, seen.Refreshes, seen.Levels, seen.Messages)
	})
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return r, err
}

// mostTries is how often a step is done at most until chance leads where the walk goes on.
const mostTries = 100

// step does the last of a walk's steps; why says why it did not lead where the walk goes on.
func (x *attempt) step(steps []tour.Step) (why string) {
	s, before := &steps[len(steps)-1], steps[:len(steps)-1]
	for range mostTries {
		if why := x.acts(s); why != "" {
			return why
		}
		if x.machine.State() == s.To {
			return ""
		}
		for tries := 0; len(s.Among) > 1 && x.machine.State() != s.From && tries < mostTries; tries++ {
			x.comeBack(before)
		}
		if len(s.Among) < 2 || x.machine.State() != s.From {
			break
		}
	}
	return fmt.Sprintf("chance, or an act that took long, has led to %s, not to %s", x.name(x.machine.State()), x.name(s.To))
}

// comeBack stops the prop and takes the way again that the steps of a walk last took from
// where that leads. Chance may lead elsewhere.
func (x *attempt) comeBack(steps []tour.Step) {
	stop, _ := x.program.Button(x.design.Remote.Stop)
	x.run(errand{button: stop, input: -1})
	x.settle()
	rest := x.machine.State()
	k := len(steps)
	for k > 0 && steps[k-1].To != rest {
		k--
	}
	for i := range steps[k:] {
		s := &steps[k+i]
		if s.Kind == tour.Restarts || x.machine.State() != s.From || x.acts(s) != "" {
			return
		}
	}
}

// acts does a step's acts; why says why it cannot.
func (x *attempt) acts(s *tour.Step) (why string) {
	for _, a := range s.Acts {
		if why := x.act(s, a); why != "" {
			return why
		}
	}
	x.settle()
	return ""
}

// act does an act of a step; why says why it cannot.
func (x *attempt) act(s *tour.Step, a machine.Act) (why string) {
	switch a.Kind {
	case machine.ActPress, machine.ActHold:
		b, _ := x.program.Button(a.Name)
		x.run(errand{button: b, input: -1, hold: machine.Millis(a.For)})
	case machine.ActRise, machine.ActFall:
		for i := range x.design.Inputs {
			if x.design.Inputs[i].Name == a.Name && x.active[i] == (a.Kind == machine.ActFall) {
				x.toggle(i)
			}
		}
	case machine.ActWait:
		// Somebody who waits goes on when it happens.
		end, seen := x.now()+machine.Millis(a.For), len(x.handled)
		happened := func() bool {
			return s.Kind != tour.Does && len(x.handled) > seen && (s.Kind != tour.Enters || x.handled[len(x.handled)-1].Outcome == machine.Entered)
		}
		for x.now() < end && !happened() {
			next, ok := x.machine.Next()
			if !ok {
				next = end
			}
			x.to(min(next, end) + margin)
		}
	case machine.ActEvent:
		for i, pin := range x.posts {
			if pin > 0 && x.design.Events[i].Name == a.Name {
				x.postEvent(i)
				return ""
			}
		}
		return "only the maker's own code can do: " + a.String()
	default:
		return "nobody can do here: " + a.String()
	}
	return ""
}
