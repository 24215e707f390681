package compare

import (
	"propwright/model/check"
)

// Verdicts are the findings that only one of two designs has.
type Verdicts struct {
	New  check.Findings `json:"new"`
	Gone check.Findings `json:"gone"`
}

// Verdicts applies the rules to both designs. The error is one that Check of
// one of them gives.
func (c *Comparison) Verdicts() (Verdicts, error) {
	was, err := check.Check(c.Old)
	if err != nil {
		return Verdicts{}, err
	}
	is, err := check.Check(c.New)
	if err != nil {
		return Verdicts{}, err
	}
	return Verdicts{New: without(is, was), Gone: without(was, is)}, nil
}

// without gives the findings that others has nothing like: same rule, state
// and message, wherever in the file.
func without(all, others check.Findings) check.Findings {
	type key struct {
		rule           string
		state, message string
	}
	left := map[key]int{}
	for i := range others {
		left[key{others[i].Rule, others[i].State, others[i].Message}]++
	}
	out := check.Findings{} // [] in JSON, not null
	for _, f := range all {
		k := key{f.Rule, f.State, f.Message}
		if left[k]--; left[k] < 0 {
			out = append(out, f)
		}
	}
	return out
}
