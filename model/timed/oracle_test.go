package timed

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/random"

	"github.com/stretchr/testify/require"
	gonum "gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/topo"
	"gonum.org/v1/gonum/graph/traverse"
	"pgregory.net/rapid"
)

// The oracle steps through every millisecond of everything that can happen:
// no clocks as bounds, nothing left out, and the graph questions are answered
// by gonum. It is slow, so its designs count in few milliseconds.

const (
	oraclePeriod  = 3                    // from frame to frame, milliseconds
	oracleLasting = oraclePeriod * 7 / 2 // from the last frame to the release
)

// A spot is a prop between two steps.
type spot struct {
	state, back, deferred int // deferred: the target, BackTarget or nowhere
	ended                 bool
	since                 int                  // entered
	looked                int                  // the last since at which timers were looked at, -1: not yet
	timers                [20]int8             // open, over or the deadline
	button                int                  // -1: none
	held, last            int                  // since its first frame; its last frame
	fired                 int                  // holds
	levels                [4]model.TriggerKind // of inputs: what they did last, 0 or Rise or Fall
	chosen                int8                 // 1 and the state that an any_of led to last
	turns                 [10]int8             // by choice: how often it was taken, as far as that matters
}

const (
	open = int8(-1) // not drawn yet: any time from its range that has not passed
	over = int8(-2)

	long = 99 // since, where it decides nothing
)

type oracle struct {
	p     *machine.Program
	modes []mode // for their acts, timers and dones only
	holds [][]machine.EventID
	rel   []machine.EventID

	ids   map[spot]int64
	spots []spot
	g     *simple.WeightedDirectedGraph // spots, and -1-s for state s being entered
	fires map[[2]int]bool               // state and timer
	quiet bool

	luck, left, ways int // see everyWay
}

// everyWay does something that choices decide on once for each way in which they can
// come out, and perhaps some of them more than once.
func (o *oracle) everyWay(do func()) {
	for o.luck, o.ways = 0, 1; o.luck < o.ways; o.luck++ {
		saved := o.ways
		o.left, o.ways = o.luck, 1
		do()
		o.ways = max(o.ways, saved)
	}
}

// outOf is a number below n that luck has.
func (o *oracle) outOf(n int) int {
	k := o.left % n
	o.left /= n
	o.ways *= n
	return k
}

// settle is the state that a choice leads to.
func (c *course) settle(o *oracle, number int) int {
	choice := o.p.Choices[number]
	if choice.InTurn {
		k := c.turns[number]
		c.turns[number] = (k + 1) % int8(len(choice.States))
		return int(choice.States[k])
	}
	k := o.outOf(len(choice.States))
	for int(choice.States[k])+1 == int(c.chosen) {
		k = (k + 1) % len(choice.States) // as good as any other
	}
	c.chosen = int8(choice.States[k] + 1)
	return int(choice.States[k])
}

func newOracle(p *machine.Program, quiet bool) *oracle {
	o := &oracle{p: p, modes: modes(p, make([]int64, len(p.Design.States))), ids: map[spot]int64{}, g: simple.NewWeightedDirectedGraph(0, 0), fires: map[[2]int]bool{}, quiet: quiet}
	for _, b := range p.Design.Remote.Buttons {
		var hs []machine.EventID
		for ms := range 20 {
			if e, ok := p.Event(model.Trigger{Kind: model.Hold, Name: b.Name, For: time.Duration(ms) * time.Millisecond}); ok {
				hs = append(hs, e)
			}
		}
		o.holds = append(o.holds, hs)
		r, ok := p.Event(model.Trigger{Kind: model.Release, Name: b.Name})
		if !ok {
			r = -1
		}
		o.rel = append(o.rel, r)
	}
	return o
}

func (o *oracle) id(s spot) int64 {
	if id, ok := o.ids[s]; ok {
		return id
	}
	id := int64(len(o.spots))
	o.ids[s] = id
	o.spots = append(o.spots, s)
	if o.g.Node(id) == nil {
		o.g.AddNode(simple.Node(id))
	}
	return id
}

func (o *oracle) link(from, to int64, happenings int) {
	if from == to {
		return
	}
	if e := o.g.WeightedEdge(from, to); e == nil || e.Weight() > float64(happenings) {
		o.g.SetWeightedEdge(o.g.NewWeightedEdge(simple.Node(from), simple.Node(to), float64(happenings)))
	}
}

// A course is one way through one step.
type course struct {
	spot
	happenings int
	entered    [][2]int // state, and how many steps led to it in this step
}

