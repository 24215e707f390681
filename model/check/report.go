package check

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"propwright/model"
	"propwright/model/machine"
)

// A fault of more than mostAlike states is one finding, whose message names the
// first firstFew of them.
const (
	mostAlike = 8
	firstFew  = 3
)

// mostActs limits the acts in the witnesses of one rule; findings after that are only
// counted. A ring of n states would need n²/2 acts.
const mostActs = 1 << 14

// A report is a finding before it is known whether it will be shown: what costs much
// is made later.
type report struct {
	Finding

	// same is equal for reports that say the same about different states; if it
	// is "", their messages are compared.
	same string

	// cause is equal for reports about different states that have one cause in the
	// design. They always become one finding.
	cause string

	// show, if not nil, adds the witness, and a message that costs much to make.
	show func(*Finding)
}

// findings makes findings of the rule's reports, in their order. Reports that say the
// same about many states become one finding, about the first.
func (p *Pass) findings() Findings {
	var all Findings
	acts := 0
	groups := alike(p.reports)
	for i, g := range groups {
		f, show := p.reports[g[0]].Finding, p.reports[g[0]].show
		if show != nil {
			show(&f)
		}
		f.said = f.Message
		if len(g) > 1 {
			f.States = p.statesOf(g)
			f.Message += alsoIn(f.States, f.State)
		}
		all = append(all, f)
		acts += len(f.Witness)
		if more := groups[i+1:]; acts > mostActs && len(more) > 0 {
			last := &all[len(all)-1]
			last.Message += fmt.Sprintf("; and this rule finds %s more like it: mend the first ones, then check again", model.FormatCount(len(more)))
			break
		}
	}
	return all
}

// reportAmong is report for a finding about several states, whose message lists them.
func (p *Pass) reportAmong(states []machine.StateID, r report) {
	if len(states) > mostAlike {
		r.States = make([]string, len(states))
		for i, s := range states {
			r.States[i] = p.Program.Name(s)
		}
	}
	p.report(r)
}

// list names a few states, or the first ones of many.
func (p *Pass) list(states []machine.StateID) string {
	var names []string
	for _, s := range states {
		names = append(names, fmt.Sprintf("%q", p.Program.Name(s)))
		if len(names) == firstFew && len(states) > mostAlike {
			names = append(names, model.FormatCount(len(states)-firstFew)+" more")
			break
		}
	}
	return model.AndList(names, len(names))
}

// alike groups the indices of reports that say the same about many states, or
// that have one cause. Every other report is a group of its own.
func alike(rs []report) [][]int {
	said := make([]string, len(rs))
	times := map[string]int{}
	for i := range rs {
		if said[i] = cmp.Or(rs[i].cause, rs[i].same); said[i] == "" {
			said[i] = rs[i].ofAnyState()
		}
		times[said[i]]++
	}
	var groups [][]int
	groupOf := map[string]int{}
	for i, s := range said {
		if g, ok := groupOf[s]; ok {
			groups[g] = append(groups[g], i)
			continue
		}
		if s != "" && (times[s] > mostAlike || rs[i].cause != "") {
			groupOf[s] = len(groups)
		}
		groups = append(groups, []int{i})
	}
	return groups
}

// line matches a reference to a line, which an edit elsewhere changes.
var line = regexp.MustCompile(`\bline \d+`)

// ofAnyState returns what a finding says, without its state and lines; "" if it is
// not about its state.
func (f *Finding) ofAnyState() string {
	name := fmt.Sprintf("%q", f.State)
	if f.State == "" || !strings.Contains(f.Message, "state "+name) {
		return ""
	}
	said := strings.ReplaceAll(f.Message, "state "+name, "state") + "\n" + strings.ReplaceAll(f.Advice, name, "")
	return line.ReplaceAllString(said, "line")
}

// statesOf names the states of some reports, in file order.
func (p *Pass) statesOf(reports []int) []string {
	in := make([]bool, len(p.Design.States))
	for _, i := range reports {
		r := &p.reports[i]
		for _, name := range append(r.States, r.State) {
			if s, ok := p.Program.State(name); ok {
				in[s] = true
			}
		}
	}
	var names []string
	for s, ok := range in {
		if ok {
			names = append(names, p.Program.Name(machine.StateID(s)))
		}
	}
	return names
}

// alsoIn returns the end of a message that holds for other states too.
func alsoIn(states []string, but string) string {
	var others []string
	for _, name := range states {
		if name != but {
			others = append(others, fmt.Sprintf("%q", name))
		}
	}
	switch n := len(others); {
	case n == 0:
		return ""
	case n > mostAlike:
		return fmt.Sprintf("; the same is true of %s more states: %s and so on", model.FormatCount(n), strings.Join(others[:firstFew], ", "))
	}
	return "; the same is true of " + model.AndList(others, mostAlike)
}

// Without returns the findings, and their states, that others has no equal of. Equal
// are rule, state and message, wherever in the file.
func (fs Findings) Without(others Findings) Findings {
	type key struct{ rule, state, message string }
	keysOf := func(f *Finding) (keys []key) {
		said := line.ReplaceAllString(f.said, "line")
		for _, s := range f.each() {
			keys = append(keys, key{f.Rule, s, strings.ReplaceAll(said, fmt.Sprintf("state %q", f.State), fmt.Sprintf("state %q", s))})
		}
		return keys
	}
	left := map[key]int{}
	for i := range others {
		for _, k := range keysOf(&others[i]) {
			left[k]++
		}
	}
	out := Findings{} // [] in JSON, not null
	for i := range fs {
		f := fs[i]
		var states []string
		for _, k := range keysOf(&f) {
			if left[k]--; left[k] < 0 {
				states = append(states, k.state)
			}
		}
		switch {
		case len(states) == 0:
			continue
		case len(states) < len(f.States):
			f = f.only(states)
		}
		out = append(out, f)
	}
	return out
}

// each returns the states that a finding holds for, or "" alone if it is not about
// a state.
func (f *Finding) each() []string {
	if len(f.States) == 0 || !strings.Contains(f.said, fmt.Sprintf("state %q", f.State)) {
		return []string{f.State}
	}
	return f.States
}

// only returns a finding about several states, restricted to some of them. It loses
// its witness if that is about another state.
func (f Finding) only(states []string) Finding {
	if !slices.Contains(states, f.State) {
		f.said = strings.ReplaceAll(f.said, fmt.Sprintf("state %q", f.State), fmt.Sprintf("state %q", states[0]))
		f.State, f.Witness, f.Draws, f.Chosen, f.Claim = states[0], nil, nil, nil, Claim{}
	}
	f.States, f.Message = states, f.said+alsoIn(states, f.State)
	return f
}
