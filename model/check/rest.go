package check

import (
	"fmt"
	"slices"
	"time"

	"propwright/model"
)

// Times are how long a prop can take to come to rest, in the worst case over
// all situations that can come about, timers drawn as late as they can be.
type Times struct {
	// Stop is from the stop button, tapped once, to a dormant state. It is
	// known where Stops: there is no situation from which stop may not lead to
	// rest.
	Stop  time.Duration
	Stops bool

	// Alone is from any moment on, if nobody does anything any more, to a
	// dormant state. A release that the prop waits for is still something that
	// somebody does. It is known where Rests: the prop comes to rest by itself
	// from every situation.
	Alone time.Duration
	Rests bool
}

// Rest finds how long the prop can take to come to rest. The error is as that
// of Check.
func (s *Study) Rest() (Times, error) { return rest.Of(s) }

var rest = NewPart(func(s *Study) (Times, error) {
	x, err := explored.Of(s)
	if err != nil {
		return Times{}, err
	}
	return x.rest(), nil
})

func (x *exploration) rest() (t Times) {
	d := x.program.Design
	if stop, ok := x.program.Button(d.Remote.Stop); ok {
		t.Stops = true
		for _, w := range x.stopper(stop).stops() {
			t.Stop = max(t.Stop, ms(w.took))
			t.Stops = t.Stops && !w.roams
		}
	}
	t.Alone, t.Rests = x.lonely().longest()
	return t
}

func ms(n int64) time.Duration { return time.Duration(n) * time.Millisecond }

// latest is how late rest comes from a situation that surely rests: the
// greatest reading of its clock, if that counted on. The clock is held while a
// press is going on, which in a quiet graph is that of the stop button and as
// old as everything that came of it, and else since. way is the number of the
// edge to it, counted in the situation's own.
func (s *stopper) latest(i int) (at int64, way int) {
	if s.dormant(i) {
		return 0, -1
	}
	if l, ok := s.late[i]; ok {
		return l.at, l.way
	}
	way = -1
	for k, e := range s.ways(i) {
		if t := s.lateBy(i, k, e.to); way < 0 || t > at {
			at, way = t, k
		}
	}
	s.late[i] = lateness{at, way}
	return at, way
}

// lateBy is latest, the prop going on by its k-th way, which leads to another
// situation.
func (s *stopper) lateBy(i, k, to int) int64 {
	via := s.quiet.vias[s.quiet.nodes[i].edges[0]+k]
	from, next := &s.quiet.nodes[i], &s.quiet.nodes[to]
	pressed, stillPressed := from.button >= 0, next.button >= 0
	on, _ := s.latest(to)
	switch {
	case pressed && stillPressed && !s.dormant(to):
		return on // the same clock
	case pressed:
		return via.when.heldHi + on - next.since
	case via.enters:
		return via.when.sinceHi + on
	}
	return on // the same clock
}

// slowness is how long rest takes from a root at most.
func (s *stopper) slowness(root int) int64 {
	if s.dormant(root) {
		return 0
	}
	at, _ := s.latest(root)
	if n := &s.quiet.nodes[root]; n.button < 0 {
		at -= n.since
	}
	return at
}

// A stopping is the worst that can come of stop in one state.
type stopping struct {
	situation, root int
	via             happening // the press
	took            int64
	roams           bool // it need not lead to rest
}

// stops gives the worst of each state.
func (s *stopper) stops() []stopping {
	worst := make([]stopping, len(s.x.rooms))
	for i := range s.x.all.nodes {
		o, ok := s.press(i)
		if !ok {
			continue
		}
		w := &worst[s.x.all.nodes[i].state]
		for _, root := range s.roots(o) {
			if !s.surelyRests(root) {
				w.roams = true
			} else if took := s.slowness(root); took > w.took {
				*w = stopping{i, root, o.via, took, w.roams}
			}
		}
	}
	return worst
}

// slowest is the way of latest from a root, each happening as late as that
// has it, and press, the happening before it.
func (s *stopper) slowest(press happening, root int) []happening {
	n := &s.quiet.nodes[root]
	if n.button < 0 && !press.enters {
		press.when.sinceLo, press.when.sinceHi = n.since, n.since
	}
	hs := []happening{press}
	for i := root; !s.dormant(i); {
		_, k := s.latest(i)
		to := s.ways(i)[k].to
		h := s.quiet.vias[s.quiet.nodes[i].edges[0]+k]
		from, next := &s.quiet.nodes[i], &s.quiet.nodes[to]
		switch {
		case from.button >= 0 && next.button >= 0 && !s.dormant(to):
		case from.button >= 0:
			h.when.heldLo = h.when.heldHi
			if !h.enters {
				h.when.sinceLo, h.when.sinceHi = next.since, next.since
			}
		case h.enters:
			h.when.sinceLo = h.when.sinceHi
		}
		hs = append(hs, h)
		i = to
	}
	return hs
}

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
		if _, ok := f.witness(x, append(x.path(w.situation), hs...)); ok {
			f.Claim = Claim{State: p.Program.Name(hs[len(hs)-1].state), Took: ms(w.took)}
		}
		p.Report(f)
	}
}

