package timed

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What a shelf finds near a zone are all that have something of it, in order.
func TestShelf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func() zone {
			if rapid.IntRange(0, 9).Draw(t, "unknown") == 0 {
				return entry
			}
			least := rapid.Int64Range(-50, 50).Draw(t, "least")
			return entry.ahead(least, least+rapid.SampledFrom([]int64{0, 1, 2, 7, 40, Never - least}).Draw(t, "width"))
		}
		var s shelf
		z := draw()
		var want []int32
		for i := range rapid.Int32Range(0, 30).Draw(t, "configurations") {
			known := draw()
			s.put(&known, i)
			if _, ok := known.cut(&z); ok {
				want = append(want, i)
			}
		}
		require.Equal(t, want, s.near(&z, nil))
	})
}
