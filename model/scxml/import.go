package scxml

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/machine"
)

// Import reads a chart: one that Export wrote, or a flat one of others, whose
// states have no states in them. The error is a model.Faults: what is no
// SCXML, and what a design cannot hold, each with its line.
//
// A chart knows no codes, pins or cues. The design that comes of it has codes
// and pins to be replaced, and routines that last as long as they should and
// do nothing; notes in it say so. Where the chart names no stop button, the
// design gets one, and the start state is its rest.
func Import(file string, data []byte) (*model.Design, error) {
	root, faults := parse(file, data)
	if root == nil || faults != nil {
		return nil, faults
	}
	r := &importer{
		parser: parser{file: file}, d: &model.Design{File: file},
		names: map[string]string{}, slugs: map[string]bool{model.Any: true, model.Back: true}, delays: map[string]map[string]time.Duration{}, sends: map[string][]string{},
	}
	r.document(root)
	if r.faults != nil {
		return nil, r.faults
	}
	d, err := model.Read(file, r.d.Format())
	if err != nil { // its lines are of a text that nobody has seen
		return nil, model.Faults{{Pos: model.Pos{File: file}, Wrong: "this chart cannot be made into a design: " + wrongs(err)}}
	}
	d.File = file
	return d, nil
}

// wrongs is what is wrong, without places.
func wrongs(err error) string {
	var faults model.Faults
	if !errors.As(err, &faults) {
		return err.Error()
	}
	var all []string
	for _, f := range faults {
		all = append(all, f.Wrong)
	}
	return strings.Join(all, "; ")
}

type importer struct {
	parser
	d      *model.Design
	names  map[string]string // of states, by id
	slugs  map[string]bool
	delays map[string]map[string]time.Duration // by state's name and event
	sends  map[string][]string                 // by state's name, in the order in which they are set
	start  string                              // the name of the state that it begins in

	transitions []transition
}

// A transition is one of the chart. Those of one turn are one in the design.
type transition struct {
	model.Transition
	turn string
}

// unsupported names what has no place in a design.
func (r *importer) unsupported(e *element, why string) {
	what := fmt.Sprintf("<%s> cannot be taken over", e.name)
	r.fault(e.pos, why, "%s", what)
}

func (r *importer) document(root *element) {
	name := root.attr("name")
	if name == "" {
		name = strings.TrimSuffix(filepath.Base(r.file), filepath.Ext(r.file))
	}
	r.d.Prop = model.Prop{Name: slugOf(name), Board: "atmega328p", Note: "taken over from " + model.Visible(filepath.Base(r.file))}
	var rows []rowOf
	for _, c := range root.children {
		switch {
		case c.name == "datamodel" && onlyOurs(c):
		case c.name == "state" && c.attr("id") == anyID:
			rows = append(rows, r.every(c)...)
		case c.name == "state":
			rows = append(rows, r.state(c, ""))
		default:
			r.unsupported(c, "a design's chart has states that stand beside each other, and nothing else")
		}
	}
	if len(r.d.States) == 0 {
		if r.faults == nil {
			r.fault(root.pos, "", "the chart has no state")
		}
		return
	}
	r.start = r.d.States[0].Name
	if initial := root.attr("initial"); initial != "" {
		if r.start = r.names[initial]; r.start == "" {
			r.fault(root.pos, "name one of its states", "the chart begins in %q, and a design in one state", initial)
			return
		}
	}
	r.kinds()
	for _, row := range rows {
		for _, t := range row.e.children {
			if t.name == "transition" {
				r.transition(row, t)
			}
		}
	}
	r.order()
	r.join()
	r.remote(root.prop("stop"))
}

// onlyOurs reports whether a data model holds nothing but what Export keeps.
func onlyOurs(e *element) bool {
	return !slices.ContainsFunc(e.children, func(c *element) bool {
		id := c.attr("id")
		number, turn := strings.CutPrefix(id, "Turn")
		_, err := strconv.Atoi(number)
		return id != deferName && id != chosenName && (!turn || err != nil)
	})
}

// A rowOf is an element whose transitions hold for a source.
type rowOf struct {
	from model.From
	e    *element
}

