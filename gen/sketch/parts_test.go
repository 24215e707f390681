package sketch

import (
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/templates"
)

// What a player's template adds to the C is asked for somewhere: else it would be left out in
// silence.
func TestPartsAreAskedFor(t *testing.T) {
	asked := map[string]bool{}
	for _, name := range []string{"player.c", "tables.c", "tables.h"} {
		text, err := templates.Sketch.ReadFile("sketch/" + name + ".tmpl")
		require.NoError(t, err)
		for _, m := range regexp.MustCompile(`parts "(\w+)"`).FindAllSubmatch(text, -1) {
			asked[string(m[1])] = true
		}
	}
	files, err := fs.Glob(templates.Sketch, "sketch/player_*.c.tmpl")
	require.NoError(t, err)
	assert.Len(t, files, len(players))
	for _, file := range files {
		text, err := templates.Sketch.ReadFile(file)
		require.NoError(t, err)
		name := strings.TrimSuffix(strings.TrimPrefix(file, "sketch/player_"), ".c.tmpl")
		assert.Contains(t, players, name)
		for _, m := range regexp.MustCompile(`define "(\w+) (\w+)"`).FindAllSubmatch(text, -1) {
			assert.Equal(t, name, string(m[1]), file)
			assert.True(t, asked[string(m[2])], "%s defines %q", file, m[0])
		}
	}
}
