package check

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs"
)

// The heron with a longer and longer strip. The figures are those that
// gen/bench measures on the chip (TestRefreshIsAsTheCheckerSays).
func TestUpdateBlocks(t *testing.T) {
	for pixels, want := range map[int]string{
		24: "", 166: "",
		167: `sending the 167 pixels of "water" takes 5.01ms, 50 times a second`,
		300: `sending the 300 pixels of "water" takes 9ms, 50 times a second`,
		400: `sending the 400 pixels of "water" takes 12ms, 25 times a second`,
		575: `takes 17.25ms, 25 times a second`,
		576: "they stay dark",
	} {
		text := strings.Replace(string(designs.HarbourHeron), "count = 24", fmt.Sprintf("count = %d", pixels), 1)
		d, err := model.Read("heron.prop.toml", []byte(text))
		require.NoError(t, err)
		found, err := NewStudy(d).Check(Rules())
		require.NoError(t, err)
		if want == "" {
			assert.Empty(t, found, pixels)
			continue
		}
		require.Len(t, found, 1, pixels)
		assert.Equal(t, "update-blocks", found[0].Rule)
		assert.Contains(t, found[0].Message, want)
		assert.Equal(t, d.Output("water").At("count"), found[0].Pos)
	}
}
