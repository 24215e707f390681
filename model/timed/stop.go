package timed

import (
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// A stopper finds out what comes of pressing the stop button and then doing
// nothing.
type stopper struct {
	x     *Space
	stop  machine.EventID
	quiet *graph
	fates []fate // of configurations in quiet, as far as they are known
	worst []Stop
	room  []outcome // for press
}

// A fate is what becomes of a configuration in quiet.
type fate struct {
	verdict verdict
	at      int64 // see latest
	way     int
}

type verdict uint8

const (
	looking verdict = iota + 1 // on the way that is being looked at
	rests
	roams
)

func newStopper(x *Space, stop int) *stopper {
	quiet := newGraph(x, true)
	quiet.resting = true
	return &stopper{x: x, stop: machine.EventID(stop), quiet: quiet}
}

// stopper is the one that all questions share; nil where the remote has no stop
// button.
func (x *Space) stopper() *stopper {
	if stop, ok := x.program.Button(x.program.Design.Remote.Stop); ok && x.stopping == nil {
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
	s.room = s.x.act(&n, s.stop, when, s.room[:0])
	o := s.room[len(s.room)-1]
	o.via.state = o.state
	return o, true
}

// roots enters the configurations that the stop button leads to.
func (s *stopper) roots(o outcome) []int {
	o.levels = 0 // inputs change no more
	return slices.Clone(s.quiet.add(o.location, o.zone, -1))
}

// ways are the ways on from a configuration.
func (s *stopper) ways(i int) []edge {
	if s.quiet.configurations[i].edges == nil {
		s.quiet.expand(i)
	}
	return s.quiet.next(i)
}

// atRest reports whether a configuration is one of rest for good. It is not where
// the release of the stop button, which is still to come, may lead out of rest;
// what the prop wakes for before, by itself, it wakes for after a rest.
func (s *stopper) atRest(i int) bool {
	n := &s.quiet.configurations[i]
	return s.x.rests(n.state) && (!s.x.mayWake(n) || len(s.ways(i)) == 0)
}

// mayWake reports whether the release that is to come leads out of a state of
// rest, or the prop goes to another one, in which it may.
func (x *Space) mayWake(n *configuration) bool {
	if n.button < 0 || x.grips[n.button].release < 0 {
		return false
	}
	if m := x.program.Move(n.state, x.grips[n.button].release); m != nil && !m.Ignore && x.modes[m.Target].rest > 0 {
		return true
	}
	r := &x.modes[n.state]
	return r.done != nil && r.length >= 0 && x.rests(r.done.Target) ||
		slices.ContainsFunc(r.timers, func(t machine.Timer) bool { return x.rests(t.Target) })
}

// isDeaf reports whether neither a press of stop nor its release does anything
// in a configuration that is not one of rest. What is deferred does something only
// while the end that it waits for is to come. A press ends the one going on, and
// where the release of that leads elsewhere, it is there that stop is heard.
func (s *stopper) isDeaf(i int) bool {
	n := &s.x.all.configurations[i]
	heard := n.location
	for _, e := range s.x.letGo(&heard) {
		s.x.event(&heard, e)
	}
	return heard.state == n.state && s.x.modes[n.state].kind != model.Dormant && !s.answers(n.state, !heard.ended)
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

// fate is what is known of a configuration in quiet.
func (s *stopper) fate(i int) *fate {
	if n := len(s.quiet.configurations); len(s.fates) < n {
		s.fates = append(s.fates, make([]fate, n-len(s.fates))...)
	}
	return &s.fates[i]
}

// surelyRests reports whether every way on from a configuration comes to
// rest. A circle of states does not, even where chance may leave it:
// it need not.
func (s *stopper) surelyRests(root int) bool {
	// Depth first, without recursion: there can be a million on the way.
	type call struct{ configuration, way int }
	calls := []call{{root, 0}}
	for len(calls) > 0 {
		c := &calls[len(calls)-1]
		i, v := c.configuration, s.fate(c.configuration).verdict
		switch {
		case c.way == 0 && v != 0: // looking: the way goes around
		case s.atRest(i):
			v = rests
		case len(s.ways(i)) == 0, c.way > 0 && s.fate(int(s.ways(i)[c.way-1].to)).verdict != rests:
			v = roams
		case c.way == len(s.ways(i)):
			v = rests
			s.fate(i).at, s.fate(i).way = s.late(i)
		default:
			s.fate(i).verdict = looking
			c.way++
			calls = append(calls, call{int(s.ways(i)[c.way-1].to), 0})
			continue
		}
		s.fate(i).verdict = v
		calls = calls[:len(calls)-1]
	}
	return s.fate(root).verdict == rests
}

// loop is the shortest way from a configuration back to it through some others,
// nil where there is none, and how many edges were looked at for it.
func (s *stopper) loop(from int, through func(int) bool) (way []int, looked int) {
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