func (c *course) enter(o *oracle, target int) {
	if target == int(machine.BackTarget) {
		target = c.back
		if o.p.Kind(machine.StateID(c.state)) != model.Performing {
			target = c.state
		}
	}
	if o.p.Kind(machine.StateID(c.state)) != model.Performing {
		c.back = c.state
	}
	if n := target - len(o.p.Design.States); n >= 0 {
		target = c.settle(o, n)
	}
	c.state, c.deferred, c.ended, c.since, c.looked = target, int(nowhere), false, 0, -1
	for t := range c.timers {
		c.timers[t] = over
	}
	for t := range o.p.Timers(machine.StateID(target)) {
		c.timers[t] = open
	}
	c.entered = append(c.entered[:len(c.entered):len(c.entered)], [2]int{target, c.happenings})
}

func (c *course) do(o *oracle, m *machine.Move) {
	switch {
	case m == nil || m.Ignore || m.Do:
	case m.Defer:
		c.deferred = int(m.Target)
	default:
		c.enter(o, int(m.Target))
	}
}

// event is one of the outside events of a step.
func (c *course) event(o *oracle, e machine.EventID) {
	c.do(o, o.p.Move(machine.StateID(c.state), e))
}

// changes is event for one of an input or one that is posted. Where transitions wait
// for both edges of an input, they alternate; false where it is not this one's turn.
func (c *course) changes(o *oracle, e machine.EventID) bool {
	on := o.p.Events[e]
	_, rise := o.p.Event(model.Trigger{Kind: model.Rise, Name: on.Name})
	_, fall := o.p.Event(model.Trigger{Kind: model.Fall, Name: on.Name})
	for i := range o.p.Design.Inputs {
		if on.Kind != model.Posted && rise && fall && o.p.Design.Inputs[i].Name == on.Name {
			if c.levels[i] == on.Kind {
				return false
			}
			c.levels[i] = on.Kind
		}
	}
	c.event(o, e)
	return true
}

// steps are all courses of the next step.
func (o *oracle) steps(s spot) []course {
	if s.since++; s.button >= 0 {
		s.held++
	}
	var all []course
	add := func(happens func() (course, bool)) {
		o.everyWay(func() {
			if c, ok := happens(); ok {
				all = append(all, o.ended(c))
			}
		})
	}
	pressGoesOn := o.pressGoesOn(s)
	for _, happens := range pressGoesOn {
		add(happens)
	}
	if !o.quiet {
		for e, t := range o.p.Events {
			switch t.Kind {
			case model.Press:
				add(func() (course, bool) { return o.press(s, e), true })
			case model.Rise, model.Fall, model.Posted:
				for _, before := range pressGoesOn {
					add(func() (course, bool) {
						c, ok := before()
						c.happenings = 1
						return c, ok && c.changes(o, machine.EventID(e))
					})
				}
			}
		}
	}
	var out []course
	for _, c := range all {
		out = append(out, o.timers(c)...)
	}
	return out
}

// pressGoesOn are the ways in which a press can go on in the step that s has come to:
// nothing comes of it but a release that is due, or a frame comes, if it is time.
func (o *oracle) pressGoesOn(s spot) []func() (course, bool) {
	return []func() (course, bool){func() (course, bool) {
		c := course{spot: s}
		if s.button >= 0 && s.held-s.last >= oracleLasting {
			c.letGo(o)
		}
		return c, true
	}, func() (course, bool) {
		f := course{spot: s}
		if s.button < 0 || s.held != s.last+oraclePeriod || o.quiet {
			return f, false
		}
		f.last = f.held
		hs := o.holds[s.button]
		if f.fired < len(hs) && f.held >= int(o.p.Events[hs[f.fired]].For/time.Millisecond) {
			f.happenings++
			for f.fired < len(hs) && f.held >= int(o.p.Events[hs[f.fired]].For/time.Millisecond) {
				f.fired++
				f.event(o, hs[f.fired-1])
			}
		}
		return f, true
	}}
}

// pressed is press with only what happens after the press itself told.
func (o *oracle) pressed(s spot, b int) (out []course) {
	o.everyWay(func() {
		c := o.press(s, b)
		c.entered = nil
		out = append(out, c)
	})
	return out
}

// press is a course up to done: a press of a button in the step that s has
// come to.
func (o *oracle) press(s spot, b int) course {
	c := course{spot: s}
	c.letGo(o)
	c.happenings = 1
	c.event(o, machine.EventID(b))
	if len(o.holds[b]) > 0 || o.rel[b] >= 0 {
		c.button, c.held, c.last, c.fired = b, 0, 0, 0
	}
	return c
}