// every reads the compound states that Export writes.
func (r *importer) every(e *element) []rowOf {
	rows := []rowOf{{model.From{State: model.Any}, e}}
	for _, c := range e.children {
		switch {
		case c.name == "transition":
		case c.name == "history" && c.attr("id") == backID:
		case c.name == "state" && c.attr("id") == idleID:
			inner := r.every(c)
			rows = append(rows, inner[1:]...)
		case c.name == "state" && kindOf(c.attr("id")) != "":
			kind := kindOf(c.attr("id"))
			for _, s := range c.children {
				switch s.name {
				case "state":
					rows = append(rows, r.state(s, kind))
				case "transition":
				default:
					r.unsupported(s, "it has no place in a kind of states")
				}
			}
			rows = append(rows, rowOf{model.From{State: model.Any, Kind: kind}, c})
		default:
			r.unsupported(c, "it has no place here")
		}
	}
	return rows
}

func kindOf(id string) model.StateKind {
	for _, k := range model.StateKinds {
		if kindIDs[k] == id {
			return k
		}
	}
	return ""
}

// state reads one state; its kind is "" where the chart does not tell.
func (r *importer) state(e *element, kind model.StateKind) rowOf {
	id := e.attr("id")
	if id == "" {
		r.fault(e.pos, "", "a state without an id cannot be taken over")
		return rowOf{e: e}
	}
	name := id
	if !model.IsName(name) || r.slugs[name] {
		name = slugOf(id)
		for i := 2; r.slugs[name]; i++ {
			name = fmt.Sprintf("%.20s-%d", slugOf(id), i)
		}
	}
	r.slugs[name], r.names[id] = true, name
	s := model.State{Name: name, Kind: kind, Label: e.prop("label"), Plays: e.prop("plays")}
	if name != id && s.Label == "" {
		s.Label = model.Visible(id)
	}
	r.delays[name] = map[string]time.Duration{}
	for _, c := range e.children {
		switch c.name {
		case "transition":
		case "onentry", "onexit":
			for _, x := range c.children {
				r.handler(name, c.name, x)
			}
		case "state", "parallel", "final", "history", "initial":
			r.unsupported(c, "only flat charts can be: a state has no states in it")
		default:
			r.unsupported(c, "states have transitions and timers only")
		}
	}
	length, ends := r.delays[name][doneEvent]
	if s.Plays == "" && ends {
		s.Plays = name
	}
	if !model.IsName(s.Plays) {
		s.Plays = ""
	}
	if s.Plays != "" && r.d.Routine(s.Plays) == nil {
		rt := model.Routine{Name: s.Plays, Length: length, Note: "its cues were not in the chart"}
		if !ends {
			rt.Loop, rt.Length = true, time.Second
		}
		r.d.Routines = append(r.d.Routines, rt)
	}
	r.d.States = append(r.d.States, s)
	return rowOf{model.From{State: name}, e}
}

// handler reads what a state does on entering and leaving: timers only.
func (r *importer) handler(state, when string, e *element) {
	switch {
	case e.name == "send" && when == "onentry" && e.attr("event") != "" && e.attr("target") == "" && e.attr("type") == "":
		delay, ok := parseDelay(e.attr("delay"))
		if _, ours := triggerOf(e.attr("event")); !ok && (!ours || e.attr("delayexpr") == "") {
			r.fault(e.pos, `write for example delay="500ms" or delay="2s", up to 24 days`, "the delay of %q is not a time that can be taken over", e.attr("event"))
			return
		}
		r.delays[state][e.attr("event")] = delay
		r.sends[state] = append(r.sends[state], e.attr("event"))
	case e.name == "cancel":
	case e.name == "assign" && e.attr("location") == deferName:
	default:
		r.unsupported(e, "on entering a state timers are set, on leaving it they are cancelled, and nothing else")
	}
}

// delayUnits are those of the Recommendation's times, which are CSS2's and more.
var delayUnits = map[string]time.Duration{
	"ms": time.Millisecond, "s": time.Second, "m": time.Minute, "h": time.Hour, "d": 24 * time.Hour,
}

// parseDelay reads a time, in whole milliseconds, that a machine can count.
func parseDelay(s string) (time.Duration, bool) {
	s = strings.TrimPrefix(s, "+")
	name := strings.TrimLeft(s, "0123456789.")
	unit, ok := delayUnits[name]
	n, err := strconv.ParseFloat(strings.TrimSuffix(s, name), 64)
	if !ok || err != nil || n*float64(unit) > float64(machine.MaxTime) {
		return 0, false
	}
	return time.Duration(n * float64(unit)).Round(time.Millisecond), true
}

