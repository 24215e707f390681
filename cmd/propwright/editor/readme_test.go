package editor

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The README's section on the editor names keys as they are.
func TestReadmeNamesKeysThatAre(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("../../../README.md")
	require.NoError(t, err)
	_, section, ok := strings.Cut(string(text), "\n## The editor\n")
	require.True(t, ok)
	section, _, ok = strings.Cut(section, "\n## ")
	require.True(t, ok)
	named := regexp.MustCompile("`(F[0-9]|Ctrl-[A-Z]|Enter|Space|.)`").FindAllStringSubmatch(section, -1)
	require.Greater(t, len(named), 12)
	for _, m := range named {
		assert.True(t, slices.ContainsFunc(actions, func(a action) bool { return slices.Contains(a.keys, m[1]) }),
			"the editor has no key %s", m[1])
	}
}
