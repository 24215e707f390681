package model

import (
	"fmt"
	"slices"
	"strings"

	"propwright/model/tomltree"
)

// A Choice is a target that is settled each time its transition is taken.
// Transition.To has it as the text that String gives.
type Choice struct {
	InTurn bool     // one after the other; else at random, but not the one of the last time
	States []string // at least two different ones; each once unless InTurn
}

// choiceForms are the two keys of a choice in a file, with the words for it.
var choiceForms = [...]struct{ key, words string }{{"any_of", "any of "}, {"in_turn", "in turn "}}

func (c Choice) form() int {
	if c.InTurn {
		return 1
	}
	return 0
}

// String says a choice in words, for example "any of quip, gossip".
func (c Choice) String() string { return choiceForms[c.form()].words + strings.Join(c.States, ", ") }

// toml is the choice as a file has it.
func (c Choice) toml() string {
	quoted := make([]string, len(c.States))
	for i, name := range c.States {
		quoted[i] = tomltree.Quote(name)
	}
	return braces([]string{choiceForms[c.form()].key + " = [" + strings.Join(quoted, ", ") + "]"})
}

// ParseChoice reads what String writes; false where a transition leads to one
// state, or Back.
func ParseChoice(to string) (Choice, bool) {
	for i, form := range choiceForms {
		if names, ok := strings.CutPrefix(to, form.words); ok {
			return Choice{InTurn: i == 1, States: strings.Split(names, ", ")}, true
		}
	}
	return Choice{}, false
}

// NewChoice makes a choice of names with commas between. It does not know which
// states there are. The error is a *ValueError.
func NewChoice(inTurn bool, names string) (Choice, error) {
	c := Choice{InTurn: inTurn}
	for name := range strings.SplitSeq(names, ",") {
		switch name = strings.TrimSpace(name); {
		case name == "":
		case name == Back:
			return c, &ValueError{Wrong: "back cannot be one of several targets", Advice: "name states"}
		case !inTurn && slices.Contains(c.States, name):
			return c, &ValueError{Wrong: fmt.Sprintf("state %q is duplicated", name), Advice: "name it once: each is as likely as the others"}
		default:
			c.States = append(c.States, name)
		}
	}
	return c, c.tooFew()
}

// tooFew refuses a choice of fewer than two different states.
func (c Choice) tooFew() error {
	if len(slices.Compact(slices.Sorted(slices.Values(c.States)))) < 2 {
		return &ValueError{Wrong: "a choice needs at least two states", Advice: "name another state"}
	}
	return nil
}

