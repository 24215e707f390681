package prove

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"time"

	"propwright/gen/bench"
	"propwright/gen/conform"
	"propwright/model"
	"propwright/model/machine"
)

// A plan describes what a person can do to a prop, as a machine from which a suite can be
// made: its states are spots; its inputs are a look at the state, then errands.
//
// It has no input where chance decides between timers, or where a state is left by itself
// before a hand is done.
type plan struct {
	machine conform.Machine
	spots   []spot
	legs    [][]leg // [spot][input]
}

// hand is the longest time, in milliseconds, of a person's shortest errand.
const hand ms = 600

// mostSpots limits the spots of a plan: a suite's length grows with their square.
const mostSpots = 1000

// newPlan makes a plan; looks returns what can be seen of a state.
func newPlan(p *machine.Program, posts posts, looks func(machine.StateID) string) (*plan, error) {
	w := &walk{p: p, posts: posts}
	pl := &plan{}
	all := []spot{w.same(spot{place: place{p.Start, p.Start, nowhere}})}
	number := map[spot]int{all[0]: 0}
	outputs := map[string]int{}
	for at := 0; at < len(all); at++ {
		if len(all) > mostSpots {
			return nil, fmt.Errorf("the design has more than %d states with what they remember; the harness tries them one by one", mostSpots)
		}
		here := all[at]
		legs := append([]leg{{to: here}}, w.legs(here)...)
		inputs := 1 + w.byHand()
		wait, certain := w.surely(here, legs[inputs:])
		legs = append(legs[:inputs:inputs], wait)
		next := make([]int, len(legs))
		can := ""
		for i := range legs {
			if i > 0 && i < inputs && !w.calm(here.state, legs[i].cost+hand) || i == inputs && !certain {
				next[i] = -1
				continue
			}
			can += fmt.Sprint(i, " ")
			to := w.same(legs[i].to)
			n, known := number[to]
			if !known {
				n = len(all)
				number[to] = n
				all = append(all, to)
			}
			next[i] = n
		}
		pl.machine.Next = append(pl.machine.Next, next)
		pl.legs = append(pl.legs, legs)
		// What can be done is told too, so that any two that differ in it are told apart.
		pl.machine.Output = append(pl.machine.Output, make([]int, len(legs)))
		look := can + looks(here.state)
		if _, known := outputs[look]; !known {
			outputs[look] = len(outputs)
		}
		pl.machine.Output[at][0] = outputs[look]
	}
	pl.spots = all
	// An errand shows what the look at where it leads does.
	for s, next := range pl.machine.Next {
		for i, to := range next {
			if i > 0 && to >= 0 {
				pl.machine.Output[s][i] = pl.machine.Output[to][0]
			}
		}
	}
	return pl, nil
}

// same returns one spot for all spots that behave alike: leaving a state that does not
// perform makes it the state to go back to.
func (w *walk) same(at spot) spot {
	if w.p.Kind(at.state) != model.Performing {
		at.back = at.state
	}
	return at
}

// byHand returns how many of a spot's legs are not a wait.
func (w *walk) byHand() int {
	n := len(w.p.Design.Inputs)
	for _, b := range w.p.Design.Remote.Buttons {
		n += 1 + len(w.holds(b.Name))
	}
	for _, pin := range w.posts {
		if pin > 0 {
			n++
		}
	}
	return n
}

// calm reports whether a state is not left by itself for a time.
func (w *walk) calm(s machine.StateID, d ms) bool {
	if l := w.p.Length[s]; l >= 0 && l < int64(d) {
		return false
	}
	for _, t := range w.p.Timers(s) {
		if !t.Do && t.Lo < d {
			return false
		}
	}
	return true
}

// surely returns what comes of a spot that is left alone; false where chance decides. Where
// nothing does that leads anywhere, it is still there when all timers have fired.
func (w *walk) surely(at spot, can []leg) (wait leg, ok bool) {
	type span struct{ lo, hi ms }
	var spans []span // as the legs are in order; of what leads nowhere the last
	last := hand
	if l := w.p.Length[at.state]; l >= 0 {
		spans = append(spans, span{ms(l), ms(l)})
	}
	for _, t := range w.p.Timers(at.state) {
		if t.Do {
			spans = append(spans, span{math.MaxUint32, math.MaxUint32})
			last = max(last, t.Hi)
		} else {
			spans = append(spans, span{t.Lo, t.Hi})
		}
	}
	wait = leg{errand: errand{button: -1, input: -1, hold: last}, cost: last, to: at}
	leads := func(a span) bool { return a.lo < math.MaxUint32 }
	for i, a := range spans {
		first := leads(a)
		for j, b := range spans {
			first = first && (i == j || a.hi < b.lo)
		}
		if first {
			can[i].hold = max(last, a.hi)
			return can[i], true
		}
	}
	return wait, !slices.ContainsFunc(spans, leads)
}

