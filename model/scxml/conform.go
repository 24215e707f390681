package scxml

import (
	"regexp"
	"slices"
	"strings"
	"sync"
)

// Forms of attributes, as the schemas' datatypes have them. An event's
// descriptor may also end in a dot (section 3.12.1). Each is compiled when it is
// first needed: classes of Unicode take a millisecond of every command's start.
var (
	idForm    = form(`^[\pL_][\pL\pN._-]*$`)
	nameForm  = form(`^[\pL\pN._:-]+$`)
	eventForm = form(`^(\*|[\pL\pN_:-]+(\.[\pL\pN_:-]+)*(\.\*?)?)$`)
	sentForm  = form(`^[\pL\pN_:-]+(\.[\pL\pN_:-]+)*$`)
	delayForm = form(`^[+-]?\d*(\.\d+)?(ms|s|m|h|d)$`)
)

// form tells whether a text has a form.
func form(pattern string) func(string) bool {
	compiled := sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(pattern) })
	return func(text string) bool { return compiled().MatchString(text) }
}

// words are the values that attributes have to choose from.
var words = map[string][]string{
	"transition type": w("external internal"), "history type": w("shallow deep"),
	"scxml binding": w("early late"), "invoke autoforward": w("true false"), "scxml version": {"1.0"},
}

// conform holds an element and all in it against what takes the whole
// document to see.
func (p *parser) conform(e *element) {
	r := rules[e.name]
	for _, a := range r.required {
		if !e.has("@" + a) {
			p.fault(e.pos, "", "<%s> needs the attribute %q", e.name, a)
		}
	}
	for _, x := range r.either {
		if e.has(x[0]) && e.has(x[1]) {
			p.fault(e.pos, "keep one of them", "<%s> has both %s and %s", e.name, part(x[0]), part(x[1]))
		}
	}
	for _, a := range e.attrs {
		if choice := words[e.name+" "+a.Name.Local]; a.Name.Space == "" && choice != nil && !slices.Contains(choice, a.Value) {
			p.fault(e.pos, "write "+strings.Join(choice, " or "), "the %s of <%s> is %q", a.Name.Local, e.name, a.Value)
		}
	}
	switch e.name {
	case "scxml":
		if name := e.attr("name"); name != "" && !nameForm(name) {
			p.fault(e.pos, "", "%q is not a name for a chart", name)
		}
		if e.count("state parallel final") == 0 {
			p.fault(e.pos, "", "the chart has no state")
		}
		p.descend(e, e.attr("initial"))
	case "state":
		if (e.has("@initial") || e.has("initial")) && e.count("state parallel final") == 0 {
			p.fault(e.pos, "", "the state %q has no states in it, and so none to begin with", e.attr("id"))
		}
		p.descend(e, e.attr("initial"))
		p.once(e, "initial", "datamodel")
	case "parallel":
		p.once(e, "datamodel")
	case "final":
		p.once(e, "donedata")
	case "transition":
		p.transition(e)
	case "initial", "history":
		p.entrance(e)
	case "raise", "send":
		if event := e.attr("event"); event != "" && !sentForm(event) {
			p.fault(e.pos, "", "%q is not an event that can be sent", event)
		}
		if delay := e.attr("delay"); delay != "" && !delayForm(delay) {
			p.fault(e.pos, `write for example delay="500ms" or delay="2s"`, "the delay of %q is not a time", e.attr("event"))
		}
		if e.name == "send" && !e.has("@event") && !e.has("@eventexpr") && !e.has("content") && !e.has("param") {
			p.fault(e.pos, "", "a <send> has an event; this has none")
		}
		p.once(e, "content")
	case "cancel":
		switch id := e.attr("sendid"); {
		case id == "" && !e.has("@sendidexpr"):
			p.fault(e.pos, "", "a <cancel> says which <send> it takes back; this does not")
		case id != "" && !p.sends[id]:
			p.fault(e.pos, "", "there is no <send> with the id %q", id)
		}
	}
	for _, c := range e.children {
		p.conform(c)
	}
}

func (p *parser) transition(e *element) {
	if e.attr("event") == "" && e.attr("cond") == "" && e.attr("target") == "" {
		p.fault(e.pos, "", "a transition has an event, a condition or a target; this has none")
	}
	for _, d := range strings.Fields(e.attr("event")) {
		if !eventForm(d) {
			p.fault(e.pos, "", "%q is not an event", d)
		}
	}
	for _, id := range strings.Fields(e.attr("target")) {
		if !p.ids[id] {
			p.fault(e.pos, "", "there is no state %q", id)
		}
	}
}

// entrance checks what leads into a state's states: one transition, without
// an event or a condition.
func (p *parser) entrance(e *element) {
	if e.count("transition") != 1 {
		p.fault(e.pos, "", "<%s> has one transition; this has %d", e.name, e.count("transition"))
	}
	for _, t := range e.children {
		if t.name == "transition" && (t.has("@event") || t.has("@cond") || t.attr("target") == "") {
			p.fault(t.pos, "", "the transition of <%s> has a target, and neither an event nor a condition", e.name)
		}
	}
}

// descend checks that what a chart or a state begins with is in it.
func (p *parser) descend(e *element, initial string) {
	for _, id := range strings.Fields(initial) {
		if !e.holds(id) {
			p.fault(e.pos, "", "there is no state %q in it to begin with", id)
		}
	}
}

// once checks that elements are there once at most.
func (p *parser) once(e *element, names ...string) {
	for _, n := range names {
		if e.count(n) > 1 {
			p.fault(e.pos, "", "<%s> has one <%s> at most; this has %d", e.name, n, e.count(n))
		}
	}
}

// has reports whether there is an attribute, "@name", or an element in it.
func (e *element) has(what string) bool {
	name, isAttr := strings.CutPrefix(what, "@")
	if !isAttr {
		return e.count(what) > 0
	}
	for _, a := range e.attrs {
		if a.Name.Space == "" && a.Name.Local == name {
			return true
		}
	}
	return false
}

// count counts the elements in it that have one of the names.
func (e *element) count(names string) (n int) {
	for _, c := range e.children {
		if slices.Contains(w(names), c.name) {
			n++
		}
	}
	return n
}

// holds reports whether a state with the id is in it, however deep.
func (e *element) holds(id string) bool {
	for _, c := range e.children {
		if slices.Contains(w("state parallel final"), c.name) && (c.attr("id") == id || c.holds(id)) {
			return true
		}
	}
	return false
}

func part(what string) string {
	if name, isAttr := strings.CutPrefix(what, "@"); isAttr {
		return "the attribute " + name
	}
	return "<" + what + ">"
}
