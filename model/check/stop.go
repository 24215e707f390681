package check

import (
	"propwright/model"
	"propwright/model/machine"
)

// A stopper finds out what comes of pressing the stop button and then doing
// nothing.
type stopper struct {
	x       *exploration
	stop    machine.EventID
	quiet   *graph
	verdict map[int]verdict // of configurations in quiet
	rounds  map[int][]int
	late    map[int]lateness
}

// A lateness is what latest gives.
type lateness struct {
	at  int64
	way int
}

type verdict uint8

const (
	looking verdict = iota + 1 // on the way that is being looked at
	rests
	roams
)

func newStopper(x *exploration, stop int) *stopper {
	quiet := newGraph(x, true)
	quiet.resting = true
	return &stopper{x: x, stop: machine.EventID(stop), quiet: quiet, verdict: map[int]verdict{}, rounds: map[int][]int{}, late: map[int]lateness{}}
}

// stopper is the one that all rules share.
func (x *exploration) stopper(stop int) *stopper {
	if x.stopping == nil {
		x.stopping = newStopper(x, stop)
	}
	return x.stopping
}

// press gives what pressing stop does in a configuration; false where there is no
// time for it.
func (s *stopper) press(i int) (outcome, bool) {
	n := s.x.all.configurations[i]
	when, ok := n.within(s.x.all.soon(&n, true))
	if !ok {
		return outcome{}, false
	}
	os := s.x.act(&n, s.stop, when)
	o := os[len(os)-1]
	o.via.state = o.state
	return o, true
}

// roots enters the configurations that the stop button leads to.
func (s *stopper) roots(o outcome) []int { return s.quiet.add(o.location, o.zone, -1, step{}) }

// ways are the ways on from a configuration.
func (s *stopper) ways(i int) []edge {
	if s.quiet.configurations[i].edges == [2]int{} {
		s.quiet.expand(i)
	}
	return s.quiet.next(i)
}

// dormant reports whether a configuration is one of rest. It is not where the
// release of the stop button, which is still to come, wakes the prop; what it
// wakes for before, by itself, it wakes for after a rest.
func (s *stopper) dormant(i int) bool {
	n := &s.quiet.configurations[i]
	return s.x.modes[n.state].kind == model.Dormant && (!s.x.wakes(n) || len(s.ways(i)) == 0)
}

// wakes reports whether the release that is to come leads out of rest.
func (x *exploration) wakes(n *configuration) bool {
	if n.button < 0 || x.grips[n.button].release < 0 {
		return false
	}
	m := x.program.Move(n.state, x.grips[n.button].release)
	return m != nil && !m.Ignore && x.modes[m.Target].kind != model.Dormant
}

// isDeaf reports whether neither a press of stop nor its release does anything
// in a configuration that is not one of rest. What is deferred does something only
// while the end that it waits for is to come.
func (s *stopper) isDeaf(i int) bool {
	n := &s.x.all.configurations[i]
	return s.x.modes[n.state].kind != model.Dormant && !s.answers(n.state, !n.ended)
}

// answers reports whether stop does anything in a state, live before its
// routine's end.
func (s *stopper) answers(state machine.StateID, live bool) bool {
	name := s.x.program.Events[s.stop].Name
	for _, kind := range []model.TriggerKind{model.Press, model.Release} {
		e, ok := s.x.program.Event(model.Trigger{Kind: kind, Name: name})
		if !ok {
			continue
		}
		m := s.x.program.Move(state, e)
		if m != nil && !m.Ignore && (!m.Defer || live && s.x.program.Length[state] >= 0) {
			return true
		}
	}
	return false
}

// deaf tells for each state whether stop does nothing in one of its configurations.
func (s *stopper) deaf() []bool {
	deaf := make([]bool, len(s.x.modes))
	for i := range s.x.all.configurations {
		if _, ok := s.press(i); ok && s.isDeaf(i) {
			deaf[s.x.all.configurations[i].state] = true
		}
	}
	return deaf
}

// surelyRests reports whether every way on from a configuration comes to a
// dormant state. A circle of states does not, even where chance may leave it:
// it need not.
func (s *stopper) surelyRests(i int) bool {
	if v := s.verdict[i]; v != 0 {
		return v == rests
	}
	if s.dormant(i) {
		s.verdict[i] = rests
		return true
	}
	s.verdict[i] = looking
	ways := s.ways(i)
	ok := len(ways) > 0
	for _, e := range ways {
		ok = ok && s.surelyRests(e.to)
	}
	s.verdict[i] = roams
	if ok {
		s.verdict[i] = rests
	}
	return ok
}

// roaming gives the shortest way from a configuration that does not surely rest to
// one in which nothing happens any more, or to the end of a first round of a
// circle; lap is how many of the steps go around.
func (s *stopper) roaming(root int) (way []step, lap int) {
	reach := s.search(root, -1)
	var best []int
	for _, i := range reach.order {
		if best != nil && reach.depth[i] >= len(best) {
			break
		}
		to := reach.way(i)
		if len(s.ways(i)) == 0 {
			best, lap = to, 0 // no circle found so far is shorter
			break
		}
		if round := s.round(i); round != nil && (best == nil || len(to)+len(round) < len(best)) {
			best, lap = append(to, round...), len(round)
		}
	}
	for from := root; len(best) > 0; best = best[1:] {
		way = append(way, s.via(from, best[0]))
		from = best[0]
	}
	return way, lap
}

// round is the shortest way from a configuration back to it, nil where there is
// none.
func (s *stopper) round(i int) []int {
	if r, ok := s.rounds[i]; ok {
		return r
	}
	s.rounds[i] = s.search(i, i).closed
	return s.rounds[i]
}

// A searched is a breadth-first search through configurations that do not rest.
type searched struct {
	order  []int
	depth  map[int]int
	parent map[int]int
	closed []int // the way to the configuration looked for, if there is one
}

// search looks from a configuration on for another, by one step at least, or
// for all there are.
func (s *stopper) search(from, wanted int) searched {
	f := searched{order: []int{from}, depth: map[int]int{from: 0}, parent: map[int]int{}}
	for k := 0; k < len(f.order); k++ {
		i := f.order[k]
		for _, e := range s.ways(i) {
			if e.to == wanted {
				f.closed = append(f.way(i), e.to)
				return f
			}
			if _, seen := f.depth[e.to]; seen || s.dormant(e.to) {
				continue
			}
			f.depth[e.to], f.parent[e.to] = f.depth[i]+1, i
			f.order = append(f.order, e.to)
		}
	}
	return f
}

// way gives the configurations on the way to i, without the first.
func (f *searched) way(i int) []int {
	way := make([]int, f.depth[i])
	for k := len(way) - 1; k >= 0; k-- {
		way[k], i = i, f.parent[i]
	}
	return way
}
