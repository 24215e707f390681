package bench

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
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

// compileStalling builds a design's firmware with that hook.
func compileStalling(t *testing.T, d *model.Design) (elf string) {
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), sketch.Folder(d))
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(stalling), 0o644))
	return Compile(t, dir, d.Prop.Board)
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
