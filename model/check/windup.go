package check

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
)

// tolerance is the number of turns, or turns a second, that counts as none: less than
// half a degree.
const tolerance = 1e-3

// A rotation is the turning of a spinner in a state, from where it is on entry.
type rotation struct {
	back     peak    // not above 0
	fore     peak    // not below 0
	net      float64 // turns at the routine's end, or per round of a loop
	speed    float64 // revolutions per second that remain at the end
	loops    bool
	segments []segment // in time
}

// A segment is a time in which the speed changes linearly.
type segment struct {
	at    time.Duration // its start
	turns float64       // at its start
	speed float64       // at its start
	slope float64       // revolutions per second squared
}

// turnsAt returns how far the spinner has turned at a time since the state's entry.
func (t *rotation) turnsAt(at time.Duration) float64 {
	k := len(t.segments) - 1
	for k > 0 && t.segments[k].at > at {
		k--
	}
	if k < 0 {
		return 0
	}
	b, s := &t.segments[k], (at - t.segments[k].at).Seconds()
	return b.turns + b.speed*s + b.slope/2*s*s
}

// leastIn returns the turn nearest to 0 that the spinner can have if the state is left
// between two times.
func (t *rotation) leastIn(lo, hi time.Duration) float64 {
	least, most := math.Inf(1), math.Inf(-1)
	see := func(turns float64) { least, most = min(least, turns), max(most, turns) }
	see(t.turnsAt(lo))
	see(t.turnsAt(hi))
	for _, b := range t.segments {
		round := b.at // where the speed of this segment is 0
		if b.slope != 0 {
			round += time.Duration(-b.speed / b.slope * float64(time.Second))
		}
		for _, at := range []time.Duration{b.at, round} {
			if lo <= at && at <= hi {
				see(t.turnsAt(at))
			}
		}
	}
	switch {
	case least > tolerance:
		return least
	case most < -tolerance:
		return most
	}
	return 0
}

// A peak is the farthest turn, and its time since the state's entry.
type peak struct {
	turns float64
	when  time.Duration
}

// from returns the farthest turn of a joint that has turned so far when the state is
// entered.
func (t *rotation) from(turns float64) peak {
	back, fore := t.back, t.fore
	back.turns += turns
	fore.turns += turns
	if math.Abs(back.turns) > math.Abs(fore.turns) {
		return back
	}
	return fore
}

// rotationOf follows a spinner through a state in which it does not drift. The speed is
// piecewise linear, so turns are areas of trapezoids.
func rotationOf(d *model.Design, s *model.State, o *model.Output) rotation {
	var t rotation
	rounds, length := 1, time.Duration(0)
	over := s.Over
	for i := range s.Pose {
		if p := &s.Pose[i]; p.Output == o.Name && (p.Over > 0 || p.States("over")) {
			over = p.Over
		}
	}
	times := []time.Duration{0, motion.Frames(over)}
	if r := d.Routine(s.Plays); r != nil {
		length = d.RoutineLength(r).Round(time.Millisecond)
		if t.loops = r.Loop && length > 0; t.loops {
			rounds = 3 // the first may begin at another speed than the rest
		}
		for n := range rounds {
			begin := time.Duration(n) * length
			for _, c := range motion.Sheet(d, r) {
				if c.Output == o.Name {
					times = append(times, begin+c.At, begin+c.At+motion.Frames(c.Action.Over))
				}
			}
			times = append(times, begin+length)
		}
	}
	slices.Sort(times)
	if t.loops { // what follows the last round does not count
		times = slices.DeleteFunc(times, func(t time.Duration) bool { return t > time.Duration(rounds)*length })
	}

	stage := motion.New(d, nil)
	if err := stage.Enter(s.Name, 0); err != nil {
		return rotation{} // the design has the state
	}
	turns, before := 0.0, 0.0 // before: at the start of the last round
	reach := func(at time.Duration, turns float64) {
		if turns < t.back.turns {
			t.back = peak{turns, at}
		}
		if turns > t.fore.turns {
			t.fore = peak{turns, at}
		}
	}
	for i, from := range times[:len(times)-1] {
		if t.loops && from == time.Duration(rounds-1)*length && (i == 0 || times[i-1] < from) {
			before = turns
		}
		to := times[i+1]
		if from == to {
			continue
		}
		v, w := stage.Value(o.Name, from).Lo, stage.Value(o.Name, to-1).Lo
		if v*w < 0 { // the direction changes
			share := v / (v - w)
			reach(from+time.Duration(share*float64(to-from)), turns+v/2*share*(to-from).Seconds())
		}
		t.segments = append(t.segments, segment{from, turns, v, (w - v) / (to - from).Seconds()})
		turns += (v + w) / 2 * (to - from).Seconds()
		reach(to, turns)
	}
	t.segments = append(t.segments, segment{at: times[len(times)-1], turns: turns})
	t.net = turns - before
	t.speed = stage.Value(o.Name, times[len(times)-1]).Lo
	return t
}

