package prove

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/ir"
)

// hanging is a hook that takes longer to set up than the watchdog's shortest time, and
// never returns from a press of button 1.
const hanging = `#include "hooks.h"
#include <Arduino.h>
uint16_t heard;
void hook_setup(void) { delay(50); }
void hook_enter(uint8_t state) { (void)state; }
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event) { heard++; while (event == 1) {} }
void hook_loop(void) {}
`

// What a board does from power-up on, with the receiver unplugged at first; when edges of
// the remote come while it waits for a pulse's tick; and when a hook hangs.
func TestBoardFromPowerUp(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	d := read(t, "harbour-heron.prop.toml")
	dir := build(t, d)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(hanging), 0o644))
	const irHigh = "_ZL7ir_high" // as C++ calls what is static in board.cpp
	c := bench.Start(t, compile(t, dir, d), bench.Options{Pins: pinsOf(d), Watch: []string{"heard", "sequence", irHigh}, Step: 20 * bench.Microsecond})
	c.RunTo(1000 * bench.Millisecond)
	assert.EqualValues(t, 1, c.Value(irHigh), "the receiver's pin is pulled up")
	assert.Greater(t, c.Slept(), c.Now()/2, "cycles of sleep")
	seed := uint32(1)
	for range 32 {
		seed += 314 * 1023 / 1100 // the simulated chip's thermometer, against its 1.1 V
		seed ^= seed << 13
		seed ^= seed >> 17
		seed ^= seed << 5
	}
	assert.EqualValues(t, seed, c.Watched("sequence")[0].Value, "made of what the chip's thermometer reads")
	var frames, rests []uint64
	for i := range d.Outputs {
		o := &d.Outputs[i]
		all := c.Edges(o.Pin)
		switch o.Kind {
		case model.KindServo, model.KindSpinner:
			begun := begins(all)
			require.Greater(t, len(begun), 40, o.Name)
			assert.InDelta(t, 70, float64(begun[0])/bench.Millisecond, 2, "%s: milliseconds to the first pulse", o.Name)
			assert.InDelta(t, 20_000, float64(begun[1]-begun[0])/bench.Microsecond, 0.5, "%s: from the first pulse to the second, which are as wide", o.Name)
			frames = append(frames, begun[len(begun)-1])
		case model.KindPulse:
			require.Len(t, all, 1, "%s is turned on or not at rest", o.Name)
			rests = append(rests, all[0].At)
		}
	}
	assert.Less(t, slices.Max(rests)-slices.Min(rests), uint64(100), "cycles in which the triggers are put to rest, before they are outputs")

	// A frame whose marks and spaces are so long that the receiver would take none for its
	// own of which an edge is noted 40 µs late. One after the other comes just when the
	// board begins to wait for the first pulse of a frame.
	c.SetPin(d.Remote.Pin, bench.High, c.Now())
	code, err := ir.ParseCode(d.Remote.Buttons[2].Code)
	require.NoError(t, err)
	long := ir.Encode(code)
	for n := range long {
		switch {
		case n < 2:
		case n%2 == 0:
			long[n] = 800
		case long[n] < 1128:
			long[n] = 1088
		default:
			long[n] = 1928
		}
	}
	presses := 0
	for n := 2; n < len(long); n += 5 {
		at := slices.Min(frames) - 28*bench.Microsecond
		for _, us := range long[:n] {
			at -= uint64(us) * bench.Microsecond
		}
		for at < c.Now()+50*bench.Millisecond {
			at += 20 * bench.Millisecond
		}
		c.RunTo(c.PlayIR(d.Remote.Pin, long, at) + 5*bench.Millisecond)
		presses++
		assert.EqualValues(t, presses, c.Value("heard"), "presses, the last with its edge %d while the board waits", n)
	}

	code, err = ir.ParseCode(d.Remote.Buttons[1].Code)
	require.NoError(t, err)
	hung := c.PlayIR(d.Remote.Pin, ir.Encode(code), c.Now()+50*bench.Millisecond)
	c.RunTo(hung + 3000*bench.Millisecond)
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Kind == model.KindServo {
			after := slices.DeleteFunc(begins(c.Edges(o.Pin)), func(at uint64) bool { return at < hung+1300*bench.Millisecond })
			assert.InDelta(t, 85, len(after), 1, "%s: pulses after the restart", o.Name)
		}
	}
}

// begins are when pulses do.
func begins(edges []bench.Edge) (all []uint64) {
	for _, e := range edges {
		if e.High {
			all = append(all, e.At)
		}
	}
	return all
}