// kinds finds the kinds of states that the chart does not tell: the one it
// starts in rests, those with a routine perform, others idle.
func (r *importer) kinds() {
	for i := range r.d.States {
		s := &r.d.States[i]
		if s.Name == r.start {
			s.Start = true
			s.Kind = cmp.Or(s.Kind, model.Dormant)
		}
		switch {
		case s.Kind != "":
		case s.Plays != "":
			s.Kind = model.Performing
		default:
			s.Kind = model.Ambient
		}
	}
}

func (r *importer) transition(row rowOf, e *element) {
	if e.prop("waited") != "" || e.prop("among") != "" {
		return // it is part of one that waits, or chooses
	}
	t := transition{Transition: model.Transition{From: []model.From{row.from}}, turn: e.prop("turn")}
	choice := model.Choice{States: strings.Fields(e.prop("any_of"))}
	if len(choice.States) == 0 {
		choice.InTurn, choice.States = true, strings.Fields(e.prop("in_turn"))
	}
	chooses := len(choice.States) > 1
	if c := e.attr("cond"); c != "" && !chooses {
		r.fault(e.pos, "a design has no conditions: make a state for each case", "a transition with the condition %q cannot be taken over", c)
		return
	}
	if e.attr("event") == "" {
		r.fault(e.pos, `wait with a timer, or join the states`, "a transition without an event cannot be taken over")
		return
	}
	waits, does := e.prop("waits"), e.prop("do")
	for _, c := range e.children {
		if (waits == "" && !chooses || c.name != "assign") && (does == "" || c.name != "log") {
			r.unsupported(c, "a transition leads to a state and does nothing else")
			return
		}
	}
	for _, event := range strings.Fields(e.attr("event")) {
		on, ok := r.trigger(row.from.State, event)
		if !ok {
			r.fault(e.pos, "name the events one by one", "the event %q stands for many and cannot be taken over", event)
			return
		}
		t.On = append(t.On, on)
	}
	target := cmp.Or(waits, e.attr("target"))
	switch {
	case chooses:
		for i, id := range choice.States {
			if choice.States[i] = r.names[id]; r.names[id] == "" {
				r.fault(e.pos, "", "%q is not one of the states", id)
				return
			}
		}
		t.To, t.Defer = choice.String(), waits != ""
	case target == "":
		t.Ignore = true
		if does != "" {
			t.Note = "was to do, with outputs, which a chart does not have: " + model.Visible(does)
		}
	case target == backID:
		t.To, t.Defer = model.Back, waits != ""
	case r.names[target] == "":
		r.fault(e.pos, "", "%q is not one of the states", target)
		return
	default:
		t.To, t.Defer = r.names[target], waits != ""
	}
	if i := slices.IndexFunc(r.transitions, func(x transition) bool { return x.turn != "" && x.turn == t.turn }); i >= 0 {
		r.transitions[i].share(&t)
		return
	}
	r.transitions = append(r.transitions, t)
}

// order puts the transitions of timers into the order in which their states
// set them: of two that are due in the same millisecond the first one set
// comes first. A chart of others may set them in orders that contradict each
// other; then the document's order stays.
func (r *importer) order() {
	after := make([][]int, len(r.transitions)) // those that come later
	before := make([]int, len(r.transitions))  // how many come earlier
	for i := range r.d.States {
		s := &r.d.States[i]
		last := -1
		for _, event := range r.sends[s.Name] {
			on, _ := r.trigger(s.Name, event)
			if at := r.waiting(s, on); at >= 0 && at != last {
				if last >= 0 {
					after[last] = append(after[last], at)
					before[at]++
				}
				last = at
			}
		}
	}
	var sorted []transition
	done := make([]bool, len(before))
	for len(sorted) < len(before) {
		next := slices.IndexFunc(before, func(n int) bool { return n == 0 })
		if next < 0 { // in a circle
			next = slices.Index(done, false)
		}
		before[next], done[next] = -1, true
		for _, i := range after[next] {
			if !done[i] {
				before[i]--
			}
		}
		sorted = append(sorted, r.transitions[next])
	}
	r.transitions = sorted
}

// waiting finds the transition that waits for a timer in a state; -1 where
// there is none.
func (r *importer) waiting(s *model.State, on model.Trigger) int {
	if on.Kind != model.After {
		return -1
	}
	for _, from := range []model.From{{State: s.Name}, {State: model.Any, Kind: s.Kind}, {State: model.Any}} {
		for i := range r.transitions {
			t := &r.transitions[i]
			is := func(f model.From) bool { return f.String() == from.String() }
			if slices.ContainsFunc(t.From, is) && slices.ContainsFunc(t.On, func(x model.Trigger) bool { return x.String() == on.String() }) {
				return i
			}
		}
	}
	return -1
}

