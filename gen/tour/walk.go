package tour

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/compare"
	"propwright/model/machine"
)

// A Walk is a list of steps from power-up.
type Walk struct {
	Steps []Step
	Left  []string // what the walk does not try, and why

	program *machine.Program
}

// A Step is one thing to do and what it must bring about.
type Step struct {
	Acts  []machine.Act // none with Restarts
	From  machine.StateID
	To    machine.StateID // afterwards
	Kind  StepKind
	Then  string // with Waits: what follows when the routine ends
	Moves []int  // indices of the transitions taken, deferred or ignored

	// Among are the states that may be current afterwards, more than To where
	// chance chooses: then it is done again until it is To.
	Among []machine.StateID
	Draws []uint32 // the numbers that are drawn for choices on the way, see machine.NewDrawing

	// Soonest is how long it takes at least of a wait whose time is drawn; 0
	// of others.
	Soonest time.Duration
	Ends    bool              // a wait for a routine's end
	Short   []machine.StateID // of a hold: the states that there may be after letting go too early
}

// A StepKind is what a step brings about.
type StepKind uint8

const (
	Enters   StepKind = iota + 1 // a state is entered, perhaps the same anew
	Waits                        // a transition waits for the routine's end
	Silent                       // nothing changes
	Does                         // the orders of transitions are carried out, and the state goes on
	Restarts                     // the prop is switched off and on again
)

// length is about how long a step takes.
func (s *Step) length() time.Duration {
	if s.Kind == Restarts {
		return 10 * time.Minute // so long that it is done only where nothing else helps
	}
	sum := 4 * time.Second
	for _, a := range s.Acts {
		sum += a.For + 500*time.Millisecond
	}
	return sum
}

// A place is everything that decides what happens next.
type place struct {
	state    machine.StateID
	back     machine.StateID
	deferred int             // 1 + index of the transition that waits, 0: none
	next     machine.StateID // where that leads
	chosen   machine.StateID // that an any_of led to last
	turns    string          // by choice, a character whose number is that of the state next in turn
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
	alike  map[goal]bool     // holds of which nobody sees whether they are heard
	class  []machine.StateID // [state]: the first that answers all alike
	period uint32
}

// mostSteps ends a walk that nobody would walk.
const mostSteps = 2000

// Find finds the walk of a design.
func Find(s *check.Study) *Walk { return find(s, nil) }

// Changed finds the walk of what the new design does and the old one does not.
func Changed(c *compare.Comparison) *Walk { return find(c.New, c) }

func find(s *check.Study, c *compare.Comparison) *Walk {
	w := newWalker(s)
	if c != nil {
		w.onlyChanged(c)
	}
	g := w.explore()
	walk := Walk{program: s.Program}
	for _, a := range postman(len(g.places), g.arcs) {
		if len(walk.Steps) == mostSteps {
			g.cut = true
			break
		}
		x := &g.deeds[a]
		walk.Steps = append(walk.Steps, x.step)
		for _, done := range x.goals() {
			delete(w.wanted, done)
		}
	}
	delete(w.wanted, goal{w.p.Start, ""})
	walk.Left = w.left(g.cut)
	return &walk
}

func newWalker(s *check.Study) *walker {
	w := &walker{d: s.Design, p: s.Program, alike: map[goal]bool{}, period: check.RepeatPeriod(s.Design)}
	w.classes()
	w.goals()
	return w
}

// goals returns what a deed tries, and the state that it shows.
func (x *deed) goals() []goal { return append(x.new[:len(x.new):len(x.new)], goal{x.to.state, ""}) }

// A graph is the places and the deeds that lead from one to another.
type graph struct {
	places []place
	deeds  []deed
	arcs   []arc // of the deeds
	cut    bool  // there are more places
}

// at returns a place in a state as if power had just come on.
func (w *walker) at(s machine.StateID) place {
	return place{state: s, chosen: machine.NoState, turns: string(make([]rune, len(w.p.Choices)))}
}

