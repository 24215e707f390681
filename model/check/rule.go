package check

import (
	"slices"

	"propwright/model/timed"
)

// A Rule is one thing to look for.
type Rule struct {
	ID       string // such as "dead-end"; unique
	Doc      string // what is wrong when the rule speaks, in one line
	Severity Severity
	Run      func(*Pass)

	// Explores is whether it has to know everything that can come about.
	Explores bool
}

const (
	explores = true
	reads    = false // the design alone, and what can come about for witnesses
)

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
	explored *timed.Space
	reports  []report
}

// Report adds a finding of the rule, whose name and severity are filled in.
func (p *Pass) Report(f Finding) { p.report(report{Finding: f}) }

// reportIn is Report for a finding that the shortest witness for its State
// shows, if that can be reached.
func (p *Pass) reportIn(f Finding) { p.report(report{Finding: f, show: p.showState}) }

func (p *Pass) showState(f *Finding) {
	if s, ok := p.Program.State(f.State); ok {
		if n, ok := p.explored.First(s); ok {
			f.reach(p.explored.To(n))
		}
	}
}

func (p *Pass) report(r report) {
	r.Rule, r.Severity = p.rule.ID, p.rule.Severity
	p.reports = append(p.reports, r)
}
