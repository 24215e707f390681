package prove

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/ir"
	"propwright/model/motion"
)

// delaying is a hook that holds the loop up for less than a frame now and then, or until
// a frame is all but over, and asks the board for the time and for a pulse's end without
// a break. It counts events, by how much the core's clock and the prop's have come apart,
// and by how much the prop's has ever leapt.
const delaying = `#include "hooks.h"
#include "board.h"
#include <Arduino.h>
uint16_t heard, apart, leapt;
void hook_enter(uint8_t state) { (void)state; }
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event) { (void)event; heard++; }
` + clocks + `void hook_loop(void)
{
    static uint32_t drawn = 1;
    compare_clocks();
    drawn ^= drawn << 13;
    drawn ^= drawn >> 17;
    drawn ^= drawn << 5;
    uint16_t by = drawn >> 16;
    switch (drawn % 16) {
    case 0:
        delayMicroseconds(by & 0x1FFF);
        break;
    case 1:
        if (!board_servos_free() && left() < 8000) {
            while (left() - by % 64 < 8000) {
            }
        }
        break;
    case 2:
        for (uint16_t n = 0, before = board_ms(), now; n < 200; n++, before = now) {
            now = board_ms();
            leapt = max(leapt, (uint16_t)(now - before));
            board_pulse(2, false);
        }
        break;
    }
}
`

// clocks is C that compares the core's clock with the prop's, and says how many ticks are
// left until the board is to prepare for a pulse's end or a frame's beginning.
const clocks = `static uint16_t left(void)
{
    cli();
    uint16_t ticks = OCR1A - TCNT1;
    sei();
    return ticks;
}
static void compare_clocks(void)
{
    static uint16_t first;
    static bool begun;
    cli();
    uint16_t off = (uint16_t)millis() + (TIFR0 & _BV(TOV0)) - board_ms();
    sei();
    if (!begun) {
        begun = true;
        first = off;
    }
    off -= first;
    apart = max(apart, min(off, (uint16_t)-off));
}
`

// showing is a hook that sends strips of 160 pixels that are over just before timer 0 comes
// round, as it does, and just after; and in turn with those some that are over just before a
// frame, if the board lets it.
const showing = `#include "hooks.h"
#include "board.h"
#include <Arduino.h>
uint16_t apart, shown;
` + clocks + `
void hook_setup(void) {}
void hook_enter(uint8_t state) { (void)state; }
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event) { (void)event; }
void hook_loop(void)
{
    static uint8_t strip[480], turn;
    compare_clocks();
    if (++turn % 8 == 0 && !board_servos_free()) {
        while (left() > 9500U + turn) { /* the strip takes 9600 */
        }
        (void)board_show(0, strip, sizeof strip);
        return;
    }
    while (TCNT0 != 72 + shown / 8 % 8) { /* a count is 64 cycles, and the strip takes 76800 */
    }
    for (uint8_t n = shown % 8; n > 0; n--) {
        __builtin_avr_delay_cycles(5);
    }
    shown += board_show(0, strip, sizeof strip);
}
`

// The core's clock loses nothing by a strip, wherever that ends in a round of timer 0; nor
// does a pulse, however little time is left.
func TestLightsKeepTheClock(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	d := read(t, "harbour-heron.prop.toml")
	dir := build(t, d)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(showing), 0o644))
	c := bench.Start(t, compile(t, dir, d), bench.Options{Pins: pinsOf(d), Watch: []string{"apart", "shown"}, Step: 20 * bench.Microsecond})
	c.SetPin(d.Remote.Pin, bench.High, 0)
	c.RunTo(10 * bench.Hz)
	assert.Greater(t, c.Value("shown"), uint64(64), "strips, of which 64 end at different times of a round")
	assert.LessOrEqual(t, c.Value("apart"), uint64(3), "milliseconds between the core's clock and the prop's")
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Kind == model.KindServo {
			steady(t, o, c.Edges(o.Pin))
		}
	}
}

