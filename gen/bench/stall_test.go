package bench

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/ir"
)

// stalling is a hook that holds the loop up for 0 to 900 ms, again and again.
const stalling = `#include "hooks.h"
#include <Arduino.h>
uint16_t stalls;
static uint32_t drawn = 1;
static uint16_t due;
void hook_enter(uint8_t state) { (void)state; }
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event) { (void)event; }
void hook_loop(void)
{
    if ((int16_t)((uint16_t)millis() - due) < 0) {
        return;
    }
    drawn ^= drawn << 13;
    drawn ^= drawn >> 17;
    drawn ^= drawn << 5;
    delay(drawn % 901);
    stalls++;
    due = (uint16_t)millis() + (uint16_t)(drawn >> 16) % 700;
}
`

// compileHooks builds a design's firmware with such a hooks.cpp.
func compileHooks(t *testing.T, d *model.Design, hooks string) (elf string) {
	dir := writeSketch(t, d)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(hooks), 0o644))
	return Compile(t, dir, d.Prop.Board)
}

// late is a hook that holds the loop up for 300 ms in every second.
const late = `#include "hooks.h"
#include <Arduino.h>
static uint32_t due = 1000;
void hook_enter(uint8_t state) { (void)state; }
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event) { (void)event; }
void hook_loop(void)
{
    if (millis() >= due) {
        due += 1000;
        delay(300);
    }
}
`

// A press that begins while the loop makes up for a stall is heard, once. The steps that
// are made up for are no time in which the remote was silent, or the button let go.
func TestPressAfterAStall(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, code := range []string{"nec:0x04:0x18", "sirc12:0x01:0x15", "rc5:0x05:0x35"} {
		t.Run(code, func(t *testing.T) {
			t.Parallel()
			d := busy(t, "atmega328p", wirings["atmega328p"], 60, code)
			c := Start(t, compileHooks(t, d, late), Options{Watch: []string{"down"}, Step: 20 * Microsecond})
			c.SetPin(d.Remote.Pin, High, 0)
			parsed, err := ir.ParseCode(code)
			require.NoError(t, err)
			const presses = 30
			for i := range uint64(presses) {
				end := c.PlayIR(d.Remote.Pin, ir.EncodePress(parsed, i%2 == 1), ((i+1)*1000+301+3*i)*Millisecond)
				c.RunTo(end)
			}
			c.RunTo(c.Now() + 500*Millisecond)
			heard := 0
			for _, change := range c.Watched("down") {
				if change.Value != nobody {
					assert.EqualValues(t, goButton, change.Value)
					heard++
				}
			}
			assert.Equal(t, presses, heard)
		})
	}
}

// A press is heard where hooks take 10 ms, twice in every frame of the remote: what
// hooks.h says.
func TestPressUnderShortStalls(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, code := range []string{"nec:0x00:0x00", "sirc12:0x00:0x00", "rc5:0x05:0x35", "rc6:0x00:0x00"} {
		t.Run(code, func(t *testing.T) {
			t.Parallel()
			d := busy(t, "atmega328p", wirings["atmega328p"], 24, code)
			c := Start(t, compileHooks(t, d, strings.NewReplacer("static uint32_t due = 1000", "static uint32_t due = 300",
				"due += 1000", "due += 33", "delay(300)", "delay(10)").Replace(late)), Options{Watch: []string{"down"}, Step: 20 * Microsecond})
			c.SetPin(d.Remote.Pin, High, 0)
			parsed, err := ir.ParseCode(code)
			require.NoError(t, err)
			presses := *manyPresses / 2
			for i := range uint64(presses) {
				c.RunTo(c.PlayIR(d.Remote.Pin, ir.EncodePress(parsed, i%2 == 1), (500+(i+1)*501)*Millisecond))
			}
			c.RunTo(c.Now() + 500*Millisecond)
			heard := 0
			for _, change := range c.Watched("down") {
				if change.Value != nobody {
					heard++
				}
			}
			assert.Equal(t, presses, heard)
		})
	}
}

// So it is after a long strip. SIRC's frames are over when they are followed by silence.
func TestPressAfterALongStrip(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, pixels := range []int{250, 400} {
		t.Run(fmt.Sprintf("%d pixels", pixels), func(t *testing.T) {
			t.Parallel()
			d := busy(t, "atmega328p", wirings["atmega328p"], pixels, "sirc12:0x01:0x15")
			measure(t, d, goButton, 20).check(t, bySilence)
		})
	}
}

// What the motion generator costs: the cycles of one servo frame, in which eight servos
// that all move are each worked out once, calls included.
func TestGeneratorCost(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	d := rig(t)
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "cost")
	require.NoError(t, os.Mkdir(dir, 0o755))
	for _, f := range files {
		if filepath.Dir(f.Path) == "." && filepath.Ext(f.Path) != ".ino" && f.Path != "board.cpp" {
			require.NoError(t, os.WriteFile(filepath.Join(dir, f.Path), f.Text, 0o644))
		}
	}
	const frames = 50
	require.NoError(t, os.WriteFile(filepath.Join(dir, "cost.ino"), []byte(fmt.Sprintf(`#include "board.h"
#include "player.h"
#include "tables.h"
uint16_t board_ms(void) { return 0; }
bool board_servos_free(void) { return true; }
void board_servo(uint8_t servo, uint16_t width) { (void)servo; (void)width; }
void board_servos_ready(void) {}
void board_hold(bool on) { (void)on; }
void setup()
{
    cli();
    DDRB = 0x20;
    player_start(1);
    pw_state_info act;
    pw_copy(&act, &pw_states[PW_STATE_ACT]);
    player_enter(&act);
    for (uint8_t frame = 0; frame < %d; frame++) {
        for (uint8_t ms = 0; ms < 20; ms++) {
            player_tick();
        }
        PORTB = 0x20;
        while (player_work()) {
        }
        PORTB = 0;
    }
}
void loop()
{
}
`, frames)), 0o644))
	c := Start(t, Compile(t, dir, "atmega328p"), Options{Pins: []int{13}})
	c.RunTo(2000 * Millisecond)
	edges := c.Edges(13)
	require.Len(t, edges, 2*frames)
	most := uint64(0)
	for i := 1; i < len(edges); i += 2 {
		most = max(most, edges[i].At-edges[i-1].At)
	}
	t.Logf("at most %d cycles in a frame of %d, for %d servos", most, 20*Millisecond, len(d.Outputs))
	assert.Less(t, most, uint64(20*Millisecond/10), "a tenth of the frame")
	assert.Greater(t, most, uint64(1000))
}
