package tomltree

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A glance sees what the parser sees.
func TestGlanceAgreesWithTheParser(t *testing.T) {
	agree := func(t require.TestingT, s string) (v *Value, sure bool) {
		if v, sure = glance(s); sure {
			require.Equal(t, parseValue(s), v, "%q", s)
		}
		return v, sure
	}
	for _, s := range []string{`"a"`, `"press wake"`, `"#1 = 2"`} {
		v, _ := agree(t, s)
		require.NotNil(t, v, s)
	}
	for _, s := range []string{"", " ", "watch", "#", "=", "1s"} {
		v, sure := agree(t, s)
		require.Nil(t, v, s)
		require.Equal(t, s != "1s", sure, s)
	}
	texts := rapid.OneOf(
		rapid.StringMatching(`[ \t]*"?[a-z0-9"\\ .#=+-]{0,6}"?`),
		rapid.SampledFrom([]string{`""`, `"""`, `"a""`, `"""a"""`, `'a'`, "true", "inf", "nan", "[1]", "{}", `"ä"`, "ä", `"a" # b`, "\x00", "a\nw = 1"}),
	)
	rapid.Check(t, func(t *rapid.T) { agree(t, texts.Draw(t, "text")) })
}
