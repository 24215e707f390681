package scxml

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"propwright/model"
	"propwright/model/machine"
)

// Export writes the behaviour of a compiled design.
//
// A time drawn from a range is drawn by the interpreter, and so is a choice at
// random, so two runs differ; the data model is ECMAScript's where these, a choice in
// turn or a deferred transition need one, else the null data model. The prop's name has _ for -, as some
// interpreters make an identifier of it.
func Export(p *machine.Program) []byte {
	w := &exporter{d: p.Design, p: p}
	w.document()
	return w.b.Bytes()
}

type exporter struct {
	b     bytes.Buffer
	d     *model.Design
	p     *machine.Program
	depth int
}

// open begins an element with attributes in pairs; those without a value are
// left out.
func (w *exporter) open(name string, attrs ...string) { w.tag(name, ">", attrs); w.depth++ }

// empty writes an element without content.
func (w *exporter) empty(name string, attrs ...string) { w.tag(name, "/>", attrs) }

func (w *exporter) tag(name, end string, attrs []string) {
	w.indent()
	w.b.WriteString("<" + name)
	for i := 0; i < len(attrs); i += 2 {
		if attrs[i+1] == "" {
			continue
		}
		w.b.WriteString(" " + attrs[i] + `="`)
		xml.EscapeText(&w.b, []byte(attrs[i+1]))
		w.b.WriteByte('"')
	}
	w.b.WriteString(end + "\n")
}

func (w *exporter) close(name string) {
	w.depth--
	w.indent()
	w.b.WriteString("</" + name + ">\n")
}

func (w *exporter) indent() {
	for range w.depth {
		w.b.WriteString("  ")
	}
}

func (w *exporter) document() {
	w.b.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n")
	datamodel := "null"
	if w.needsData() {
		datamodel = "ecmascript"
	}
	start := w.p.Name(w.p.Start)
	w.open("scxml", "xmlns", namespace, "xmlns:prop", ours, "version", "1.0", "name", strings.ReplaceAll(w.d.Prop.Name, "-", "_"),
		"datamodel", datamodel, "initial", start, "prop:stop", w.d.Remote.Stop)
	if w.defers() || len(w.p.Choices) > 0 {
		w.open("datamodel")
		if w.defers() {
			w.empty("data", "id", deferName, "expr", "''")
		}
		if len(w.p.Choices) > 0 {
			w.empty("data", "id", chosenName, "expr", "''")
		}
		for i := range w.d.Transitions {
			if c, ok := model.ParseChoice(w.d.Transitions[i].To); ok && c.InTurn {
				w.empty("data", "id", turnName(i), "expr", "0")
			}
		}
		w.close("datamodel")
	}
	w.open("state", "id", anyID, "initial", start)
	w.open("state", "id", idleID)
	w.open("history", "id", backID, "type", "deep")
	w.empty("transition", "target", start)
	w.close("history")
	w.kind(model.Dormant)
	w.kind(model.Ambient)
	w.close("state")
	w.kind(model.Performing)
	w.row(model.From{State: model.Any})
	w.close("state")
	w.close("scxml")
}

func (w *exporter) defers() bool {
	return slices.ContainsFunc(w.d.Transitions, func(t model.Transition) bool { return t.Defer })
}

func (w *exporter) needsData() bool {
	for i := range w.d.States {
		for _, t := range w.p.Timers(machine.StateID(i)) {
			if t.Lo < t.Hi {
				return true
			}
		}
	}
	return w.defers() || len(w.p.Choices) > 0
}

// kind writes the compound state of a kind, if it has any.
func (w *exporter) kind(k model.StateKind) {
	if !slices.ContainsFunc(w.d.States, func(s model.State) bool { return s.Kind == k }) {
		return
	}
	w.open("state", "id", kindIDs[k])
	for i := range w.d.States {
		if w.d.States[i].Kind == k {
			w.state(machine.StateID(i))
		}
	}
	w.row(model.From{State: model.Any, Kind: k})
	w.close("state")
}

