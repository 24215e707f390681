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
	for _, c := range []struct {
		that string
		most int
		want string
	}{
		{"dormant within 11m after press wake", mostAfter, ""},
		{"dormant within 11m after press wake", 1, `"dormant within 11m after press wake" cannot be checked: more than 1 situations can come of "press wake"`},
		{"never performing within 1s after press wake", 1, `"never performing within 1s after press wake" cannot be checked: more than 1 situations can come of "press wake"`},
		{"never performing within 1s after press wake", mostAfter, ""},
	} {
		d.Requires = []model.Require{{That: c.that}}
		s := NewStudy(d)
		s.after = c.most
		found, err := s.Check(requireRules)
		require.NoError(t, err)
		got := ""
		for _, f := range found {
			got += f.Message
		}
		assert.Equal(t, c.want, got)
	}
}