// join makes one transition of neighbours that lead the same way from one
// source.
func (r *importer) join() {
	var joined []transition
	for _, t := range r.transitions {
		if n := len(joined); n > 0 {
			if last := &joined[n-1]; t.turn == "" && last.From[0].String() == t.From[0].String() && last.To == t.To && last.Note == t.Note && last.Ignore == t.Ignore && last.Defer == t.Defer {
				last.On = append(last.On, t.On...)
				continue
			}
		}
		joined = append(joined, t)
	}
	for _, t := range joined {
		r.d.Transitions = append(r.d.Transitions, t.Transition)
	}
}

// share adds the sources and triggers of another transition that takes the same turns.
func (t *transition) share(other *transition) {
	for _, from := range other.From {
		if !slices.ContainsFunc(t.From, func(f model.From) bool { return f.String() == from.String() }) {
			t.From = append(t.From, from)
		}
	}
	for _, on := range other.On {
		if !slices.ContainsFunc(t.On, func(x model.Trigger) bool { return x.String() == on.String() }) {
			t.On = append(t.On, on)
		}
	}
}

// trigger is what an event means; other people's events are buttons, or the
// timers of their state.
func (r *importer) trigger(state, event string) (model.Trigger, bool) {
	if on, ok := triggerOf(event); ok {
		return on, true
	}
	if d, ok := r.delays[state][event]; ok {
		return model.Trigger{Kind: model.After, After: model.Span{Lo: d, Hi: d}}, true
	}
	if strings.HasSuffix(event, "*") || strings.HasSuffix(event, ".") {
		return model.Trigger{}, false
	}
	return model.Trigger{Kind: model.Press, Name: slugOf(event)}, true
}

// remote gives the design the buttons and inputs that its transitions name.
func (r *importer) remote(stop string) {
	d := r.d
	d.Remote.Pin = 2
	has := func(sort model.Sort, name string) bool {
		_, ok := d.Find(sort, name)
		return ok
	}
	add := func(name string) {
		if has(model.SortButton, name) {
			return
		}
		n := len(d.Remote.Buttons) + 1
		d.Remote.Buttons = append(d.Remote.Buttons, model.Button{
			Name: name, Code: fmt.Sprintf("nec:0x%02X:0x%02X", n>>8, n&0xff), Unlearned: true,
		})
	}
	if model.IsPrintedName(stop) {
		add(stop)
	}
	for i := range d.Transitions {
		for _, on := range d.Transitions[i].On {
			switch on.Kind.Of() {
			case model.SortButton:
				add(on.Name)
			case model.SortEvent:
				if !has(model.SortEvent, on.Name) {
					d.Events = append(d.Events, model.Event{Name: on.Name})
				}
			case model.SortInput:
				if has(model.SortInput, on.Name) {
					continue
				}
				d.Inputs = append(d.Inputs, model.Input{
					Name: on.Name, Pin: 3 + len(d.Inputs), Pull: model.PullUp, Debounce: 20 * time.Millisecond, Note: "put this switch's own pin here",
				})
			}
		}
	}
	if d.Remote.Stop = stop; model.IsPrintedName(stop) {
		return
	}
	d.Remote.Stop = "stop"
	for i := 2; has(model.SortButton, d.Remote.Stop); i++ {
		d.Remote.Stop = fmt.Sprintf("stop-%d", i)
	}
	add(d.Remote.Stop)
	d.Transitions = append(d.Transitions, model.Transition{
		From: []model.From{{State: model.Any}}, On: []model.Trigger{{Kind: model.Press, Name: d.Remote.Stop}},
		To: r.start, Note: "the chart names no stop button; every prop needs one",
	})
}

// slugOf makes a name of the design file's form.
func slugOf(s string) string {
	var b strings.Builder
	for _, c := range strings.ToLower(s) {
		switch {
		case c >= 'a' && c <= 'z', c >= '0' && c <= '9' && b.Len() > 0:
			b.WriteRune(c)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() == 24 {
			break
		}
	}
	if name := strings.Trim(b.String(), "-"); name != "" {
		return name
	}
	return "x"
}