func (w *exporter) state(id machine.StateID) {
	s := &w.d.States[id]
	w.open("state", "id", s.Name, "prop:label", s.Label, "prop:plays", s.Plays)
	timers, length := w.p.Timers(id), w.p.Length[id]
	if length >= 0 || len(timers) > 0 {
		w.open("onentry")
		if length >= 0 {
			w.empty("send", "event", doneEvent, "delay", fmt.Sprintf("%dms", length), "id", s.Name+"."+doneEvent)
		}
		for _, t := range timers {
			event := eventName(w.p.Trigger(&t.Move))
			fixed, drawn := fmt.Sprintf("%dms", t.Lo), ""
			if t.Lo < t.Hi {
				fixed, drawn = "", fmt.Sprintf("(%d + Math.floor(Math.random() * %d)) + 'ms'", t.Lo, t.Hi-t.Lo+1)
			}
			w.empty("send", "event", event, "delay", fixed, "delayexpr", drawn, "id", s.Name+"."+event)
		}
		w.close("onentry")
	}
	waits := w.waiting(id)
	if length >= 0 || len(timers) > 0 || len(waits) > 0 {
		w.open("onexit")
		if length >= 0 {
			w.empty("cancel", "sendid", s.Name+"."+doneEvent)
		}
		for _, t := range timers {
			w.empty("cancel", "sendid", s.Name+"."+eventName(w.p.Trigger(&t.Move)))
		}
		if len(waits) > 0 {
			w.empty("assign", "location", deferName, "expr", "''")
		}
		w.close("onexit")
	}
	// What waits is taken in place of done, so it comes first.
	for _, target := range waits {
		if length < 0 {
			break // nothing ends here
		}
		cond := fmt.Sprintf("%s == '%s'", deferName, target)
		if i, ok := strings.CutPrefix(target, choicePrefix); ok {
			n, _ := strconv.Atoi(i)
			w.choice(n, doneEvent, cond, "prop:waited", "true")
			continue
		}
		w.empty("transition", "event", doneEvent, "cond", cond, "target", target, "prop:waited", "true")
	}
	w.row(model.From{State: s.Name})
	w.close("state")
}

// waiting lists the ids of the states to which transitions can wait here.
func (w *exporter) waiting(id machine.StateID) []string {
	var targets []string
	add := func(m *machine.Move) {
		if m != nil && m.Defer && !slices.Contains(targets, w.target(m.Transition)) {
			targets = append(targets, w.target(m.Transition))
		}
	}
	for e := range w.p.Events {
		add(w.p.Move(id, machine.EventID(e)))
	}
	for _, t := range w.p.Timers(id) {
		add(&t.Move)
	}
	return targets
}

// target is the id of the state that a transition leads to; a choice has one of its
// own, which is not a state's.
func (w *exporter) target(transition int) string {
	to := w.d.Transitions[transition].To
	if _, ok := model.ParseChoice(to); ok {
		return choicePrefix + strconv.Itoa(transition)
	}
	if to == model.Back {
		return backID
	}
	return to
}

// choiceMarks are the attributes by which import knows a choice.
func choiceMarks(transition int, c model.Choice) []string {
	names := strings.Join(c.States, " ")
	if c.InTurn {
		return []string{"prop:in_turn", names, "prop:turn", turnName(transition)}
	}
	return []string{"prop:any_of", names}
}

// choice writes a transition for each state that a choice can lead to, with its
// condition beside cond; marks are the further attributes of the first. The
// interpreter looks at them in order: each has its share of those that are left.
func (w *exporter) choice(transition int, event, cond string, marks ...string) {
	c, _ := model.ParseChoice(w.d.Transitions[transition].To)
	for k, name := range c.States {
		when := fmt.Sprintf("%s == %d", turnName(transition), k)
		location, expr := turnName(transition), strconv.Itoa((k+1)%len(c.States))
		if !c.InTurn {
			later := "['" + strings.Join(c.States[k:], "', '") + "']"
			when = fmt.Sprintf("%s != '%s' && Math.random() * (%d - (%s.indexOf(%[1]s) < 0 ? 0 : 1)) < 1", chosenName, name, len(c.States)-k, later)
			location, expr = chosenName, "'"+name+"'"
		}
		if cond != "" {
			when = cond + " && " + when
		}
		w.open("transition", append([]string{"event", event, "cond", when, "target", name}, marks...)...)
		w.empty("assign", "location", location, "expr", expr)
		w.close("transition")
		if cond == "" {
			marks = []string{"prop:among", "true"}
		}
	}
}

// row writes the transitions of one source, the first of two that contend.
func (w *exporter) row(from model.From) {
	said := map[string]bool{}
	for i := range w.d.Transitions {
		t := &w.d.Transitions[i]
		if !slices.ContainsFunc(t.From, func(f model.From) bool { return f.State == from.State && f.Kind == from.Kind }) {
			continue
		}
		for _, on := range t.On {
			event := eventName(on)
			if said[event] {
				continue
			}
			said[event] = true
			var marks []string
			choice, chooses := model.ParseChoice(t.To)
			if chooses {
				marks = choiceMarks(i, choice)
			}
			switch {
			case t.Ignore:
				w.empty("transition", "event", event)
			case len(t.Do) > 0:
				does := w.d.Does(t)
				w.open("transition", "event", event, "prop:do", does)
				w.empty("log", "label", "do", "expr", "'"+does+"'")
				w.close("transition")
			case t.Defer:
				w.open("transition", append([]string{"event", event, "prop:waits", w.target(i)}, marks...)...)
				w.empty("assign", "location", deferName, "expr", "'"+w.target(i)+"'")
				w.close("transition")
			case chooses:
				w.choice(i, event, "", marks...)
			default:
				w.empty("transition", "event", event, "target", w.target(i))
			}
		}
	}
}