func windUp(p *Pass) {
	for i := range p.Design.Outputs {
		if o := &p.Design.Outputs[i]; o.Kind == model.KindSpinner && o.WiresPass {
			p.windUp(o)
		}
	}
}

// windUp reports states that turn a joint too far or without end. If there are none,
// it looks at sequences of states.
func (p *Pass) windUp(o *model.Output) {
	d := p.Design
	all := make([]rotation, len(d.States))
	fine := true
	for i := range d.States {
		s := &d.States[i]
		f := Finding{State: s.Name}
		k := slices.IndexFunc(s.Drift, func(dr model.Drift) bool { return dr.Output == o.Name })
		if k < 0 {
			all[i] = rotationOf(d, s, o)
		}
		t := &all[i]
		far := t.from(0)
		switch {
		case k >= 0 && s.Drift[k].Between != [2]float64{}:
			f.Pos = s.Drift[k].At("between")
			f.Message = fmt.Sprintf("the drift of state %q turns %q nobody knows how far, and wires pass through it", s.Name, o.Name)
			f.Advice = "turn it in a routine that turns it back again"
		case !t.loops && math.Abs(t.speed) > tolerance:
			f.Pos = p.turns(s, o)
			f.Message = fmt.Sprintf("state %q leaves %q turning at %v, and wires pass through it", s.Name, o.Name, model.RevPerS(t.speed))
			f.Advice = "let a routine stop it and turn it back as far"
		case t.loops && math.Abs(t.net) > tolerance:
			f.Pos = p.turns(s, o)
			f.Message = fmt.Sprintf("the routine %q repeats and turns %q by %s each time, and wires pass through it", s.Plays, o.Name, turnsOf(t.net))
			f.Advice = "turn it back as far in every round"
		case o.MaxTurns > 0 && math.Abs(far.turns) > o.MaxTurns+tolerance:
			f.Pos = p.turns(s, o)
			f.Message = fmt.Sprintf("state %q turns %q by %s within %s, and its wires stand %s", s.Name, o.Name, turnsOf(far.turns), model.SayDuration(far.when.Round(time.Millisecond)), turnsOf(o.MaxTurns))
			f.Advice = "turn it less far, more slowly or for a shorter time"
		default:
			continue
		}
		fine = false
		p.reportIn(f)
	}
	if fine {
		p.windUpByRepeating(o, all)
	}
}

// turns returns the position of what turns a spinner in a state.
func (p *Pass) turns(s *model.State, o *model.Output) model.Pos {
	if r := p.Design.Routine(s.Plays); r != nil {
		for i := range r.Cues {
			if c := &r.Cues[i]; c.Output == o.Name && c.Speed != 0 {
				return c.Source.At("speed")
			}
		}
	}
	for i := range s.Pose {
		if s.Pose[i].Output == o.Name {
			return s.Pose[i].Pos
		}
	}
	return s.Pos
}

// turnsOf formats a number of turns.
func turnsOf(turns float64) string {
	n := math.Round(math.Abs(turns)*1000) / 1000
	if n == 1 {
		return "1 turn"
	}
	return fmt.Sprintf("%v turns", n)
}

