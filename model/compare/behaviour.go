package compare

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"propwright/model"
	"propwright/model/machine"
)

// An effectKey is a cell of the matrix: an event in a state.
type effectKey struct {
	state string
	event string // as in `on`
}

// atEnd is how a deferred transition is said.
const atEnd = ", when the routine ends"

// effects are all that a state answers, by event; silence is left out.
type effects struct {
	of     map[string]string // "" is never in it
	events []string          // in the design's order
	kinds  map[string]model.Trigger
}

func effectsOf(p *machine.Program, s machine.StateID) effects {
	e := effects{of: map[string]string{}, kinds: map[string]model.Trigger{}}
	add := func(on model.Trigger, m *machine.Move) {
		if m == nil || m.Ignore {
			return
		}
		text := leads(p, m)
		if m.Defer {
			text += atEnd
		}
		name := on.String()
		e.of[name] = text
		e.events = append(e.events, name)
		e.kinds[name] = on
	}
	for id, on := range p.Events {
		add(on, p.Move(s, machine.EventID(id)))
	}
	if p.Length[s] >= 0 {
		add(model.Trigger{Kind: model.Done}, p.Done(s))
	}
	for _, t := range p.Timers(s) {
		add(p.Trigger(&t.Move), &t.Move)
	}
	return e
}

// leads says where a move leads: of an any_of the order does not count. Of one in
// turn it says what else takes the turns.
func leads(p *machine.Program, m *machine.Move) string {
	if m.Do {
		return "do " + p.Design.Value(model.SortTransition.At(0, m.Transition), "do")
	}
	text := p.To(m)
	c, ok := model.ParseChoice(text)
	if !ok {
		return text
	}
	if !c.InTurn {
		slices.Sort(c.States)
		return c.String()
	}
	t := &p.Design.Transitions[m.Transition]
	from := slices.DeleteFunc(slices.Clone(t.From), func(f model.From) bool {
		return f.Kind != "" && !slices.ContainsFunc(p.Design.States, func(s model.State) bool { return s.Kind == f.Kind })
	})
	if len(from) > 1 || len(t.On) > 1 || from[0].State == model.Any {
		text += fmt.Sprintf(", from %s on %s together", sorted(from), sorted(t.On))
	}
	return text
}

func sorted[T fmt.Stringer](all []T) string {
	var words []string
	for _, x := range all {
		words = append(words, x.String())
	}
	slices.Sort(words)
	return list(words)
}

// A shift is one change of behaviour, in all states that it is the same in.
type shift struct {
	area    Area
	name    string
	was, is string
	states  []string
}

type shifts []shift

func (all *shifts) add(area Area, name, was, is, state string) {
	at := slices.IndexFunc(*all, func(s shift) bool { return s.area == area && s.name == name && s.was == was && s.is == is })
	if at < 0 {
		at = len(*all)
		*all = append(*all, shift{area: area, name: name, was: was, is: is})
	}
	(*all)[at].states = append((*all)[at].states, state)
}

// behaviour compares what events do in the states that both designs have, and
// which of two timers comes first.
func (c *Comparison) behaviour(was, is *machine.Program) {
	var events, orders shifts
	for s := range c.New.States {
		name := c.New.States[s].Name
		before, both := was.State(name)
		if !both {
			continue
		}
		now := machine.StateID(s)
		c.events(&events, name, effectsOf(was, before), effectsOf(is, now))
		old := ties(was, before)
		won := ties(is, now)
		for _, t := range slices.SortedFunc(maps.Keys(won), func(a, b tie) int { return strings.Compare(a.String(), b.String()) }) {
			if w := old[t]; w != "" && w != won[t] {
				orders.add(AreaBehaviour, t.String(), w+" comes first", won[t]+" comes first", name)
			}
		}
	}
	for _, s := range append(events, orders...) {
		x := Change{Area: s.area, Kind: Changed, Name: s.name, Was: s.was, Is: s.is, In: c.where(s.states), States: s.states}
		switch {
		case s.area == AreaTiming:
			x.Name = "the way to " + s.name
		case s.was == "":
			x.Kind = New
		case s.is == "":
			x.Kind = Gone
		}
		c.add(x)
	}
}

// events compares what one state answers in both designs.
func (c *Comparison) events(all *shifts, state string, old, now effects) {
	differs := func(event string) { c.effects[effectKey{state, event}] = true }
	var gone []string
	for _, e := range old.events {
		if now.of[e] == "" {
			gone = append(gone, e)
		}
	}
	for _, e := range now.events {
		was, is := old.of[e], now.of[e]
		if was == is {
			continue
		}
		differs(e)
		if was == "" {
			if i := slices.IndexFunc(gone, func(g string) bool { return sameButTime(old.kinds[g], now.kinds[e]) && old.of[g] == is }); i >= 0 {
				differs(gone[i])
				all.add(AreaTiming, is, gone[i], e, state)
				gone = slices.Delete(gone, i, i+1)
				continue
			}
		}
		all.add(AreaBehaviour, e, was, is, state)
	}
	for _, e := range gone {
		differs(e)
		all.add(AreaBehaviour, e, old.of[e], "", state)
	}
}

// sameButTime reports whether two triggers differ in nothing but their time.
func sameButTime(a, b model.Trigger) bool {
	return a.Kind == b.Kind && a.Name == b.Name && (a.Kind == model.After || a.Kind == model.Hold)
}

// where names the states, or the kind whose states these are.
func (c *Comparison) where(states []string) string {
	all := map[model.StateKind][]string{}
	var every []string
	for i := range c.New.States {
		s := &c.New.States[i]
		if _, both := c.Old.Find(model.SortState, s.Name); both {
			all[s.Kind] = append(all[s.Kind], s.Name)
			every = append(every, s.Name)
		}
	}
	if len(states) > 1 && slices.Equal(states, every) {
		return "every state"
	}
	for _, k := range model.StateKinds {
		if len(states) > 1 && slices.Equal(states, all[k]) {
			return "every " + string(k) + " state"
		}
	}
	return list(states)
}

// more says how a new state is left, in its own words and those it inherits.
func (c *Comparison) more(e model.Elem) string {
	if e.Sort != model.SortState {
		return ""
	}
	x := effectsOf(c.New.Program, machine.StateID(e.Index))
	var order []string
	by := map[string][]string{}
	for _, event := range x.events {
		to := x.of[event]
		if by[to] == nil {
			order = append(order, to)
		}
		by[to] = append(by[to], event)
	}
	var ways []string
	for _, to := range order {
		ways = append(ways, fmt.Sprintf("%s → %s", list(by[to]), to))
	}
	return strings.Join(ways, "; ")
}
