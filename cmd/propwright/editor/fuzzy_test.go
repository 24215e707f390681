package editor

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
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
		assert.Equal(t, tc.want, matches(tc.typed, all), tc.typed)
	}
}

// A name matches what is left of it when letters are taken out, and is first
// for itself.
func TestMatchesProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z][a-z-]{0,8}`), 1, 10, rapid.ID).Draw(t, "names")
		name := rapid.SampledFrom(names).Draw(t, "name")
		assert.Equal(t, name, matches(name, names)[0])
		var letters []rune
		for _, r := range name {
			if rapid.Bool().Draw(t, "keep") {
				letters = append(letters, r)
			}
		}
		assert.True(t, slices.Contains(matches(string(letters), names), name))
	})
}

// A new name is not taken for one that only has its letters: Enter offers to
// make it. One that a name begins with is that name.
func TestNewNameIsNotTakenForAnother(t *testing.T) {
	s := newScene(t, 80, 24, 16).at("roost", "press one").keys("'sad").sees("» new state “sad”", "spreading").keys("Enter").sees("state sad is", "an idle life that goes on until something happens")
	s.keys("Esc", "'wad").sees("» wade").keys("Enter")
	assert.Equal(t, "wade", s.says("roost", "press one"))
	s.keys("'any", "Enter").sees("cannot be a state's name").keys("Esc")
	noOverlay(s)
}
