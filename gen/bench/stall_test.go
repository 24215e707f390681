package bench

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/ir"
	"propwright/model/motion"
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

// A loop that stalls at any time makes no servo faster than its limits, and stops or
// turns none harder than they allow, with presses at random times: an interrupt has the
// moves go on. What is looked at is every pulse on the pins.
//
// A width is rounded to a timer's tick of half a microsecond, so a speed may be one tick
// in a frame more, and an acceleration, which is made of three widths, two.
func TestServosKeepTheirLimitsWhenTheLoopStalls(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	w := wirings["atmega328p"]
	d := busy(t, "atmega328p", w, 24, "nec:0x04:0x18")
	watched := []string{"stalls"}
	var servos []*model.Output
	for i := range d.Outputs {
		o := &d.Outputs[i]
		if o.Kind != model.KindServo {
			continue
		}
		o.MaxSpeed, o.MaxAccel = model.DegPerS(60+40*len(servos)), model.DegPerS2(300+200*len(servos))
		watched = append(watched, fmt.Sprintf("moves+%d:2", 22*len(servos)+4))
		servos = append(servos, o)
	}
	c := Start(t, compileStalling(t, d), Options{Pins: w.servos, Watch: watched, Step: 20 * Microsecond})
	c.SetPin(w.receiver, High, 0)
	code, err := ir.ParseCode("nec:0x04:0x18")
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(5, 6))
	at := uint64(300 * Millisecond)
	for range *manyPresses {
		at = c.PlayIR(w.receiver, ir.Encode(code), at+200*Millisecond+rng.Uint64N(1500*Millisecond))
		c.RunTo(at)
	}
	t.Logf("%d stalls in %d s", c.Value("stalls"), at/Hz)
	assert.Greater(t, c.Value("stalls"), uint64(*manyPresses/2))
	moving := 0
	for i, o := range servos {
		l := motion.LimitsOf(o)
		fastest, hardest := float64(l.Fastest)/32, float64(l.Accel)/32
		var pulses []uint64
		for _, e := range c.Edges(o.Pin) {
			if e.High {
				pulses = append(pulses, e.At)
			}
		}
		require.Greater(t, len(pulses), int(at/(20*Millisecond))-20, "a pulse in each frame, stalled or not")
		speed, accel := course(pulses, c.Watched(watched[1+i]))
		t.Logf("%s: speed %.3f of its limit (a tick is %.3f), acceleration %.3f (two are %.3f)",
			o.Name, speed/fastest, 1/fastest, accel/hardest, 2/hardest)
		assert.LessOrEqual(t, speed, fastest+1, o.Name)
		assert.LessOrEqual(t, accel, hardest+2, o.Name)
		if speed > fastest/2 {
			moving++
		}
	}
	assert.Positive(t, moving, "servos that come near their limits")
}

// course is the largest speed and change of speed, in half microseconds a frame, of what
// a servo was asked for at one time after the other, of which the player keeps the
// complement. The edges on its pin are within half a microsecond of that.
func course(times []uint64, asked []Change) (speed, accel float64) {
	n := 0
	var widths []float64
	for _, now := range times {
		for n+1 < len(asked) && asked[n+1].At <= now {
			n++
		}
		widths = append(widths, float64(^uint16(asked[n].Value)))
	}
	for n := 2; n < len(widths); n++ {
		v, before := widths[n]-widths[n-1], widths[n-1]-widths[n-2]
		speed, accel = max(speed, abs(v)), max(accel, abs(v-before))
	}
	return speed, accel
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
