package check

import "slices"

// A Rule is one thing to look for.
type Rule struct {
	ID       string // such as "dead-end"; unique
	Doc      string // what is wrong when the rule speaks, in one line
	Severity Severity
	Run      func(*Pass)
}

// Rules lists the rules of this package in the order of their families:
// behaviour, requirements, remote, rig. gen/sketch has more, which look at the
// firmware.
func Rules() []*Rule {
	return slices.Concat(behaviourRules, requireRules, remoteRules, rigRules)
}

// A Pass is one rule's look at one design.
type Pass struct {
	*Study
	rule     *Rule
	explored *exploration
	findings Findings
	said     map[string]bool // messages
}

// Report adds a finding of the rule, whose name and severity it fills in.
func (p *Pass) Report(f Finding) {
	f.Rule, f.Severity = p.rule.ID, p.rule.Severity
	p.findings = append(p.findings, f)
	if p.said == nil {
		p.said = map[string]bool{}
	}
	p.said[f.Message] = true
}

// reported reports whether the rule has said this before.
func (p *Pass) reported(message string) bool { return p.said[message] }

// at gives a finding the shortest witness for its State, if that can be
// reached.
func (p *Pass) at(f Finding) Finding {
	if s, ok := p.Program.State(f.State); ok {
		if n, ok := p.explored.first(s); ok {
			f.reach(p.explored, n)
		}
	}
	return f
}
