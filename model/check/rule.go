package check

import (
	"slices"

	"propwright/model/timed"
)

// A Rule looks for one kind of fault.
type Rule struct {
	ID       string // such as "dead-end"; unique
	Doc      string // the fault, in one line
	Severity Severity
	Run      func(*Pass)

	// Explores reports whether the rule needs the whole exploration.
	Explores bool
}

const (
	explores = true
	reads    = false // the design alone; the exploration only gives witnesses
)

// Rules lists the rules of this package in the order of their families:
// behaviour, requirements, remote, rig. gen/sketch has more, which look at the
// firmware.
func Rules() []*Rule {
	return slices.Concat(behaviourRules, requireRules, remoteRules, rigRules)
}

// A Pass is the application of one rule to one design.
type Pass struct {
	*Study
	rule     *Rule
	explored *timed.Space
	reports  []report
}

// Report adds a finding; it fills in the rule and its severity.
func (p *Pass) Report(f Finding) { p.report(report{Finding: f}) }

// reportIn is Report for a finding whose witness is the shortest run to its State,
// if there is one.
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
