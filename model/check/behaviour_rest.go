package check

import (
	"fmt"
	"slices"

	"propwright/model"
)

func slowStop(p *Pass) {
	limit := p.Design.Prop.RestWithin
	stop, ok := p.Program.Button(p.Design.Remote.Stop)
	if !ok || limit <= 0 { // no-stop speaks of that; nothing is asked for
		return
	}
	x := p.explored
	s := x.stopper(stop)
	deaf := s.deaf()
	for i, w := range s.stops() {
		if w.roams || deaf[i] || ms(w.took) <= limit { // no-stop speaks of the first two
			continue
		}
		state := &p.Design.States[i]
		f := Finding{
			Pos: state.Pos, State: state.Name,
			Message: fmt.Sprintf("the stop button %q, pressed in state %q, can take %s to bring the prop to rest; rest_within asks for %s",
				p.Design.Remote.Stop, state.Name, model.FormatDuration(ms(w.took)), model.FormatDuration(limit)),
			Advice: fmt.Sprintf("let \"press %s\" lead to a dormant state at once, without defer; or shorten what comes before it; or say a longer rest_within", p.Design.Remote.Stop),
		}
		hs := s.slowest(w.via, w.root)
		if _, ok := f.witness(x, append(x.path(w.configuration), hs...)); ok {
			f.Claim = Claim{State: p.Program.Name(hs[len(hs)-1].state), Took: ms(w.took)}
		}
		p.Report(f)
	}
}

// neverRests leaves out what an error speaks of: where no dormant state can be
// reached at all, performances without an end, circles that take no time.
func neverRests(p *Pass) {
	x := p.explored
	l := x.lonely()
	lost := notLeadingTo(x.all, func(i int) bool { return x.modes[x.all.configurations[i].state].kind == model.Dormant })
	hopeless := func(i int) bool {
		n := &l.quiet.configurations[i]
		return slices.ContainsFunc(x.all.index[n.location], func(k int) bool { return lost[k] && x.all.configurations[k].covers(n.zone) })
	}
	waits := p.waitingForEnd()
	for _, i := range l.order {
		s := l.quiet.configurations[i].state
		if len(l.ways(i)) > 0 || hopeless(i) {
			continue
		}
		if _, unfinished := p.unfinished(s, waits[s]); unfinished {
			continue
		}
		state := &p.Design.States[s]
		p.restlessAlone(l, i, nil, Finding{
			Pos: state.Pos, State: state.Name,
			Message: fmt.Sprintf("left alone in state %q, the prop never goes to rest", state.Name),
			Advice:  fmt.Sprintf("add a transition from %q on \"after 5m\", or the like, that leads to rest in the end", state.Name),
		})
	}
	inNoTime := map[int]bool{}
	for _, c := range l.circles(true) {
		for _, i := range c {
			inNoTime[i] = true
		}
	}
	place := make([]int, len(l.quiet.configurations))
	for k, i := range l.order {
		place[i] = k
	}
	for _, c := range l.circles(false) {
		first := slices.MinFunc(c, func(a, b int) int { return place[a] - place[b] })
		if hopeless(first) || slices.ContainsFunc(c, func(i int) bool { return inNoTime[i] }) {
			continue
		}
		states := statesOf(l.quiet, c)
		p.restlessAlone(l, first, l.round(first), Finding{
			Pos: p.Design.States[states[0]].Pos, State: p.Program.Name(l.quiet.configurations[first].state),
			Message: fmt.Sprintf("left alone, the prop can go on and on through %s and never go to rest", p.list(states)),
			Advice:  "let one of them lead to rest after a while, whatever the timers draw",
		})
	}
}

// restlessAlone reports what is to be seen in a configuration in which the prop
// stays, or from which it goes around.
func (p *Pass) restlessAlone(l *lonely, i int, round []int, f Finding) {
	if p.reported(f.Message) {
		return
	}
	hs := l.way(i)
	for from := i; len(round) > 0; round = round[1:] {
		hs = append(hs, l.via(from, round[0]))
		from = round[0]
	}
	before := len(l.way(i))
	if upTo, ok := f.witness(p.explored, hs); ok {
		f.Claim = Claim{State: f.State, Still: before == len(hs), Alone: true}
		if before < len(hs) {
			f.Claim.Lap = len(f.Witness) - upTo[before]
		}
	}
	p.Report(f)
}
