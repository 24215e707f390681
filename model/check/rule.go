package check

import (
	"cmp"
	"slices"

	"propwright/model"
	"propwright/model/machine"
)

// A Rule is one thing to look for.
type Rule struct {
	ID       string // such as "dead-end"; unique
	Doc      string // what is wrong when the rule speaks, in one line
	Severity Severity

	run func(*pass)
}

// Rules lists the rules in the order of their families: behaviour, requirements, remote, rig.
func Rules() []*Rule {
	return slices.Concat(behaviourRules, requireRules, remoteRules, rigRules)
}

// Check applies all rules to a design and gives the findings in file order.
// The error wraps ErrTooLarge. The design is one that machine.Compile takes.
func Check(d *model.Design) (Findings, error) {
	return check(d, RepeatPeriod(d))
}

// check is Check for a remote of which the buttons whose codes do not tell it
// send a frame every period milliseconds.
func check(d *model.Design, period uint32) (Findings, error) {
	p := machine.Compile(d)
	x, err := explore(p, period, mostSituations)
	if err != nil {
		return nil, err
	}
	var found Findings
	for _, r := range Rules() {
		r.run(&pass{rule: r, design: d, program: p, explored: x, findings: &found})
	}
	slices.SortStableFunc(found, func(a, b Finding) int {
		return cmp.Or(
			cmp.Compare(a.Pos.Line, b.Pos.Line),
			cmp.Compare(a.Pos.Column, b.Pos.Column),
			cmp.Compare(a.Severity, b.Severity),
		)
	})
	return found, nil
}

// A pass is one rule's look at one design.
type pass struct {
	rule     *Rule
	design   *model.Design
	program  *machine.Program
	explored *exploration
	findings *Findings
	said     map[string]bool // messages
}

// report adds a finding of the rule.
func (p *pass) report(f Finding) {
	f.Rule, f.Severity = p.rule.ID, p.rule.Severity
	*p.findings = append(*p.findings, f)
	if p.said == nil {
		p.said = map[string]bool{}
	}
	p.said[f.Message] = true
}

// reported reports whether the rule has said this before.
func (p *pass) reported(message string) bool { return p.said[message] }

// at gives a finding the shortest witness for its State, if that can be
// reached.
func (p *pass) at(f Finding) Finding {
	if s, ok := p.program.State(f.State); ok {
		if n, ok := p.explored.first(s); ok {
			f.reach(p.explored, n)
		}
	}
	return f
}
