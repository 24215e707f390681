package check

import (
	"cmp"
	"fmt"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

func slowStop(p *Pass) {
	limit := p.Design.Prop.RestWithin
	stop, ok := p.Program.Button(p.Design.Remote.Stop)
	if !ok || limit <= 0 { // no-stop speaks of that; nothing is asked for
		return
	}
	s := p.explored.stopper(stop)
	worst := s.stops()
	var slow []int
	for i, w := range worst {
		if !w.roams && !w.deaf && ms(w.took) > limit { // no-stop speaks of the first two
			slow = append(slow, i)
		}
	}
	slices.SortStableFunc(slow, func(i, j int) int { return cmp.Compare(worst[j].took, worst[i].took) })
	for _, i := range slow {
		state, w := &p.Design.States[i], &worst[i]
		p.report(report{
			Finding: Finding{
				Pos: state.Pos, State: state.Name,
				Message: fmt.Sprintf("the stop button %q, pressed in state %q, can take %s to bring the prop to rest; rest_within asks for %s",
					p.Design.Remote.Stop, state.Name, model.FormatDuration(ms(w.took)), model.FormatDuration(limit)),
				Advice: fmt.Sprintf("let \"press %s\" lead to a dormant state at once, without defer, and let nothing wake the prop when it is let go; or shorten what comes before; or say a longer rest_within", p.Design.Remote.Stop),
			},
			same: "too slow", // of many the slowest is told
			show: func(f *Finding) {
				hs := s.slowest(w.slowest.via, w.slowest.root)
				if _, ok := f.witness(p.explored, append(p.explored.path(w.slowest.configuration), hs...)); ok {
					f.Claim = Claim{State: p.Program.Name(hs[len(hs)-1].state), Took: ms(w.took)}
				}
			},
		})
	}
}

// neverRests leaves out what an error speaks of: where no dormant state can be
// reached at all, performances without an end, circles that take no time.
func neverRests(p *Pass) {
	x := p.explored
	l := x.lonely()
	lost := x.caught()
	hopeless := func(i int) bool {
		n := &l.quiet.configurations[i]
		for k := range x.all.of(n.location) {
			if lost[k] && x.all.configurations[k].covers(n.zone) {
				return true
			}
		}
		return false
	}
	waits := p.waitingForEnd()
	stays := make([]bool, len(x.modes)) // reported
	for _, i := range l.order {
		s := l.quiet.configurations[i].state
		if stays[s] || len(l.ways(i)) > 0 || hopeless(i) {
			continue
		}
		if _, unfinished := p.unfinished(s, waits[s]); unfinished {
			continue
		}
		stays[s] = true
		state := &p.Design.States[s]
		p.restlessAlone(l, i, nil, nil, Finding{
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
	seen := stateSets{}
	for _, c := range l.circles(false) {
		first := slices.MinFunc(c, func(a, b int) int { return place[a] - place[b] })
		if hopeless(first) || slices.ContainsFunc(c, func(i int) bool { return inNoTime[i] }) {
			continue
		}
		states := statesOf(l.quiet, c)
		if !seen.add(states) {
			continue
		}
		p.restlessAlone(l, first, c, states, Finding{
			Pos: p.Design.States[states[0]].Pos, State: p.Program.Name(l.quiet.configurations[first].state),
			Message: fmt.Sprintf("left alone, the prop can go on and on through %s and never go to rest", p.list(states)),
			Advice:  "let one of them lead to rest after a while, whatever the timers draw",
		})
	}
}

// restlessAlone reports what is to be seen in a configuration in which the prop
// stays, or from which it goes around in a circle, through states.
func (p *Pass) restlessAlone(l *lonely, i int, circle []int, states []machine.StateID, f Finding) {
	p.reportAmong(states, report{Finding: f, show: func(f *Finding) {
		hs := l.way(i)
		before := len(hs)
		round, _ := l.loop(i, func(to int) bool {
			_, in := slices.BinarySearch(circle, to)
			return in
		})
		from := i
		for _, to := range round {
			hs = append(hs, l.via(from, to))
			from = to
		}
		if upTo, ok := f.witness(p.explored, hs); ok {
			f.Claim = Claim{State: f.State, Still: before == len(hs), Alone: true}
			if before < len(hs) {
				f.Claim.Lap = len(f.Witness) - upTo[before]
			}
		}
	}})
}