// Lights are sent at any time of the frame, since hooks hold the loop up. No pulse, no
// press and no clock is worse for it.
func TestLightsDisturbNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	d := read(t, "harbour-heron.prop.toml")
	d.Prop.Seed = 1
	const pixels = 120
	for i := range d.Outputs {
		if d.Outputs[i].Kind == model.KindPixels {
			d.Outputs[i].Count = pixels
		}
	}
	dir := build(t, d)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(delaying), 0o644))
	c := bench.Start(t, compile(t, dir, d), bench.Options{Pins: pinsOf(d), Watch: []string{"heard", "apart", "leapt"}, Step: 20 * bench.Microsecond})
	c.SetPin(d.Remote.Pin, bench.High, 0)
	var codes []ir.Code
	for _, b := range d.Remote.Buttons {
		code, err := ir.ParseCode(b.Code)
		require.NoError(t, err)
		codes = append(codes, code)
	}
	rng := rand.New(rand.NewPCG(7, 8))
	const wake, performs, presses = 1, 3, 12 // the buttons from performs on play routines
	end := uint64(300 * bench.Millisecond)
	for n := range presses {
		code := codes[wake]
		if n%2 == 1 {
			code = codes[performs+n/2%5]
		}
		end = c.PlayIR(d.Remote.Pin, ir.Encode(code), end+200*bench.Millisecond+rng.Uint64N(1500*bench.Millisecond))
		c.RunTo(end)
	}
	c.RunTo(end + 100*bench.Millisecond)
	end = c.Now()
	assert.EqualValues(t, presses, c.Value("heard"), "presses that were heard")
	assert.LessOrEqual(t, c.Value("apart"), uint64(3), "milliseconds between the core's clock and the prop's")
	assert.LessOrEqual(t, c.Value("leapt"), uint64(1), "milliseconds between two looks at the prop's clock")
	for i := range d.Outputs {
		switch o := &d.Outputs[i]; o.Kind {
		case model.KindServo:
			steady(t, o, c.Edges(o.Pin))
		case model.KindPixels:
			edges := c.Edges(o.Pin)
			refreshes, begun := 0, 0
			for n := 1; n < len(edges); n++ {
				if edges[n].High && edges[n].At-edges[n-1].At > 50*bench.Microsecond {
					if refreshes++; refreshes > 1 { // the first may follow the level at power-up
						require.Equal(t, 2*24*pixels, n-begun, "edges of a refresh")
					}
					begun = n
				}
			}
			t.Logf("%d refreshes in %d s", refreshes, end/bench.Hz)
			assert.Greater(t, refreshes, int(end/bench.Hz)*5)
		}
	}
}

// steady expects a servo's pulses to begin 20 ms apart, and their widths within its
// limits: they are rounded to half a microsecond, and off by as much at the most.
func steady(t *testing.T, o *model.Output, edges []bench.Edge) {
	const half = bench.Microsecond / 2.0
	l := motion.LimitsOf(o)
	var begun uint64
	var width, speed, fastest, hardest float64
	n := 0
	for i := 0; i+1 < len(edges); i++ {
		if !edges[i].High {
			continue
		}
		now, w := edges[i].At, float64(edges[i+1].At-edges[i].At)/half
		require.InDelta(t, float64(l.Lowest)/2+float64(l.Highest)/2, w, float64(l.Highest-l.Lowest)/2+2, "%s at %v", o.Name, at(now))
		if n++; n > 1 {
			require.InDelta(t, 20*bench.Millisecond, float64(now-begun), 40*bench.Microsecond, "%s at %v", o.Name, at(now))
			v := w - width
			if fastest = max(fastest, v, -v); n > 2 {
				hardest = max(hardest, v-speed, speed-v)
			}
			speed = v
		}
		begun, width = now, w
	}
	require.Greater(t, n, 400, o.Name)
	t.Logf("%s: at the most %.1f of %.1f half microseconds a frame, and %.1f of %.1f more than the frame before", o.Name, fastest, float64(l.Fastest)/32, hardest, float64(l.Accel)/32)
	assert.LessOrEqual(t, fastest, float64(l.Fastest)/32+3, o.Name)
	assert.LessOrEqual(t, hardest, float64(l.Accel)/32+6, o.Name)
}