// windUpByRepeating follows a joint through all configurations. Each state turns it
// as far as it does when played to its end, or to an earlier timer of the state. If
// the prop can be in one configuration with the joint at two angles, it can go around
// from one to the other repeatedly, since a prop can always come back.
func (p *Pass) windUpByRepeating(o *model.Output, all []rotation) {
	x := p.explored
	net := func(state machine.StateID) float64 {
		if math.Abs(all[state].net) <= tolerance {
			return 0 // true of every loop, or windUp has reported it
		}
		return all[state].net
	}
	// turnsAt returns how far a state has turned the joint when a timer ends it in
	// configuration i.
	turnsAt := func(i, timer int) float64 {
		t := &all[x.State(i)]
		if t.loops {
			return 0
		}
		least, most := x.GoesOff(i, timer)
		return t.leastIn(ms(least), ms(most))
	}
	again := func(state machine.StateID, turns float64, ended string) {
		s := &p.Design.States[state]
		f := Finding{
			Pos: p.turns(s, o), State: s.Name,
			Message: fmt.Sprintf("state %q turns %q by %s, and the prop can come to it again without turning back: wires pass through it", s.Name, o.Name, turnsOf(turns)),
			Advice:  "turn it back as far in the same routine",
		}
		if ended != "" {
			f.Message = fmt.Sprintf("state %q has turned %q by %s when %q ends it, and the prop can come to it again without turning back: wires pass through it", s.Name, o.Name, turnsOf(turns), ended)
			f.Advice = "turn it back before, or let it come after that"
		}
		p.reportIn(f)
	}
	for i := range p.Design.States {
		s := machine.StateID(i)
		if _, reached := x.First(s); reached && net(s) != 0 && p.returns(s) {
			again(s, net(s), "")
			return
		}
	}
	at := make([]float64, x.Size().Configurations) // turns on entry
	seen := make([]bool, len(at))
	seen[0] = true
	order := []int{0}
	for k := 0; k < len(order); k++ {
		i := order[k]
		state := x.State(i)
		for to, timer := range x.Next(i) {
			there := at[i]
			switch {
			case p.ends(state, timer):
				there += turnsAt(i, timer)
			case x.State(to) != state:
				there += net(state)
			}
			switch {
			case !seen[to]:
				seen[to], at[to] = true, there
				order = append(order, to)
			case math.Abs(at[to]-there) > tolerance:
				again(p.firstWinding(order, net, turnsAt))
				return
			}
		}
	}
	if o.MaxTurns == 0 {
		return
	}
	far := func(i int) float64 { return math.Abs(all[x.State(i)].from(at[i]).turns) }
	farthest := slices.MaxFunc(order, func(i, j int) int { return cmp.Compare(far(i), far(j)) })
	if t := far(farthest); t > o.MaxTurns+tolerance {
		state := x.State(farthest)
		s := &p.Design.States[state]
		f := Finding{
			Pos: p.turns(s, o), State: s.Name,
			Message: fmt.Sprintf("with what was before, state %q turns %q by %s from where it was at power-up, and its wires stand %s", s.Name, o.Name, turnsOf(t), turnsOf(o.MaxTurns)),
			Advice:  "turn it back sooner, or less far",
		}
		f.reach(x.To(farthest))
		p.Report(f)
	}
}

// firstWinding returns the first state, in the order of configurations, that leaves a
// joint at another angle, how far, and the timer that ends the state, if any.
func (p *Pass) firstWinding(order []int, net func(machine.StateID) float64, turnsAt func(i, timer int) float64) (machine.StateID, float64, string) {
	x := p.explored
	for _, i := range order {
		state := x.State(i)
		if turns := net(state); turns != 0 {
			return state, turns, ""
		}
		for _, timer := range x.Next(i) {
			if !p.ends(state, timer) {
				continue
			}
			if turns := turnsAt(i, timer); turns != 0 {
				t := &p.Program.Timers(state)[timer]
				return state, turns, p.Design.Transitions[t.Transition].On[t.Trigger].String()
			}
		}
	}
	return 0, 0, "" // not reached: some state turns the joint
}

// ends reports whether timer is the index of a timer that ends its state.
func (p *Pass) ends(s machine.StateID, timer int) bool {
	if timer < 0 {
		return false
	}
	t := &p.Program.Timers(s)[timer]
	return !t.Defer && !t.Do
}

// returns reports whether a transition can lead from a state to itself.
func (p *Pass) returns(s machine.StateID) bool {
	back := func(m *machine.Move) bool { return m != nil && !m.Stays() && slices.Contains(p.Program.Targets(m), s) }
	for e := range p.Program.Events {
		if back(p.Program.Move(s, machine.EventID(e))) {
			return true
		}
	}
	return back(p.Program.Done(s)) && p.Program.Length[s] >= 0 ||
		slices.ContainsFunc(p.Program.Timers(s), func(t machine.Timer) bool { return back(&t.Move) })
}
