package machine

import "propwright/model"

// DoneEvent stands for `done` in a Rule.
const DoneEvent EventID = -1

// A Rule is what one event does in one row of the state–event matrix.
type Rule struct {
	Event EventID // or DoneEvent
	Move  *Move
}

// NamedRow gives what transitions that name the state say, by event; `done`
// comes last. Timers are not part of a row: see Timers.
func (p *Program) NamedRow(s StateID) []Rule { return p.named[s].rules() }

// KindRow gives what transitions from `any KIND` say.
func (p *Program) KindRow(k model.StateKind) []Rule { return p.kinds[kindIndex(k)].rules() }

// AnyRow gives what transitions from `any` say.
func (p *Program) AnyRow() []Rule { return p.all.rules() }

func (r *row) rules() []Rule {
	var rules []Rule
	for _, e := range r.events {
		rules = append(rules, Rule{e.event, e.move})
	}
	if r.done != nil {
		rules = append(rules, Rule{DoneEvent, r.done})
	}
	return rules
}
