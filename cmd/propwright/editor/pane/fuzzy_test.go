package pane_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"propwright/cmd/propwright/editor/pane"
)

func TestMatches(t *testing.T) {
	all := []string{"looking-out", "watch", "wade", "out-watch", "two"}
	for _, tc := range []struct {
		typed string
		want  []string
	}{
		{"", all},
		{"wa", []string{"watch", "wade", "out-watch"}},
		{"watch", []string{"watch", "out-watch"}},
		{"WATCH", []string{"watch", "out-watch"}},
		{"out", []string{"out-watch", "looking-out"}},
		{"wd", []string{"wade"}},
		{"zz", []string{}},
	} {
		assert.Equal(t, tc.want, pane.Matches(tc.typed, all), tc.typed)
	}
}

// A name matches what is left of it when letters are taken out, and is first
// for itself.
func TestMatchesProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z][a-z-]{0,8}`), 1, 10, rapid.ID).Draw(t, "names")
		name := rapid.SampledFrom(names).Draw(t, "name")
		assert.Equal(t, name, pane.Matches(name, names)[0])
		var letters []rune
		for _, r := range name {
			if rapid.Bool().Draw(t, "keep") {
				letters = append(letters, r)
			}
		}
		assert.True(t, slices.Contains(pane.Matches(string(letters), names), name))
	})
}