// explore makes the graph of the places that can be reached. Each goal is tried
// by the first deed that does, so that all that is tried in a state is tried at
// one place if it can.
func (w *walker) explore() *graph {
	start := w.at(w.p.Start)
	g := &graph{places: []place{start}}
	number := map[place]int{start: 0}
	tried := map[goal]bool{{w.p.Start, ""}: true}
	needed := 0
	for at := 0; at < len(g.places); at++ {
		here := g.places[at]
		ds := w.deeds(here)
		if at > 0 {
			ds = append(ds, deed{to: start, step: Step{From: here.state, To: start.state, Kind: Restarts}})
		}
		for _, x := range ds {
			a := arc{from: at, cost: x.step.length().Milliseconds()}
			for _, new := range x.goals() {
				a.need = a.need || w.wanted[new] && !tried[new]
			}
			if !a.need && x.step.Kind == Silent && x.step.Acts[0].Kind != machine.ActWait && x.to.inputs == here.inputs {
				continue // it leads nowhere
			}
			to, known := number[x.to]
			if !known {
				if needed >= mostSteps {
					g.cut = true
					continue
				}
				to = len(g.places)
				number[x.to] = to
				g.places = append(g.places, x.to)
			}
			if a.need {
				needed++
				for _, new := range x.goals() {
					tried[new] = true
				}
			}
			a.to = to
			g.arcs, g.deeds = append(g.arcs, a), append(g.deeds, x)
		}
	}
	return g
}

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
	case m == nil || m.Stays():
		return "-"
	case m.Defer:
		return fmt.Sprintf("%d later", m.Target)
	}
	return fmt.Sprint(m.Target)
}

// goals are all that is to be tried.
func (w *walker) goals() {
	w.wanted = map[goal]bool{}
	stop := model.Trigger{Kind: model.Press, Name: w.d.Remote.Stop}.String()
	for i := range w.d.States {
		s := machine.StateID(i)
		w.wanted[goal{s, ""}], w.wanted[goal{s, stop}] = true, true
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

// onlyChanged leaves the goals that the new design meets in another way: events
// that do something else, what a state or a routine shows, a button's code.
func (w *walker) onlyChanged(c *compare.Comparison) {
	touched := func(sort model.Sort, name string) bool {
		e, ok := w.d.Find(sort, name)
		if !ok {
			return false
		}
		title := w.d.Title(e)
		return slices.ContainsFunc(c.Changes, func(x compare.Change) bool {
			return x.Area != compare.AreaWords && (x.Name == title || strings.HasSuffix(x.Name, " of "+title))
		})
	}
	changed := map[goal]bool{}
	for i := range w.d.States {
		s := &w.d.States[i]
		looks := touched(model.SortState, s.Name) || touched(model.SortRoutine, s.Plays)
		if r := w.d.Routine(s.Plays); r != nil {
			for j := range r.Cues {
				looks = looks || touched(model.SortTrack, r.Cues[j].Track) || touched(model.SortOutput, r.Cues[j].Output)
			}
		}
		_, old := c.Old.Find(model.SortState, s.Name)
		id := machine.StateID(i)
		see := func(on model.Trigger, what string) {
			button := on.Kind.Of() == model.SortButton && touched(model.SortButton, on.Name)
			changed[goal{id, what}] = !old || button || c.Differs(s.Name, on)
		}
		for _, on := range w.p.Events {
			see(on, on.String())
		}
		for _, t := range w.p.Timers(id) {
			on := w.p.Trigger(&t.Move)
			see(on, on.String())
		}
		see(model.Trigger{Kind: model.Done}, doneGoal)
		changed[goal{id, ""}] = looks || !old
		changed[goal{id, doneGoal}] = changed[goal{id, doneGoal}] || looks
	}
	maps.DeleteFunc(w.wanted, func(g goal, _ bool) bool { return !changed[g] })
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
		var whats, alike []string
		unseen, raced := false, false
		for ; i < len(gs) && gs[i].state == s; i++ {
			switch what := gs[i].what; {
			case what == "":
				unseen = true
			case race != "" && (what == doneGoal || strings.HasPrefix(what, "after ")):
				raced = true
			case w.alike[gs[i]]:
				alike = append(alike, what)
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
		if len(alike) > 0 && !unseen {
			lines = append(lines, name+": "+strings.Join(alike, ", ")+" (looks the same as letting go too early)")
		}
		if raced && !unseen {
			lines = append(lines, name+", hands off: "+race+", whichever comes first; wait there again and again until you have seen each")
		}
	}
	return lines
}

// race describes a state in which chance decides what happens by itself, else "".
func (w *walker) race(s machine.StateID) string {
	if _, ok := w.wait(w.at(s)); ok || len(w.p.Timers(s)) == 0 {
		return ""
	}
	where := func(m *machine.Move) string {
		if m == nil {
			return "nothing"
		}
		return w.d.Leads(&w.d.Transitions[m.Transition])
	}
	var ways []string
	if l := w.p.Length[s]; l >= 0 {
		ways = append(ways, fmt.Sprintf("its end after %s → %s", model.SayDuration(time.Duration(l)*time.Millisecond), where(w.p.Done(s))))
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