func (c *course) letGo(o *oracle) {
	b := c.button
	if b < 0 {
		return
	}
	c.button, c.held, c.last, c.fired = -1, 0, 0, 0
	if r := o.rel[b]; r >= 0 {
		c.happenings++
		c.event(o, r)
	}
}

// inside is done and after.
func (o *oracle) inside(c course) []course {
	var all, out []course
	o.everyWay(func() { all = append(all, o.ended(c)) })
	for _, c := range all {
		out = append(out, o.timers(c)...)
	}
	return out
}

// ended is done.
func (o *oracle) ended(c course) course {
	if l := o.p.Length[c.state]; l >= 0 && !c.ended && c.since >= int(l) {
		c.ended = true
		r := &o.modes[c.state]
		if r.done != nil || r.defers() {
			c.happenings++
		}
		if c.deferred != int(nowhere) {
			c.enter(o, c.deferred)
		} else {
			c.do(o, r.done)
		}
	}
	return c
}

// timers is after, for every draw of deadlines that may have come.
func (o *oracle) timers(c course) (out []course) {
	courses := []course{c}
	for t, timer := range o.p.Timers(machine.StateID(c.state)) {
		var more []course
		for _, c := range courses {
			if c.timers[t] != open {
				more = append(more, c)
				continue
			}
			for d := max(c.looked+1, int(timer.Lo)); d <= min(c.since, int(timer.Hi)); d++ {
				drawn := c
				drawn.timers[t] = int8(d)
				more = append(more, drawn)
			}
			if int(timer.Hi) > c.since {
				more = append(more, c)
			}
		}
		courses = more
	}
	for i := range courses {
		c := &courses[i]
		c.looked = c.since
		first := -1
		for t, d := range c.timers {
			if d >= 0 && (first < 0 || d < c.timers[first]) {
				first = t
			}
		}
		if first < 0 {
			c.rest(o)
			out = append(out, *c)
			continue
		}
		o.fires[[2]int{c.state, first}] = true
		o.everyWay(func() {
			c := *c
			c.timers[first] = over
			c.happenings++
			c.do(o, &o.p.Timers(machine.StateID(c.state))[first].Move)
			c.rest(o)
			out = append(out, c)
		})
	}
	return out
}

// rest forgets what decides nothing any more.
func (c *course) rest(o *oracle) {
	waits := o.p.Length[c.state] >= 0 && !c.ended
	for _, d := range c.timers {
		waits = waits || d != over
	}
	if !waits {
		c.since, c.looked = long, long
	}
	if o.p.Length[c.state] < 0 || c.ended {
		c.deferred = int(nowhere)
	}
	if o.p.Kind(machine.StateID(c.state)) != model.Performing {
		c.back = 0
	}
	if c.button < 0 {
		return
	}
	all := c.fired == len(o.holds[c.button])
	stopped := c.held > c.last+oraclePeriod
	if o.rel[c.button] < 0 && (all || stopped) {
		c.button, c.held, c.last, c.fired = -1, 0, 0, 0
	} else if all && c.last >= 10*oraclePeriod {
		c.held, c.last = c.held-oraclePeriod, c.last-oraclePeriod
	}
}

// explore finds everything that can come of some spots.
func (o *oracle) explore(from ...spot) {
	for _, s := range from {
		o.id(s)
	}
	for i := 0; i < len(o.spots); i++ {
		for _, c := range o.steps(o.spots[i]) {
			for _, e := range c.entered {
				o.link(int64(i), int64(-1-e[0]), e[1])
			}
			o.link(int64(i), o.id(c.spot), c.happenings)
		}
	}
}

// decided reports whether a hand has let go already, or a deadline has come
// that waits for its step: what comes next is no longer open.
func (s *spot) decided() bool {
	for _, d := range s.timers {
		if d >= 0 {
			return true
		}
	}
	return s.button >= 0 && s.held-s.last >= oraclePeriod
}

func (o *oracle) start() spot {
	c := course{}
	c.enter(o, int(o.p.Start))
	c.button, c.looked, c.back = -1, -1, 0
	c.rest(o)
	if o.p.Length[c.state] >= 0 || len(o.p.Timers(o.p.Start)) > 0 {
		c.since, c.looked = 0, -1
	}
	return c.spot
}

// dormant are the nodes that mean rest.
func (o *oracle) dormant() (ids []gonum.Node) {
	for i, s := range o.spots {
		if o.p.Kind(machine.StateID(s.state)) == model.Dormant {
			ids = append(ids, simple.Node(i))
		}
	}
	for s := range o.p.Design.States {
		if id := int64(-1 - s); o.p.Kind(machine.StateID(s)) == model.Dormant && o.g.Node(id) != nil {
			ids = append(ids, simple.Node(id))
		}
	}
	return ids
}

