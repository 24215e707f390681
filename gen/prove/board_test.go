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
	program := compile(t, dir, d)
	c := bench.Start(t, program, bench.Options{Pins: pinsOf(d), Watch: []string{"heard", "sequence", irHigh}, Step: 20 * bench.Microsecond})
	c.RunTo(1000 * bench.Millisecond)
	assert.EqualValues(t, 1, c.Value(irHigh), "the receiver's pin is pulled up")
	require.Greater(t, c.Slept(), c.Now()/2, "cycles of sleep")
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

	// A conversion takes 13 cycles of 8 µs ("ATmega328P data sheet", DS40002061B, section
	// Prescaling and Conversion Timing). The simulated one can be read before that.
	assert.Greater(t, c.Watched("sequence")[0].At-slices.Max(rests), uint64(32*13*8*bench.Microsecond), "cycles for 32 conversions")
	c.SetPin(d.Remote.Pin, bench.High, c.Now())
	presses := 0
	press := func(frame []int, at uint64, what string) (end uint64) {
		t.Helper()
		for at < c.Now()+50*bench.Millisecond {
			at += 20 * bench.Millisecond
		}
		end = c.PlayIR(d.Remote.Pin, frame, at)
		c.RunTo(end + 5*bench.Millisecond)
		presses++
		assert.EqualValues(t, presses, c.Value("heard"), "presses, the last %s", what)
		return end
	}
	start, strip := slices.Min(frames), refreshes(c.Edges(8))
	stop := frameOf(t, d, 0)

	// A frame that begins while a strip is sent is heard at the limits of its leader: the
	// first edge is seen in the port's readings, at most 10 µs late.
	shown := strip[len(strip)-1].begins
	for offset := range uint64(8) {
		stop[0] = 7214
		press(stop, shown+(offset+1)*bench.Microsecond, "as the first byte of a strip is sent")
	}
	stop[0] = 10795
	for range 3 {
		press(stop, shown+300*bench.Microsecond, "as a strip is sent")
	}

	// A strip that waits for the end of a frame is sent as long as there is time.
	stop[0] = 9000
	end := press(stop, start+15*bench.Millisecond-length(stop), "5 ms before the next pulses")
	strip = refreshes(c.Edges(8))
	next := slices.IndexFunc(strip, func(r refresh) bool { return r.begins > end })
	require.Positive(t, next)
	assert.Less(t, strip[next].begins-end, 2*uint64(bench.Millisecond), "cycles until the strip is sent")

	// A frame whose marks and spaces are so long that the receiver would take none for its
	// own of which an edge is noted 40 µs late. One after the other comes just when the
	// board begins to wait for the first pulse of a frame.
	long := frameOf(t, d, 2)
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
	for n := 2; n < len(long); n += 5 {
		press(long, start-28*bench.Microsecond-length(long[:n]), "with an edge while the board waits")
	}

	// A hook that hangs is ended by the watchdog, and the prop is at rest again.
	hung := press(frameOf(t, d, 1), start, "is never done with")
	c.RunTo(hung + 3000*bench.Millisecond)
	assert.Zero(t, c.Value("heard"), "the memory after a restart")
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Kind == model.KindServo {
			after := slices.DeleteFunc(begins(c.Edges(o.Pin)), func(at uint64) bool { return at < hung+1300*bench.Millisecond })
			assert.InDelta(t, 85, len(after), 1, "%s: pulses after the restart", o.Name)
		}
	}

	// The edge that comes just when a strip has been sent is not lost. Until then all is as
	// it was the last time.
	for offset := range uint64(30) {
		c := bench.Start(t, program, bench.Options{Watch: []string{"heard"}})
		c.SetPin(d.Remote.Pin, bench.High, 0)
		c.RunTo(c.PlayIR(d.Remote.Pin, stop, strip[10].ends-8+2*offset) + 5*bench.Millisecond)
		assert.EqualValues(t, 1, c.Value("heard"), "presses, %d cycles after a strip", 2*int(offset)-8)
	}

	// Nor does the board sleep over an edge that comes just as it goes to sleep.
	const noted, told = "_ZL8edges_in", "_ZL9edges_out"
	quiet := func() *bench.Chip {
		c := bench.Start(t, program, bench.Options{Watch: []string{noted, told}})
		c.SetPin(d.Remote.Pin, bench.High, 0)
		c.RunTo(strip[10].ends + 2*bench.Millisecond)
		return c
	}
	c = quiet()
	asleep := func(is bool) uint64 {
		for before := c.Slept(); ; before = c.Slept() {
			c.RunTo(c.Now() + 1)
			if (c.Slept() > before) == is {
				return c.Now()
			}
		}
	}
	asleep(true)
	asleep(false)
	for at, before := asleep(true), uint64(0); before < 24; before++ {
		c := quiet()
		c.SetPin(d.Remote.Pin, bench.Low, at-before)
		c.RunTo(at + 100*bench.Microsecond)
		assert.EqualValues(t, 1, c.Value(noted), "edges, the last %d cycles before the board sleeps", before)
		assert.EqualValues(t, 1, c.Value(told), "edges, the last %d cycles before the board sleeps", before)
	}
}

// frameOf is a button's frame.
func frameOf(t *testing.T, d *model.Design, button int) []int {
	code, err := ir.ParseCode(d.Remote.Buttons[button].Code)
	require.NoError(t, err)
	return ir.Encode(code)
}

// length is that of a frame, in cycles.
func length(frame []int) (cycles uint64) {
	for _, us := range frame {
		cycles += uint64(us) * bench.Microsecond
	}
	return cycles
}

// A refresh of a strip, from its first edge to its last.
type refresh struct{ begins, ends uint64 }

func refreshes(edges []bench.Edge) (all []refresh) {
	for _, e := range edges {
		if n := len(all); n > 0 && e.At-all[n-1].ends < 50*bench.Microsecond {
			all[n-1].ends = e.At
		} else if e.High {
			all = append(all, refresh{e.At, e.At})
		}
	}
	return all
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
