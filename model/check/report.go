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

// What a rule says of more states than mostAlike is one finding, whose message
// names the firstFew of them.
const (
	mostAlike = 8
	firstFew  = 3
)

// mostActs is how many acts the witnesses of one rule have together, about:
// what comes after that is counted and not told. In a ring of n states they
// would have n²/2.
const mostActs = 1 << 14

// A report is a finding as a rule makes it. What costs much to make waits until
// it is known that it will be told.
type report struct {
	Finding

	// same is equal where a rule says the same of different states; "" where
	// the message decides.
	same string

	// cause is equal where one thing in the design is behind what is said of different
	// states, which is one finding then, however few they are; "" otherwise.
	cause string

	// show gives the finding its witness, and its message where that costs much;
	// nil where there is no more to it.
	show func(*Finding)
}

// findings makes findings of what the rule has reported, in that order. What is
// the same for many states is told of the first, and lists the others.
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

// reportAmong is report for a finding about several states, which list names.
func (p *Pass) reportAmong(states []machine.StateID, r report) {
	if len(states) > mostAlike {
		r.States = make([]string, len(states))
		for i, s := range states {
			r.States[i] = p.Program.Name(s)
		}
	}
	p.report(r)
}

// list names states for people: all of a few, the first ones of many.
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

// alike groups reports, given by their numbers: those that say the same of many
// states are together, and those of one cause, every other is alone.
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

// line is where a message names another line, which an edit elsewhere moves.
var line = regexp.MustCompile(`\bline \d+`)

// ofAnyState is what a finding says, but for which state and line; "" where it
// does not speak of its state.
func (f *Finding) ofAnyState() string {
	name := fmt.Sprintf("%q", f.State)
	if f.State == "" || !strings.Contains(f.Message, "state "+name) {
		return ""
	}
	said := strings.ReplaceAll(f.Message, "state "+name, "state") + "\n" + strings.ReplaceAll(f.Advice, name, "")
	return line.ReplaceAllString(said, "line")
}

// statesOf names the states that some reports are about, in file order.
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

// alsoIn ends a message about a state that is true of others too.
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

// Without gives the findings, and of those about several states the states,
// that others has nothing like: same rule, state and message, wherever in the
// file.
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

// each are the states that a finding says the same of; one "" where it is about
// none.
func (f *Finding) each() []string {
	if len(f.States) == 0 || !strings.Contains(f.said, fmt.Sprintf("state %q", f.State)) {
		return []string{f.State}
	}
	return f.States
}

// only is a finding about several states for some of them alone. It is without
// a witness where that shows another one.
func (f Finding) only(states []string) Finding {
	if !slices.Contains(states, f.State) {
		f.said = strings.ReplaceAll(f.said, fmt.Sprintf("state %q", f.State), fmt.Sprintf("state %q", states[0]))
		f.State, f.Witness, f.Draws, f.Chosen, f.Claim = states[0], nil, nil, nil, Claim{}
	}
	f.States, f.Message = states, f.said+alsoIn(states, f.State)
	return f
}
