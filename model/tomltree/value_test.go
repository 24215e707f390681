package tomltree

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A glance sees what the parser sees.
func TestGlanceAgreesWithTheParser(t *testing.T) {
	sure := map[bool]int{} // by whether there is a value
	texts := rapid.OneOf(
		rapid.StringMatching(`[ \t]*"?[a-z0-9"\\ .#=+-]{0,6}"?`),
		rapid.SampledFrom([]string{`""`, `"""`, `"a""`, `"""a"""`, `'a'`, "true", "inf", "nan", "[1]", "{}", "1s", `"ä"`, "ä", `"a" # b`, "\x00", "a\nw = 1"}),
	)
	rapid.Check(t, func(t *rapid.T) {
		s := texts.Draw(t, "text")
		v, ok := glance(s)
		if !ok {
			return
		}
		sure[v != nil]++
		require.Equal(t, parseValue(s), v, "%q", s)
	})
	require.NotZero(t, sure[true])
	require.NotZero(t, sure[false])
}
