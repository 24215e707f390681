package compare

import (
	"regexp"

	"propwright/model/check"
)

// Verdicts are the findings that only one of two designs has.
type Verdicts struct {
	New  check.Findings `json:"new"`
	Gone check.Findings `json:"gone"`
}

// Verdicts applies rules to both designs. The error is that of Study.Check for
// one of them.
func (c *Comparison) Verdicts(rules []*check.Rule) (Verdicts, error) {
	was, err := c.Old.Check(rules)
	if err != nil {
		return Verdicts{}, err
	}
	is, err := c.New.Check(rules)
	if err != nil {
		return Verdicts{}, err
	}
	return Verdicts{New: without(is, was), Gone: without(was, is)}, nil
}

// place is where a message names another line, which an edit elsewhere moves.
var place = regexp.MustCompile(`\bline \d+`)

// without gives the findings that others has nothing like: same rule, state
// and message, wherever in the file.
func without(all, others check.Findings) check.Findings {
	type key struct {
		rule           string
		state, message string
	}
	keyOf := func(f *check.Finding) key {
		return key{f.Rule, f.State, place.ReplaceAllString(f.Message, "line")}
	}
	left := map[key]int{}
	for i := range others {
		left[keyOf(&others[i])]++
	}
	out := check.Findings{} // [] in JSON, not null
	for i := range all {
		k := keyOf(&all[i])
		if left[k]--; left[k] < 0 {
			out = append(out, all[i])
		}
	}
	return out
}
