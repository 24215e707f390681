package bench

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/ir"
)

// The loop's longest pass. A hook turns the light on pin 13 over in every
// pass; a pass with nothing to do sleeps until the core's clock wakes it,
// which is up to 1.024 ms. While a strip is sent the chip does nothing else:
// 30 µs a pixel, in which no break longer than a few µs is allowed, so that
// from 60 pixels on the longest pass is the strip's.
func TestLongestLoopPass(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	const light = 13
	code, err := ir.ParseCode("nec:0x04:0x18")
	require.NoError(t, err)
	for _, pixels := range []int{24, 60, 144} {
		t.Run(fmt.Sprintf("%d pixels", pixels), func(t *testing.T) {
			w := wirings["atmega328p"]
			d := busy(t, "atmega328p", w, pixels, "nec:0x04:0x18")
			dir := writeSketch(t, d)
			require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(`#include "hooks.h"
#include <Arduino.h>
void hook_enter(uint8_t state) { (void)state; DDRB |= _BV(5); }
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event) { (void)event; }
void hook_loop(void) { PINB = _BV(5); }
`), 0o644))
			c := Start(t, Compile(t, dir, "atmega328p"), Options{Pins: []int{light}, Watch: []string{"pw_state"}, Step: 320})
			c.SetPin(w.receiver, High, 0)
			at := uint64(100 * Millisecond)
			for range 20 {
				at = c.PlayIR(w.receiver, ir.Encode(code), at+Millisecond) + 83*Millisecond
				c.RunTo(at)
			}
			edges := c.Edges(light)
			require.Greater(t, len(edges), 1000)
			longest := 0.0
			for i := 1; i < len(edges); i++ {
				longest = max(longest, float64(edges[i].At-edges[i-1].At)/Millisecond)
			}
			strip := float64(pixels) * 0.03
			t.Logf("%d pixels: longest pass %.3f ms, of which the strip %.3f ms", pixels, longest, strip)
			assert.LessOrEqual(t, longest-strip, 1.2)
			if pixels <= 24 {
				assert.LessOrEqual(t, longest, 2.0)
			}
		})
	}
}