// leadingTo are the nodes from which others can be reached.
func (o *oracle) leadingTo(to []gonum.Node) map[int64]bool {
	back := simple.NewDirectedGraph()
	for _, n := range gonum.NodesOf(o.g.Nodes()) {
		back.AddNode(n)
	}
	edges := o.g.Edges()
	for edges.Next() {
		e := edges.Edge()
		back.SetEdge(simple.Edge{F: simple.Node(e.To().ID()), T: simple.Node(e.From().ID())})
	}
	seen := map[int64]bool{}
	for _, n := range to {
		if !seen[n.ID()] {
			(&traverse.DepthFirst{Visit: func(n gonum.Node) { seen[n.ID()] = true }}).Walk(back, n, nil)
		}
	}
	return seen
}

// roams reports whether a prop in a spot, left alone, need not come to rest.
func (o *oracle) roams(c course) bool {
	pressed := c.spot
	for _, c := range o.inside(c) {
		if !o.goesOn(pressed, c) {
			continue
		}
		q := newOracle(o.p, true)
		q.explore(c.spot)
		// What rests ends a way; a circle or an end elsewhere does not rest.
		awake := simple.NewDirectedGraph()
		for i := range q.spots {
			awake.AddNode(simple.Node(i))
		}
		reach := []int64{0}
		seen := map[int64]bool{0: true}
		for k := 0; k < len(reach); k++ {
			ways := q.steps(q.spots[reach[k]])
			for _, w := range ways {
				to := q.ids[w.spot]
				if !q.goesOn(q.spots[reach[k]], w) {
					continue
				}
				if to == reach[k] {
					return true // nothing happens any more, or the same for ever
				}
				awake.SetEdge(awake.NewEdge(simple.Node(reach[k]), simple.Node(to)))
				if !seen[to] {
					seen[to] = true
					reach = append(reach, to)
				}
			}
		}
		for _, scc := range topo.TarjanSCC(awake) {
			if len(scc) > 1 && seen[scc[0].ID()] {
				return true
			}
		}
	}
	return false
}

// goesOn reports whether a course, begun in a spot after the press of stop, leads
// to where the prop has yet to come to rest for good: it is not at rest, or the
// release is to come. What leads out of rest before that is the maker's.
func (o *oracle) goesOn(from spot, c course) bool {
	if o.rests(from.state) {
		switch {
		case !o.waits(from.button):
			return false
		case o.waits(c.button):
			return !slices.ContainsFunc(c.entered, func(e [2]int) bool { return !o.rests(e[0]) })
		default:
			return o.wakes(from, c)
		}
	}
	return !o.rests(c.state) || o.waits(c.button)
}

// rests reports whether a state is one of rest: a dormant one that is not left
// in the step in which it was entered.
func (o *oracle) rests(state int) bool {
	s := machine.StateID(state)
	if done := o.p.Done(s); o.p.Length[s] == 0 && done != nil && !done.Ignore && !done.Do {
		return false
	}
	for _, t := range o.p.Timers(s) {
		if t.Lo == 0 && !t.Do {
			return false
		}
	}
	return o.p.Kind(s) == model.Dormant
}

// waits reports whether the release of a button that is down is an event.
func (o *oracle) waits(button int) bool { return button >= 0 && o.rel[button] >= 0 }

// wakes reports whether the release that comes in a spot, on a course, leads out of
// rest.
func (o *oracle) wakes(s spot, c course) bool {
	m := o.p.Move(machine.StateID(s.state), o.rel[s.button])
	return m != nil && !m.Ignore && !m.Do && !o.rests(c.entered[0][0])
}

// brief turns a design into one that counts in few milliseconds.
func brief(t *rapid.T, d *model.Design) {
	ms := func(lo, hi int, what string) time.Duration {
		return time.Duration(rapid.IntRange(lo, hi).Draw(t, what)) * time.Millisecond
	}
	for i := range d.Remote.Buttons {
		d.Remote.Buttons[i].Code = "" // which would tell a period
	}
	least := rapid.IntRange(0, 1).Draw(t, "least")
	for i := range d.Routines {
		d.Routines[i].Length, d.Routines[i].Cues = ms(least, 6, "length"), nil
	}
	for i := range d.Transitions {
		for j := range d.Transitions[i].On {
			on := &d.Transitions[i].On[j]
			switch on.Kind {
			case model.After:
				on.After.Lo = ms(least, 5, "lo")
				on.After.Hi = on.After.Lo + ms(0, 3, "more")
			case model.Hold:
				on.For = ms(1, 8, "for")
			}
		}
	}
}

