package bench

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/board"
	"propwright/model/ir"
)

// A strip that runs, beside eight servos and messages: it is refreshed as
// often as the checker tells the maker, and sending takes what it says.
func TestRefreshIsAsTheCheckerSays(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	code, err := ir.ParseCode("nec:0x04:0x18")
	require.NoError(t, err)
	for _, pixels := range []int{24, 300, 400, 500} {
		w := wirings["atmega328p"]
		c := Start(t, compileDesign(t, busy(t, "atmega328p", w, pixels, code.String())),
			Options{Pins: []int{w.strip}, Watch: []string{"pw_state"}, Step: 320})
		c.SetPin(w.receiver, High, 0)
		c.PlayIR(w.receiver, ir.Encode(code), 100*Millisecond)
		c.RunTo(2500 * Millisecond)
		require.EqualValues(t, 1, c.Value("pw_state"))
		var begins, ends []uint64
		edges := c.Edges(w.strip)
		for i, e := range edges {
			if e.At < 500*Millisecond {
				continue
			}
			if i > 0 && e.High && e.At-edges[i-1].At > 50*Microsecond {
				begins = append(begins, e.At)
				ends = append(ends, edges[i-1].At)
			}
		}
		require.Greater(t, len(begins), 10)
		seconds := float64(begins[len(begins)-1]-begins[0]) / Hz
		rate := float64(len(begins)-1) / seconds
		takes := float64(ends[1]-begins[0]) / Microsecond
		t.Logf("%d pixels: %.1f refreshes/s of %.1f promised, %.0f us each", pixels, rate, board.Refreshes(pixels), takes)
		assert.InEpsilon(t, board.Refreshes(pixels), rate, 0.02)
		assert.InDelta(t, float64(board.SendTime(pixels).Microseconds()), takes, 2)
	}
}
