package check

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
)

// What can come of an event is looked for up to some number of configurations; a
// requirement on more is told not to be checked, one on less is.
func TestRequirementOnTooMuch(t *testing.T) {
	d := mended(t, "requirement")
	s := NewStudy(d)
	x, err := explored.Of(s)
	require.NoError(t, err)
	for _, c := range []struct {
		that string
		most int
		want string
	}{
		{"dormant within 11m after press wake", mostSequels, ""},
		{"dormant within 11m after press wake", 1, `"dormant within 11m after press wake" cannot be checked: more than 1 situations can come of "press wake"`},
		{"never performing within 1s after press wake", 1, `"never performing within 1s after press wake" cannot be checked: more than 1 situations can come of "press wake"`},
		{"never performing within 1s after press wake", mostSequels, ""},
	} {
		q, err := model.ParseRequirement(c.that)
		require.NoError(t, err)
		r := &required{Pass: &Pass{Study: s, rule: requireRules[0], explored: x}, Requirement: q}
		a := newAftermath(x)
		a.most = c.most
		r.inTime(a)
		got := ""
		for _, f := range r.findings() {
			got += f.Message
		}
		assert.Equal(t, c.want, got)
	}
}