func TestExplorationAgainstOracle(t *testing.T) {
	size := random.Size{
		States:      random.Range{Lo: 1, Hi: 4},
		Buttons:     random.Range{Lo: 1, Hi: 3},
		Inputs:      random.Range{Lo: 0, Hi: 1},
		Events:      random.Range{Lo: 0, Hi: 1},
		Outputs:     random.Range{Lo: 0, Hi: 1},
		Routines:    random.Range{Lo: 0, Hi: 3},
		Transitions: random.Range{Lo: 0, Hi: 10},
	}
	rapid.Check(t, func(t *rapid.T) {
		d := size.Design(t)
		brief(t, d)
		p := machine.Compile(d)
		x := exploreAll(p, oraclePeriod)
		o := newOracle(p, false)
		o.explore(o.start())
		text := func() string { return fmt.Sprintf("\n%s", d.Format()) }

		shortest := path.DijkstraFrom(simple.Node(0), o.g)
		var reached, wantReached []string
		for s := range d.States {
			want := -1
			if w := shortest.WeightTo(int64(-1 - s)); w < 1e9 {
				want = int(w)
			}
			if s == int(p.Start) {
				want = 0
			}
			got := -1
			if i, ok := x.First(machine.StateID(s)); ok {
				got = len(x.all.steps(i))
			}
			if i := x.passed[s]; i >= 0 && (got < 0 || len(x.all.steps(i))+1 < got) {
				got = len(x.all.steps(i)) + 1
			}
			reached = append(reached, fmt.Sprint(d.States[s].Name, " by ", got))
			wantReached = append(wantReached, fmt.Sprint(d.States[s].Name, " by ", want))
		}
		require.Equal(t, wantReached, reached, text())

		// Timers that go off.
		fires := map[[2]int]bool{}
		for i := range x.all.configurations {
			for _, e := range x.all.next(i) {
				if e.kind == afterHappens {
					fires[[2]int{int(x.all.configurations[i].state), int(e.timer)}] = true
				}
			}
		}
		require.Equal(t, o.fires, fires, text())

		// Where rest is out of reach, and where stop does not lead to it. There
		// are no spots within a step.
		// A configuration is lost where all its spots are. It has but one when its
		// state has just been entered, something is to come by itself and no
		// hand can keep a button down.
		leads, caught, caughtAtOnce := o.leadingTo(o.dormant()), map[int]bool{}, map[int]bool{}
		waits := func(s int) bool { return p.Length[s] > 0 || len(p.Timers(machine.StateID(s))) > 0 }
		roams := map[int]bool{}
		stop, _ := p.Button(d.Remote.Stop)
		for i, s := range o.spots {
			if !leads[int64(i)] && !s.decided() {
				caught[s.state] = true
				if s.since == 0 && waits(s.state) {
					caughtAtOnce[s.state] = true
				}
			}
			if s.since++; s.button >= 0 {
				s.held++
			}
			for _, c := range o.pressed(s, stop) {
				if !roams[s.state] && o.roams(c) {
					roams[o.spots[i].state] = true
				}
			}
		}
		lost, _ := x.trapped()
		gotCaughtAtOnce, gotRoams := map[int]bool{}, map[int]bool{}
		for i := range x.all.configurations {
			n := x.all.at(i)
			_, stays := n.within(x.all.soon(&n.location, true))
			if n.button >= 0 {
				g := &x.buttons[n.button]
				// Not decided: neither to let go nor, where nobody waits for that,
				// to hold on.
				stays = stays && g.release >= 0 && (int(n.fired) == len(g.frames) || n.lo(heldClock) < g.frames[n.fired].at)
			}
			if stays && lost[i] {
				require.True(t, caught[int(n.state)], "caught in %s%s", p.Name(n.state), text())
				if n.lo(sinceClock) == 0 && waits(int(n.state)) {
					gotCaughtAtOnce[int(n.state)] = true
				}
			}
		}
		if !slices.ContainsFunc(x.buttons, func(g button) bool { return g.tracked() }) {
			require.Equal(t, caughtAtOnce, gotCaughtAtOnce, "caught"+text())
		}
		for r := range x.Delays(model.Trigger{Kind: model.Press, Name: d.Remote.Stop}, nil, math.MaxInt).Latest {
			if r.Time == Never {
				gotRoams[int(x.State(r.Configuration))] = true
			}
		}
		require.Equal(t, roams, gotRoams, "roams"+text())
	})
}