// A lonely finds out what comes of leaving the prop alone, in every situation
// in which no press is going on.
type lonely struct {
	*stopper
	roots []int // [number in all] in quiet, -1: a press is going on

	// from is, for each situation in quiet that is not at rest, the one before
	// it on a shortest way from power-up, or -1-i where it is situation i of
	// all.
	from  []int
	order []int // by the length of that way
}

// lonely is the one that all rules share.
func (x *exploration) lonely() *lonely {
	if x.leaving == nil {
		x.leaving = newLonely(x)
	}
	return x.leaving
}

func newLonely(x *exploration) *lonely {
	l := &lonely{stopper: newStopper(x, -1)}
	l.roots = make([]int, len(x.all.nodes))
	depth := make([]int, len(x.all.nodes)) // happenings
	for i := range x.all.nodes {
		n := &x.all.nodes[i]
		if n.parent >= 0 {
			depth[i] = depth[n.parent] + 1
		}
		l.roots[i] = -1
		if n.button < 0 {
			l.roots[i] = l.quiet.add(n.config, n.zone, -1, happening{})[0]
		}
	}
	// Breadth first from all of them, each beginning at its own depth.
	var layer []int
	visit := func(i, from int) {
		for len(l.from) < len(l.quiet.nodes) {
			l.from = append(l.from, unseen)
		}
		if l.from[i] == unseen && !l.dormant(i) {
			l.from[i] = from
			layer = append(layer, i)
		}
	}
	for d, next := 0, 0; next < len(depth) || len(layer) > 0; d++ {
		for ; next < len(depth) && depth[next] == d; next++ {
			if l.roots[next] >= 0 {
				visit(l.roots[next], -1-next)
			}
		}
		now := layer
		layer = nil
		l.order = append(l.order, now...)
		for _, i := range now {
			for _, e := range l.ways(i) {
				visit(e.to, i)
			}
		}
	}
	return l
}

// unseen is no number of a situation, nor -1 less one.
const unseen = int(far)

// longest is the worst case of all situations; false where the prop need not
// come to rest.
func (l *lonely) longest() (time.Duration, bool) {
	var worst int64
	for _, root := range l.roots {
		if root < 0 {
			continue
		}
		if !l.surelyRests(root) {
			return 0, false
		}
		worst = max(worst, l.slowness(root))
	}
	return ms(worst), true
}

// way is a shortest way from power-up to a situation in quiet.
func (l *lonely) way(i int) []happening {
	var hs []happening
	for l.from[i] >= 0 {
		before := l.from[i]
		hs = append(hs, l.via(before, i))
		i = before
	}
	slices.Reverse(hs)
	return append(l.x.path(-1-l.from[i]), hs...)
}

// via is what leads from a situation to the next.
func (s *stopper) via(from, to int) happening {
	k := slices.IndexFunc(s.ways(from), func(e edge) bool { return e.to == to })
	return s.quiet.vias[s.quiet.nodes[from].edges[0]+k]
}

// circles gives the sets of situations that the prop can go around in for
// ever, left alone; those it can go around in no time only if instant.
func (l *lonely) circles(instant bool) [][]int {
	awake := func(i int, f func(int)) {
		if l.dormant(i) {
			return
		}
		for _, e := range l.quiet.next(i) {
			if e.instant || !instant {
				f(e.to)
			}
		}
	}
	return slices.DeleteFunc(components(len(l.quiet.nodes), awake), func(c []int) bool {
		circle := len(c) > 1
		awake(c[0], func(to int) { circle = circle || to == c[0] })
		return !circle
	})
}

// neverRests leaves out what an error speaks of: where no dormant state can be
// reached at all, performances without an end, circles that take no time.
func neverRests(p *Pass) {
	x := p.explored
	l := x.lonely()
	lost := notLeadingTo(x.all, func(i int) bool { return x.rooms[x.all.nodes[i].state].kind == model.Dormant })
	hopeless := func(i int) bool {
		n := &l.quiet.nodes[i]
		return slices.ContainsFunc(x.all.index[n.config], func(k int) bool { return lost[k] && x.all.nodes[k].covers(n.zone) })
	}
	waits := p.waitingForEnd()
	for _, i := range l.order {
		s := l.quiet.nodes[i].state
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
	place := make([]int, len(l.quiet.nodes))
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
			Pos: p.Design.States[states[0]].Pos, State: p.Program.Name(l.quiet.nodes[first].state),
			Message: fmt.Sprintf("left alone, the prop can go on and on through %s and never go to rest", p.list(states)),
			Advice:  "let one of them lead to rest after a while, whatever the timers draw",
		})
	}
}

// restlessAlone reports what is to be seen in a situation in which the prop
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
