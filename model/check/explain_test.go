package check_test

import (
	"os"
	"strings"
	"testing"

	"propwright/model/check"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryRuleIsExplained(t *testing.T) {
	for _, r := range check.Rules() {
		text, ok := check.Explain(r.ID)
		require.True(t, ok, r.ID)
		heading, rest, _ := strings.Cut(text, "\n\n")
		assert.Equal(t, "# "+r.ID, heading)
		means, rest, ok := strings.Cut(rest, "\n\n## Example\n\n```toml\n")
		assert.True(t, ok && len(means) > 40, "%s: what it means", r.ID)
		example, rest, ok := strings.Cut(rest, "\n```\n\n## How to mend it\n\n")
		assert.True(t, ok && example != "", "%s: an example", r.ID)
		mend, source, ok := strings.Cut(rest, "\n\n## Source\n\n")
		assert.True(t, ok && mend != "" && strings.HasSuffix(source, ".\n"), "%s: how to mend it, and the source", r.ID)
	}
}

func TestOnlyRulesAreExplained(t *testing.T) {
	known := map[string]bool{"memory": true, "firmware-limit": true} // see gen/sketch
	for _, r := range check.Rules() {
		known[r.ID] = true
	}
	files, err := os.ReadDir("explain")
	require.NoError(t, err)
	for _, f := range files {
		assert.True(t, known[strings.TrimSuffix(f.Name(), ".md")], f.Name())
	}
	for _, id := range []string{"", "no-such-rule", "../explain", "explain/trap"} {
		_, ok := check.Explain(id)
		assert.False(t, ok, id)
	}
}
