package machine_test

import (
	"time"

	"propwright/model"
)

// A naive machine reads the design itself at every millisecond, rule by rule:
// no tables, no indices, no jumps in time. It is what Machine is compared
// with.
type naive struct {
	d       *model.Design
	random  uint32
	now     int64
	queue   []model.Trigger
	state   *model.State
	back    *model.State
	entered int64
	ended   bool
	waiting *model.Transition // deferred
	armed   []naiveTimer
	log     []entered
	chosen  string                    // by any_of, last
	taken   map[*model.Transition]int // times, of those in turn
}

type naiveTimer struct {
	do       *model.Transition
	deadline int64
	fired    bool
}

// entered is a state entered, or orders carried out, at a time.
type entered struct {
	at    int64
	state string
}

func newNaive(d *model.Design, seed uint32) *naive {
	n := &naive{d: d, random: seed}
	for i := range d.States {
		s := &d.States[i]
		if s.Kind == model.Dormant && (n.state == nil || s.Start) {
			n.state = s
		}
	}
	n.back = n.state
	n.enter(n.state)
	return n
}

func (n *naive) find(name string) *model.State {
	for i := range n.d.States {
		if n.d.States[i].Name == name {
			return &n.d.States[i]
		}
	}
	return nil
}

// rank is how specific a transition's from is for the current state, -1 where
// it does not match.
func (n *naive) rank(t *model.Transition) int {
	best := -1
	for _, f := range t.From {
		switch {
		case f.State == n.state.Name:
			best = max(best, 2)
		case f.State == model.Any && f.Kind == n.state.Kind:
			best = max(best, 1)
		case f.State == model.Any && f.Kind == "":
			best = max(best, 0)
		}
	}
	return best
}

func same(a, b model.Trigger) bool {
	return a.Kind == b.Kind && a.Name == b.Name && a.For == b.For && a.After == b.After
}

// candidate is the transition that an event takes, nil where there is none.
func (n *naive) candidate(e model.Trigger) *model.Transition {
	for rank := 2; rank >= 0; rank-- {
		for i := range n.d.Transitions {
			t := &n.d.Transitions[i]
			for _, on := range t.On {
				// A from list may name a state and any: both ranks match, the
				// higher decides.
				if same(on, e) && n.rank(t) == rank {
					return t
				}
			}
		}
	}
	return nil
}

func (n *naive) enter(s *model.State) {
	n.state, n.entered, n.ended, n.armed = s, n.now, false, nil
	n.log = append(n.log, entered{n.now, s.Name})
	for i := range n.d.Transitions {
		t := &n.d.Transitions[i]
		for _, on := range t.On {
			if on.Kind != model.After || t.Ignore || n.rank(t) < 0 || n.candidate(on) != t {
				continue
			}
			lo, hi := uint32(on.After.Lo/time.Millisecond), uint32(on.After.Hi/time.Millisecond)
			if lo < hi {
				n.random ^= n.random << 13
				n.random ^= n.random >> 17
				n.random ^= n.random << 5
				lo += n.random % (hi - lo + 1)
			}
			n.armed = append(n.armed, naiveTimer{do: t, deadline: n.now + int64(lo)})
		}
	}
}

func (n *naive) take(t *model.Transition) {
	if n.state.Kind != model.Performing {
		n.back = n.state
	}
	n.waiting = nil
	if t.To == model.Back {
		n.enter(n.back)
	} else {
		n.enter(n.find(n.settled(t)))
	}
}

// settled is the name of the state that a transition leads to.
func (n *naive) settled(t *model.Transition) string {
	c, ok := model.ParseChoice(t.To)
	switch {
	case !ok:
		return t.To
	case c.InTurn:
		if n.taken == nil {
			n.taken = map[*model.Transition]int{}
		}
		n.taken[t]++
		return c.States[(n.taken[t]-1)%len(c.States)]
	}
	var others []string
	for _, name := range c.States {
		if name != n.chosen {
			others = append(others, name)
		}
	}
	n.chosen = others[0]
	if len(others) > 1 {
		n.random ^= n.random << 13
		n.random ^= n.random >> 17
		n.random ^= n.random << 5
		n.chosen = others[n.random%uint32(len(others))]
	}
	return n.chosen
}

func (n *naive) do(t *model.Transition) {
	switch {
	case t == nil || t.Ignore:
	case len(t.Do) > 0:
		n.log = append(n.log, entered{n.now, "do: " + n.d.Does(t)})
	case t.Defer:
		n.waiting = t
	default:
		n.take(t)
	}
}

// length is when the state's routine ends, -1 for never.
func (n *naive) length() int64 {
	for i := range n.d.Routines {
		r := &n.d.Routines[i]
		if r.Name == n.state.Plays && !r.Loop {
			end := r.Length
			for j := range r.Cues {
				end = max(end, n.d.CueEnd(&r.Cues[j]))
			}
			return int64(end / time.Millisecond)
		}
	}
	return -1
}

func (n *naive) millisecond() {
	n.now++
	for _, e := range n.queue {
		n.do(n.candidate(e))
	}
	n.queue = nil
	if l := n.length(); l >= 0 && !n.ended && n.now-n.entered >= l {
		n.ended = true
		if n.waiting != nil {
			n.take(n.waiting)
		} else {
			n.do(n.candidate(model.Trigger{Kind: model.Done}))
		}
	}
	first := -1
	for i, t := range n.armed {
		if !t.fired && t.deadline <= n.now && (first < 0 || t.deadline < n.armed[first].deadline) {
			first = i
		}
	}
	if first >= 0 {
		n.armed[first].fired = true
		n.do(n.armed[first].do)
	}
}
