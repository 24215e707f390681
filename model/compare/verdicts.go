package compare

import "propwright/model/check"

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
	return Verdicts{New: is.Without(was), Gone: was.Without(is)}, nil
}
