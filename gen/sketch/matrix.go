package sketch

import (
	"fmt"
	"maps"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

type state struct {
	Name, Upper, Remark string
	Kind                string
	Timers, FirstTimer  int
	Length              string
	Pose, PoseCount     int
	Routine             string
	Drift, DriftCount   int
}

type event struct{ Name, Text string }

type row struct {
	Title string
	First int
	Rules []rule
}

type rule struct{ Event, Act, Target, Remark string }

type timer struct {
	Act, Target, Remark string
	Lo, Hi              uint32
}

type choice struct {
	Turn   string // its place in the machine's turns
	First  int    // of its states in the list of all
	States []string
}

var kindNames = map[model.StateKind]string{
	model.Dormant: "PW_DORMANT", model.Ambient: "PW_AMBIENT", model.Performing: "PW_PERFORMING",
}

func (b *builder) prop() {
	p := &b.d.Prop
	b.Label = comment(p.Label)
	if b.Label == "" {
		b.Label = p.Name
	}
	if p.Note != "" {
		b.Notes = append(b.Notes, comment(p.Note))
	}
	if note := b.d.Supply.Note; note != "" {
		b.Notes = append(b.Notes, remark("Supply", note))
	}
	b.Board, b.Portable = b.board.Name, b.board.Portable
	b.UART, b.Noise = b.board.UART, b.board.Noise
	b.Seed = p.Seed
}

// matrix turns the compiled program into rows, timers and state
// records. score adds poses and routines to the records.
func (b *builder) matrix() {
	b.Start = upper(b.p.Name(b.p.Start))
	for n, t := range Orders(b.p) {
		b.ordersOf[t] = n
	}
	for _, t := range b.p.Events {
		b.Events = append(b.Events, event{eventName(t), t.String()})
	}
	b.Example = b.example()
	for i := range b.d.States {
		s := &b.d.States[i]
		st := state{
			Name: s.Name, Upper: upper(s.Name), Remark: remark(string(s.Kind), s.Label, s.Note),
			Kind: kindNames[s.Kind], Length: "PW_NEVER", Routine: "PW_NO_CUE",
			FirstTimer: len(b.Timers),
		}
		if l := b.p.Length[i]; l >= 0 {
			st.Length = fmt.Sprintf("%dUL", l)
		}
		timers := b.p.Timers(machine.StateID(i))
		st.Timers = len(timers)
		b.MaxTimers = max(b.MaxTimers, len(timers))
		for _, t := range timers {
			act, target := b.move(&t.Move)
			on := b.trigger(&t.Move)
			why := remark(s.Name, on.String(), b.d.Transitions[t.Move.Transition].Note)
			b.Timers = append(b.Timers, timer{act, target, why, t.Lo, t.Hi})
		}
		b.States = append(b.States, st)
	}
	for _, r := range heeded(b.p) {
		b.row(r.title, r.rules)
	}
	b.choices()
}

// A said is a row of the matrix.
type said struct {
	title string
	rules []machine.Rule
}

// heeded returns the matrix without rows that no state uses: rows for a kind without
// states, rows that each of its states overrides, and rows for the end of a routine
// where none ends.
func heeded(p *machine.Program) (rows []said) {
	of := map[model.StateKind][]machine.StateID{}
	add := func(title string, rules []machine.Rule, states ...machine.StateID) {
		rows = append(rows, said{title, slices.DeleteFunc(rules, func(r machine.Rule) bool {
			return !slices.ContainsFunc(states, func(s machine.StateID) bool {
				if r.Event == machine.DoneEvent {
					return p.Length[s] >= 0 && p.Done(s) == r.Move
				}
				return p.Move(s, r.Event) == r.Move
			})
		})})
	}
	for s := range machine.StateID(len(p.Design.States)) {
		add(p.Name(s), p.NamedRow(s), s)
		of[p.Kind(s)] = append(of[p.Kind(s)], s)
	}
	for _, k := range model.StateKinds {
		add("any "+string(k), p.KindRow(k), of[k]...)
	}
	add("any", p.AnyRow(), slices.Concat(slices.Collect(maps.Values(of))...)...)
	return rows
}

// Orders returns the transitions that some state takes and that give orders, by number
// in the firmware.
func Orders(p *machine.Program) (all []int) {
	add := func(m *machine.Move) {
		if m.Do {
			all = append(all, m.Transition)
		}
	}
	for _, r := range heeded(p) {
		for _, rule := range r.rules {
			add(rule.Move)
		}
	}
	for s := range machine.StateID(len(p.Design.States)) {
		for _, t := range p.Timers(s) {
			add(&t.Move)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

func (b *builder) row(title string, rules []machine.Rule) {
	r := row{Title: title, First: b.RuleCount}
	for _, m := range rules {
		act, target := b.move(m.Move)
		name := "PW_EVENT_DONE"
		if m.Event != machine.DoneEvent {
			name = b.Events[m.Event].Name
		}
		note := b.d.Transitions[m.Move.Transition].Note
		r.Rules = append(r.Rules, rule{name, act, target, comment(note)})
	}
	b.RuleCount += len(rules)
	b.Rows = append(b.Rows, r)
}

func (b *builder) move(m *machine.Move) (act, target string) {
	switch {
	case m.Ignore:
		return "PW_IGNORE", "PW_NOWHERE"
	case m.Do:
		return "PW_DO", fmt.Sprint(b.ordersOf[m.Transition])
	case m.Defer:
		act = "PW_DEFER"
	default:
		act = "PW_GO"
	}
	switch c, n := b.p.Choice(m.Target); {
	case c != nil:
		return act, fmt.Sprintf("PW_CHOICE + %dU", n)
	case m.Target == machine.BackTarget:
		return act, "PW_BACK"
	}
	return act, "PW_STATE_" + upper(b.p.Name(m.Target))
}

// choices turns the targets that are chosen when their transition is taken into
// records and lists of states.
func (b *builder) choices() {
	for _, c := range b.p.Choices {
		x := choice{First: b.ChoiceStates, Turn: "PW_AT_RANDOM"}
		if c.InTurn {
			x.Turn = fmt.Sprint(b.Turns)
			b.Turns++
		} else {
			b.AtRandom = true
		}
		for _, s := range c.States {
			x.States = append(x.States, "PW_STATE_"+upper(b.p.Name(s)))
		}
		b.ChoiceStates += len(c.States)
		b.Choices = append(b.Choices, x)
	}
}

func (b *builder) trigger(m *machine.Move) model.Trigger {
	return b.d.Transitions[m.Transition].On[m.Trigger]
}

// example returns an event to show in the sketch's comments: one meant to be posted
// or, if possible, not one of the stop button.
func (b *builder) example() string {
	if len(b.d.Events) > 0 {
		return eventName(model.Trigger{Kind: model.Posted, Name: b.d.Events[0].Name})
	}
	name := eventName(model.Trigger{Kind: model.Press, Name: b.d.Remote.Stop})
	for _, t := range b.p.Events {
		if t.Name != b.d.Remote.Stop {
			return eventName(t)
		}
	}
	return name
}

// eventName returns an outside event's constant in tables.h.
func eventName(t model.Trigger) string {
	name := "PW_EVENT_" + upper(t.Kind.String()) + "_" + upper(t.Name)
	switch t.Kind {
	case model.Hold:
		name += fmt.Sprintf("_%dMS", machine.Millis(t.For))
	case model.Posted:
		name = "PW_EVENT_" + upper(t.Name)
	}
	return name
}
