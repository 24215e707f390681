package tour

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
)

// A Walk is the steps from power-up on.
type Walk struct {
	Steps []Step
	Left  []string // what the walk does not try, and why

	program *machine.Program
}

// A Step is one thing to do and what it must bring about.
type Step struct {
	Acts  []machine.Act
	From  machine.StateID
	To    machine.StateID // afterwards
	Kind  StepKind
	Then  machine.StateID // with Waits: the state that follows when the routine ends
	Moves []int           // indices of the transitions taken, deferred or ignored

	// Soonest is how long it takes at least of a wait whose time is drawn; 0
	// of others.
	Soonest time.Duration
}

// A StepKind is what a step brings about.
type StepKind uint8

const (
	Enters StepKind = iota + 1 // a state is entered, perhaps the same anew
	Waits                      // a transition waits for the routine's end
	Silent                     // nothing changes
)

// A place is all that decides what happens next.
type place struct {
	state    machine.StateID
	back     machine.StateID
	deferred int             // 1 + index of the transition that waits, 0: none
	next     machine.StateID // where that leads
	spent    uint64          // timers that have fired and deferred
	inputs   uint64          // those that are active
	ended    bool            // the routine has ended
	late     bool            // something was tried during this routine: too late for more
}

// A deed is one thing to do at a place, and where it leads.
type deed struct {
	step Step
	to   place
	new  []goal // what it tries
}

// A goal is something to try: an event in a state, or a state to see.
type goal struct {
	state machine.StateID
	what  string
}

type walker struct {
	d      *model.Design
	p      *machine.Program
	wanted map[goal]bool
	class  []machine.StateID // [state]: the first that answers all alike
	period uint32
}

// mostSteps ends a walk that nobody would walk.
const mostSteps = 2000

// Find finds a walk.
func Find(s *check.Study) *Walk {
	p := s.Program
	w := &walker{d: s.Design, p: p, period: check.RepeatPeriod(s.Design)}
	w.classes()
	w.goals()
	walk := Walk{program: p}
	at := place{state: p.Start, back: p.Start}
	w.see(at.state)
	for len(w.wanted) > 0 && len(walk.Steps) < mostSteps {
		path := w.nearest(at)
		if path == nil {
			break
		}
		for _, x := range path {
			walk.Steps = append(walk.Steps, x.step)
			for _, g := range x.new {
				delete(w.wanted, g)
			}
			at = x.to
			w.see(at.state)
		}
	}
	walk.Left = w.left(len(walk.Steps) >= mostSteps)
	return &walk
}

func (w *walker) see(s machine.StateID) { delete(w.wanted, goal{s, ""}) }

// classes finds performing states that answer everything alike.
func (w *walker) classes() {
	w.class = make([]machine.StateID, len(w.d.States))
	first := map[string]machine.StateID{}
	for i := range w.d.States {
		s := machine.StateID(i)
		w.class[i] = s
		if w.p.Kind(s) != model.Performing {
			continue
		}
		var b strings.Builder
		for e := range w.p.Events {
			fmt.Fprintf(&b, "%s|", answer(w.p.Move(s, machine.EventID(e))))
		}
		fmt.Fprintf(&b, "%s|%t|", answer(w.p.Done(s)), w.p.Length[s] >= 0)
		for _, t := range w.p.Timers(s) {
			fmt.Fprintf(&b, "%d-%d:%s|", t.Lo, t.Hi, answer(&t.Move))
		}
		if f, ok := first[b.String()]; ok {
			w.class[i] = f
		} else {
			first[b.String()] = s
		}
	}
}

func answer(m *machine.Move) string {
	switch {
	case m == nil || m.Ignore:
		return "-"
	case m.Defer:
		return fmt.Sprintf("%d later", m.Target)
	}
	return fmt.Sprint(m.Target)
}