// Targets are the names of the states that a transition with the target can lead
// to, each once; Back is itself.
func Targets(to string) []string {
	c, ok := ParseChoice(to)
	if !ok {
		return []string{to}
	}
	var names []string
	for _, name := range c.States {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// target is a state's name, "back", or a table with a choice.
func target(p *string) codec {
	c := reference(p, SortState)
	known, name, states := c.read, c.write, c.choices
	c.read = func(r *reader, v *value) {
		switch {
		case v.Kind == tomltree.TableValue:
			*p = r.choice(v)
		case v.Kind == tomltree.Array:
			r.fault(v.Pos, "the list does not say how one of its states is chosen", `write { any_of = ["STATE", "STATE"] } for one at random, or { in_turn = ["STATE", "STATE"] }`)
		case v.Kind != tomltree.Text:
			known(r, v)
		case v.Text == Back:
			*p = Back
		default:
			if words, ok := ParseChoice(v.Text); ok {
				r.refuse(v.Pos, &ValueError{Wrong: fmt.Sprintf("%q is not a state", v.Text), Advice: "write " + words.toml(), Instead: words.toml()})
				return
			}
			known(r, v)
		}
	}
	c.write = func() string {
		if choice, ok := ParseChoice(*p); ok {
			return choice.toml()
		}
		return name()
	}
	c.mentions = func() []mention { return targetMentions(p) }
	c.choices = func(r *reader) []string { return append(states(r), Back) }
	c.holds = text("the name of a state, back, or a table with any_of or in_turn and a list of states")
	c.words = &words{
		say: func() string { return *p },
		toml: func(typed string) string {
			if choice, ok := ParseChoice(typed); ok {
				return choice.toml()
			}
			return ""
		},
		forms: []string{"STATE", Back},
	}
	for _, form := range choiceForms {
		c.words.forms = append(c.words.forms, form.words+"STATE, STATE")
		c.words.heads = append(c.words.heads, form.words)
	}
	c.forms = []string{`STATE`, Back, `{ any_of = ["STATE", "STATE"] }`, `{ in_turn = ["STATE", "STATE"] }`}
	return c
}

// targetMentions are the states that a target names. A choice can be without one of
// them: of two that are left one is the target itself.
func targetMentions(to *string) []mention {
	choice, ok := ParseChoice(*to)
	if !ok {
		if *to == Back || *to == "" {
			return nil
		}
		return []mention{{scope: scope{sort: SortState}, name: *to, set: func(name string) { *to = name }}}
	}
	var ms []mention
	for i, name := range choice.States {
		m := mention{scope: scope{sort: SortState}, name: name, does: "leads to"}
		m.set = func(name string) {
			c, _ := ParseChoice(*to)
			c.States[i] = name
			*to = c.String()
		}
		if len(Targets(*to)) > 1 {
			m.drop = func() {
				c, _ := ParseChoice(*to)
				c.States = slices.Delete(c.States, i, i+1)
				*to = c.String()
				if left := Targets(*to); len(left) == 1 {
					*to = left[0]
				}
			}
		}
		ms = append(ms, m)
	}
	return ms
}

// choice reads a target that is a table, as Transition.To has it.
func (r *reader) choice(v *value) string {
	var lists [len(choiceForms)][]string
	var fields []field
	for i, form := range choiceForms {
		fields = append(fields, may(form.key, stateList(&lists[i], form.key == "any_of"), `["STATE", "STATE"]`, ""))
	}
	var s Source
	before := len(r.faults)
	r.element(v.Table, &s, shape{what: "the choice", fields: fields})
	anyOf, inTurn := s.States("any_of"), s.States("in_turn")
	switch {
	case anyOf && inTurn:
		r.fault(s.At("in_turn"), "the choice has any_of and in_turn", "keep one of them")
	case !anyOf && !inTurn && len(r.faults) > before:
		return ""
	case !anyOf && !inTurn:
		r.fault(v.Pos, "the choice names no states", `write to = "STATE" or to = { any_of = ["STATE", "STATE"] }`)
		return ""
	}
	c := Choice{InTurn: !anyOf}
	if c.States = lists[c.form()]; c.States == nil {
		return "" // a fault already
	}
	return c.String()
}

// stateList is the list of states in a choice; once: each at most once.
func stateList(p *[]string, once bool) codec {
	return codec{
		clear: func() { *p = nil },
		unset: func() bool { return *p == nil },
		read: func(r *reader, v *value) {
			if v.Kind != tomltree.Array {
				r.refuse(v.Pos, wrongKind(v, "a list of states", `write ["STATE", "STATE"], or to = "STATE" for a single one`))
				return
			}
			before := len(r.faults)
			for _, item := range v.Items {
				switch {
				case item.Kind != tomltree.Text:
					r.refuse(item.Pos, wrongKind(item, "a name", "write a name in quotes"))
				case item.Text == Back:
					r.fault(item.Pos, "back cannot be one of several targets", "name states, or write to = \"back\" in a transition of its own")
				case once && slices.Contains(*p, item.Text):
					r.fault(item.Pos, fmt.Sprintf("state %q is duplicated", item.Text), "keep one of them: each is as likely as the others")
				default:
					r.known(item.Pos, mention{scope: scope{sort: SortState}, name: item.Text})
					*p = append(*p, item.Text)
				}
			}
			if len(r.faults) == before {
				r.refuse(v.Pos, Choice{States: *p}.tooFew())
			}
		},
	}
}
