package tomltree

import (
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A text is TOML to this package exactly if it is to go-toml's decoder, which
// tells tables that stand twice by rules of its own; but what TOML took up after
// 1.0, and go-toml takes, is refused here.
func TestSyntaxAgreesWithTOML(t *testing.T) {
	word := rapid.SampledFrom([]string{
		"a", "b", ".", "=", "1", "-1.5e3", "0x1F", "true", "'x'", `"s\n"`, `"\u00e4"`, "{", "}", "[", "]", ",", "\n", "# c\n",
		"[a]\n", "[b]\n", "[[a]]\n", "[a.b]\n", "[[a.b]]\n", "[a.b.c]\n", "a = 1\n", "b.a = 1\n", "b.c = 1\n", "a.b.a = 2\n",
		"b = {a = 1}\n", "c = {a.b = 1, a.c = 2}\n", "a = [1]\n", "d = [{a = 1}]\n", "e = [\n  1, # c\n  2,\n]\n", "\"a\" = 1\n",
	})
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(word, 1, 10).Draw(t, "words"), "")
		_, faults := Parse("f", []byte(text), "format")
		for _, f := range faults {
			if strings.Contains(f.Wrong+f.Advice, "TOML 1.0") {
				return
			}
		}
		var values map[string]any
		err := toml.Unmarshal([]byte(text), &values)
		require.Equal(t, err == nil, len(faults) == 0, "%q\ngo-toml: %v\nhere: %v", text, err, faults)
	})
}