// goals are all that is to be tried.
func (w *walker) goals() {
	w.wanted = map[goal]bool{}
	for i := range w.d.States {
		s := machine.StateID(i)
		w.wanted[goal{s, ""}] = true
		if w.p.Length[s] >= 0 {
			w.wanted[goal{s, doneGoal}] = true
		}
		if w.class[s] != s {
			continue
		}
		for e, on := range w.p.Events {
			m := w.p.Move(s, machine.EventID(e))
			if on.Kind == model.Press || m != nil && !m.Ignore {
				w.wanted[goal{s, on.String()}] = true
			}
		}
		for _, t := range w.p.Timers(s) {
			w.wanted[goal{s, w.p.Trigger(&t.Move).String()}] = true
		}
	}
}

const doneGoal = "done"

// left lists the goals that no step reached, by state; cut says that the walk
// ends for being long enough.
func (w *walker) left(cut bool) []string {
	var gs []goal
	for g := range w.wanted {
		gs = append(gs, g)
	}
	slices.SortFunc(gs, func(a, b goal) int {
		return cmp.Or(cmp.Compare(a.state, b.state), cmp.Compare(a.what, b.what))
	})
	var lines []string
	for i := 0; i < len(gs); {
		s := gs[i].state
		race := w.race(s)
		var whats []string
		unseen, raced := false, false
		for ; i < len(gs) && gs[i].state == s; i++ {
			switch what := gs[i].what; {
			case what == "":
				unseen = true
			case race != "" && (what == doneGoal || strings.HasPrefix(what, "after ")):
				raced = true
			default:
				whats = append(whats, what)
			}
		}
		name := w.p.Name(s)
		switch {
		case unseen && cut:
			lines = append(lines, name+": not reached in so many steps")
		case unseen:
			lines = append(lines, name+": no way was found that a hand can walk")
		case len(whats) > 0 && cut:
			lines = append(lines, name+": "+strings.Join(whats, ", ")+" (not reached in so many steps)")
		case len(whats) > 0:
			lines = append(lines, name+": "+strings.Join(whats, ", ")+" (another event may come in between)")
		}
		if raced && !unseen {
			lines = append(lines, name+", hands off: "+race+", whichever comes first; wait there again and again until you have seen each")
		}
	}
	return lines
}

// race tells of a state in which chance decides what happens by itself; "" of
// others.
func (w *walker) race(s machine.StateID) string {
	if _, ok := w.wait(place{state: s, back: w.p.Start}); ok || len(w.p.Timers(s)) == 0 {
		return ""
	}
	where := func(m *machine.Move) string {
		if m == nil || m.Ignore {
			return "nothing"
		}
		return w.p.To(m)
	}
	var ways []string
	if l := w.p.Length[s]; l >= 0 {
		ways = append(ways, fmt.Sprintf("its end after %s → %s", model.FormatDuration(time.Duration(l)*time.Millisecond), where(w.p.Done(s))))
	}
	for _, t := range w.p.Timers(s) {
		way := w.p.Trigger(&t.Move).String() + " → " + where(&t.Move)
		if t.Defer {
			way += " at its end"
		}
		ways = append(ways, way)
	}
	return strings.Join(ways, ", or ")
}

// nearest finds the shortest way to something new.
func (w *walker) nearest(from place) []deed {
	type step struct {
		before int
		by     deed
	}
	steps := []step{{before: -1, by: deed{to: from}}}
	seen := map[place]bool{from: true}
	for i := 0; i < len(steps) && i < 50_000; i++ {
		for _, x := range w.deeds(steps[i].by.to) {
			fresh := w.wanted[goal{x.to.state, ""}]
			for _, g := range x.new {
				fresh = fresh || w.wanted[g]
			}
			if !fresh && seen[x.to] {
				continue
			}
			seen[x.to] = true
			steps = append(steps, step{i, x})
			if !fresh {
				continue
			}
			var path []deed
			for j := len(steps) - 1; j > 0; j = steps[j].before {
				path = append(path, steps[j].by)
			}
			slices.Reverse(path)
			return path
		}
	}
	return nil
}
