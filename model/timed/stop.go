package timed

import (
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// A convergence finds out whether and when the prop comes to rest if nobody does
// anything, after the stop button was tapped or from any moment on.
type convergence struct {
	x       *Space
	stop    machine.EventID
	graph   *graph   // closed
	results []result // of configurations in graph, as far as they are known
	worst   []Stop
	room    []outcome // for press
}

// A result is what becomes of a configuration in graph.
type result struct {
	verdict verdict
	at      int64 // see latest
	way     int
}

type verdict uint8

const (
	pending   verdict = iota + 1 // on the way that is being looked at
	converges                    // every way on comes to rest
	diverges
)

func newConvergence(x *Space, stop int) *convergence {
	graph := newGraph(x, true)
	graph.resting = true
	return &convergence{x: x, stop: machine.EventID(stop), graph: graph}
}

// afterStop is the convergence after the stop button was tapped; nil where the remote
// has none.
func (x *Space) afterStop() *convergence {
	if stop, ok := x.program.Button(x.program.Design.Remote.Stop); ok && x.stopped == nil {
		x.stopped = newConvergence(x, stop)
	}
	return x.stopped
}

// press gives what pressing stop does in a configuration; false where there is no
// time for it.
func (s *convergence) press(i int) (outcome, bool) {
	n := s.x.all.at(i)
	when, ok := n.within(s.x.all.soon(&n.location, true))
	if !ok {
		return outcome{}, false
	}
	s.room = s.x.act(&n, s.stop, when, s.room[:0])
	o := s.room[len(s.room)-1]
	o.via.state = o.state
	return o, true
}

// roots enters the configurations that the stop button leads to.
func (s *convergence) roots(o outcome) []int {
	o.levels = 0 // inputs change no more
	return slices.Clone(s.graph.add(o.location, &o.zone, -1))
}

// ways are the ways on from a configuration.
func (s *convergence) ways(i int) []edge {
	if s.graph.configurations[i].edges == nil {
		s.graph.expand(i)
	}
	return s.graph.next(i)
}

// atRest reports whether a configuration is one of rest for good. It is not where
// the release of the stop button, which is still to come, may lead out of rest;
// what the prop wakes for before, by itself, it wakes for after a rest.
func (s *convergence) atRest(i int) bool {
	n := &s.graph.configurations[i]
	return s.x.rests(n.state) && (!s.x.mayWake(&n.location) || len(s.ways(i)) == 0)
}

// mayWake reports whether the release that is to come leads out of a state of
// rest, or the prop goes to another one, in which it may.
func (x *Space) mayWake(n *location) bool {
	if n.button < 0 || x.buttons[n.button].release < 0 {
		return false
	}
	if m := x.program.Move(n.state, x.buttons[n.button].release); m != nil && !m.Ignore && x.modes[m.Target].rest > 0 {
		return true
	}
	r := &x.modes[n.state]
	return r.done != nil && r.length >= 0 && x.rests(r.done.Target) ||
		slices.ContainsFunc(r.timers, func(t machine.Timer) bool { return x.rests(t.Target) })
}

// unheeded reports whether neither a press of stop nor its release does anything
// in a configuration that is not one of rest. What is deferred does something only
// while the end that it waits for is to come. A press ends the one going on, and
// where the release of that leads elsewhere, it is there that stop is heard.
func (s *convergence) unheeded(i int) bool {
	n := &s.x.all.configurations[i]
	heard := n.location
	for _, e := range s.x.letGo(&heard) {
		s.x.event(&heard, e)
	}
	return heard.state == n.state && s.x.modes[n.state].kind != model.Dormant && !s.answers(n.state, !heard.ended)
}

// answers reports whether stop does anything in a state, live before its
// routine's end.
func (s *convergence) answers(state machine.StateID, live bool) bool {
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

// result is what is known of a configuration in graph.
func (s *convergence) result(i int) *result {
	if n := len(s.graph.configurations); len(s.results) < n {
		s.results = append(s.results, make([]result, n-len(s.results))...)
	}
	return &s.results[i]
}

// surelyRests reports whether every way on from a configuration comes to
// rest. A circle of states does not, even where chance may leave it:
// it need not.
func (s *convergence) surelyRests(root int) bool {
	// Depth first, without recursion: there can be a million on the way.
	type call struct{ configuration, way int }
	calls := []call{{root, 0}}
	for len(calls) > 0 {
		c := &calls[len(calls)-1]
		i, v := c.configuration, s.result(c.configuration).verdict
		switch {
		case c.way == 0 && v != 0: // pending: the way goes around
		case s.atRest(i):
			v = converges
		case len(s.ways(i)) == 0, c.way > 0 && s.result(int(s.ways(i)[c.way-1].to)).verdict != converges:
			v = diverges
		case c.way == len(s.ways(i)):
			v = converges
			s.result(i).at, s.result(i).way = s.late(i)
		default:
			s.result(i).verdict = pending
			c.way++
			calls = append(calls, call{int(s.ways(i)[c.way-1].to), 0})
			continue
		}
		s.result(i).verdict = v
		calls = calls[:len(calls)-1]
	}
	return s.result(root).verdict == converges
}

// loop is the shortest way from a configuration back to it through some others,
// nil where there is none, and how many edges were looked at for it.
func (s *convergence) loop(from int, through func(int) bool) (way []int, looked int) {
	order, parent := []int{from}, map[int]int{}
	for k := 0; k < len(order); k++ {
		i := order[k]
		for _, e := range s.ways(i) {
			looked++
			to := int(e.to)
			if to == from {
				for way = []int{from}; i != from; i = parent[i] {
					way = append(way, i)
				}
				slices.Reverse(way)
				return way, looked
			}
			if _, seen := parent[to]; !seen && through(to) {
				parent[to] = i
				order = append(order, to)
			}
		}
	}
	return nil, looked
}