// Conformance gives the firmware sequences of errands, each from power-up, at the pins
// of the receiver and the inputs, and as events of the maker's code where Compile has
// added them. Together they tell the design's behaviour from every other with at most
// extra more states (see gen/conform). The state is read from pw_state or, of a bare
// firmware, from what its outputs show.
//
// If chance or its own length leads a sequence elsewhere, it is judged up to there.
// Progress is called after each sequence.
func (f *Firmware) Conformance(ctx context.Context, extra int, progress func(done, of int)) (*Result, error) {
	p := f.Study.Program
	looks := p.Name
	if f.Bare {
		looks = f.looks
	}
	pl, err := newPlan(p, f.posts, looks)
	if err != nil {
		return &Result{Left: []string{err.Error()}}, nil
	}
	return f.play(ctx, pl, pl.machine.Suite(extra), progress)
}

// looks returns what there is to be seen of a state.
func (f *Firmware) looks(s machine.StateID) string {
	st := f.Study.States[s]
	return fmt.Sprint(st.Plays, st.Pose, st.Drift, st.Over, st.Kind == model.Dormant)
}

// play gives the firmware sequences, as many at once as there are processors.
func (f *Firmware) play(ctx context.Context, pl *plan, suite [][]int, progress func(done, of int)) (*Result, error) {
	type outcome struct {
		*Difference
		left string
		err  error
	}
	outcomes := make(chan outcome)
	next := make(chan []int)
	stop := make(chan struct{})
	var all sync.WaitGroup
	for range min(runtime.NumCPU(), len(suite)) {
		all.Go(func() {
			for sequence := range next {
				var o outcome
				o.Difference, o.left, o.err = f.sequence(pl, sequence)
				outcomes <- o
			}
		})
	}
	go func() {
		defer func() { close(next); all.Wait(); close(outcomes) }()
		for _, sequence := range suite {
			if ctx.Err() != nil {
				return
			}
			select {
			case next <- sequence:
			case <-stop:
				return
			}
		}
	}()
	r := &Result{Left: f.left()}
	inputs, tried := 0, 0
	var failed error
	for o := range outcomes {
		tried++
		progress(tried, len(suite))
		if o.left != "" && !slices.Contains(r.Left, o.left) {
			r.Left = append(r.Left, o.left)
		}
		if (o.err != nil || o.Difference != nil) && failed == nil && r.Against == nil {
			failed, r.Against = o.err, o.Difference
			close(stop)
		}
	}
	for _, sequence := range suite {
		inputs += len(sequence)
	}
	r.Shown = fmt.Sprintf("%d of %d sequences, of %d acts in all, through %d states with what they remember", tried, len(suite), inputs, len(pl.spots))
	slices.Sort(r.Left)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return r, failed
}

// sequence gives the firmware one sequence; left says where it did not lead as planned.
func (f *Firmware) sequence(pl *plan, inputs []int) (d *Difference, left string, err error) {
	err = bench.Try(func(t bench.TB) {
		x := f.begin(t, f.Bare)
		w := &walk{p: x.program, posts: x.posts}
		at := 0
		for _, input := range inputs {
			if input > 0 {
				x.run(pl.legs[at][input].errand)
			}
			x.settle()
			if x.watch != nil {
				x.to(x.now() + ms(2*settled/time.Millisecond))
			}
			if d = x.differs(); d != nil {
				return
			}
			from, what := pl.spots[at], x.tell(pl.legs[at][input].errand)
			at = pl.machine.Next[at][input]
			if w.same(spot{x.place(), x.inputs()}) != pl.spots[at] {
				left = fmt.Sprintf("%s: more after %s, which took too long or which chance decided", w.p.Name(from.state), what)
				return
			}
		}
	})
	return d, left, err
}

// tell describes an errand.
func (s *stand) tell(e errand) string {
	switch {
	case e.button >= 0 && e.hold > 0:
		return machine.Act{Kind: machine.ActHold, Name: s.design.Remote.Buttons[e.button].Name, For: time.Duration(e.hold) * time.Millisecond}.String()
	case e.button >= 0:
		return machine.Act{Kind: machine.ActPress, Name: s.design.Remote.Buttons[e.button].Name}.String()
	case e.input >= len(s.design.Inputs):
		return machine.Act{Kind: machine.ActEvent, Name: s.design.Events[e.input-len(s.design.Inputs)].Name}.String()
	case e.input >= 0:
		return "a change of " + s.design.Inputs[e.input].Name
	}
	return "a wait"
}
