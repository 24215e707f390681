package bench

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/motion"
)

// A maker's hooks: setting up may take longer than the watchdog allows the
// loop, and the example in hooks.h does what it says, once.
func TestHooksAsHooksHSays(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	const light = 13
	w := wirings["atmega328p"]
	d := busy(t, "atmega328p", w, 24, "nec:0x04:0x18")
	dir := writeSketch(t, d)
	hooks, err := os.ReadFile(filepath.Join(dir, "hooks.h"))
	require.NoError(t, err)
	_, example, ok := strings.Cut(string(hooks), " *     void hook_loop")
	require.True(t, ok)
	example, _, ok = strings.Cut(example, "\n *     }\n *\n")
	require.True(t, ok)
	example = "void hook_loop" + strings.ReplaceAll(example, "\n *", "\n") + "\n}\n"
	require.Contains(t, example, "pw_post(PW_EVENT_PRESS_GO)")

	text, err := os.ReadFile(filepath.Join(dir, "hooks.cpp"))
	require.NoError(t, err)
	for _, fill := range [][2]string{
		{"void hook_setup(void)\n{", "void hook_setup(void)\n{\n    pinMode(13, OUTPUT);\n    digitalWrite(13, HIGH);\n    delay(3000);\n"},
		{"void hook_loop(void)\n{\n}\n", example},
	} {
		require.Equal(t, 1, strings.Count(string(text), fill[0]), fill[0])
		text = []byte(strings.Replace(string(text), fill[0], fill[1], 1))
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), text, 0o644))

	c := Start(t, Compile(t, dir, "atmega328p"), Options{
		Pins: append([]int{light}, w.servos...), Watch: []string{"pw_state"}, Step: 320,
	})
	c.SetPin(w.receiver, High, 0)
	c.RunTo(2900 * Millisecond)
	assert.Empty(t, c.Edges(w.servos[0]), "it is still being set up")
	c.RunTo(6000 * Millisecond) // nothing is at A3, which reads 0: dark
	require.Len(t, c.Edges(light), 1, "set up once: no restart")
	assert.EqualValues(t, 1, c.Value("pw_state"), "one press of go")
	assert.Len(t, c.Watched("pw_state"), 1)
	assert.InDelta(t, 3000/20, float64(len(c.Edges(w.servos[0])))/2, 3, "pulses since then")
}

// A debug line of the maker's has the state's name, which takes room in flash only
// where it is asked for.
func TestStateNames(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	d, err := model.Load("../../model/designs/lock-keeper.prop.toml")
	require.NoError(t, err)
	dir := writeSketch(t, d)
	symbols := func() string {
		out, err := exec.Command("avr-nm", Compile(t, dir, d.Prop.Board)).Output()
		require.NoError(t, err)
		return string(out)
	}
	assert.Contains(t, symbols(), "pw_state\n")
	assert.NotContains(t, symbols(), "state_names")
	assert.NotContains(t, symbols(), "pw_state_text")

	require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(`#include "hooks.h"
#include <Arduino.h>
#include "machine.h"
#include "tables.h"
void hook_setup(void) { Serial.begin(9600); }
void hook_enter(uint8_t state)
{
    for (uint8_t s = 0; s <= PW_STATES; s++) {
        Serial.println(pw_state_name(s));
    }
    Serial.println(pw_state_name(state));
}
void hook_leave(uint8_t) {}
void hook_event(uint8_t) {}
void hook_loop(void) {}
`), 0o644))
	assert.Contains(t, symbols(), "state_names")
	c := Start(t, Compile(t, dir, d.Prop.Board), Options{})
	c.RunTo(500 * Millisecond)
	var said strings.Builder
	for _, b := range c.UART() {
		said.WriteByte(b.Value)
	}
	want := ""
	for _, s := range d.States {
		want += s.Name + "\r\n"
	}
	assert.Equal(t, want+"\r\n"+"dozing\r\n", said.String())
}

// A hook reads where a servo is and sends it elsewhere, within its limits, but not out
// of a dormant state.
func TestSteering(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	d, err := model.Load("../../model/designs/lock-keeper.prop.toml")
	require.NoError(t, err)
	dir := writeSketch(t, d)
	out, err := exec.Command("avr-nm", Compile(t, dir, d.Prop.Board)).Output()
	require.NoError(t, err)
	assert.NotContains(t, string(out), "pw_steer", "it takes no room where it is not called")
	assert.NotContains(t, string(out), "backwards")

	// From 4 s on it is sent from end to end, in the dormant state too.
	require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(`#include "hooks.h"
#include <Arduino.h>
#include "machine.h"
#include "tables.h"
extern "C" { uint16_t position; uint8_t steered; }
void hook_setup(void) {}
void hook_enter(uint8_t) {}
void hook_leave(uint8_t) {}
void hook_event(uint8_t) {}
void hook_loop(void)
{
    static uint8_t seconds;
    position = pw_position(PW_SERVO_ARM);
    if (millis() / 1000 != seconds) {
        seconds = millis() / 1000;
        if (seconds >= 4) {
            steered = pw_steer(PW_SERVO_ARM, seconds % 2 ? 0 : 2000);
        }
        if (seconds == 8) {
            pw_post(PW_EVENT_PRESS_CALL);
        }
    }
}
`), 0o644))
	arm := d.Output("arm")
	c := Start(t, Compile(t, dir, d.Prop.Board), Options{Pins: []int{arm.Pin}, Watch: []string{"pw_state", "position", "steered"}, Step: 320})
	c.SetPin(d.Remote.Pin, High, 0)
	c.RunTo(7900 * Millisecond)
	require.EqualValues(t, 1, c.Value("pw_state"), "it rests")
	assert.EqualValues(t, 0, c.Value("steered"))
	first := c.Watched("position")
	c.RunTo(14_000 * Millisecond)
	assert.EqualValues(t, 1, c.Value("steered"))
	assert.Equal(t, first, c.Watched("position")[:len(first)], "nothing has moved it")
	var least, most uint64 = 1000, 0
	for _, p := range c.Watched("position")[len(first):] {
		least, most = min(least, p.Value), max(most, p.Value)
	}
	assert.EqualValues(t, 0, least)
	assert.EqualValues(t, 1000, most)

	limits := motion.LimitsOf(arm)
	was := -1.0
	for _, w := range widths(c.Edges(arm.Pin)) { // half microseconds
		assert.GreaterOrEqual(t, w, float64(limits.Lowest)-1)
		assert.LessOrEqual(t, w, float64(limits.Highest)+1)
		if was >= 0 {
			assert.LessOrEqual(t, max(w-was, was-w), float64(limits.Fastest)/32+2)
		}
		was = w
	}
}

// A spinner that wires pass through is not steered, another output is.
func TestSteeringWindsNoWires(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	d, err := model.Load("../../model/designs/examples/lamp-tower.prop.toml")
	require.NoError(t, err)
	dir := writeSketch(t, d)
	header, err := os.ReadFile(filepath.Join(dir, "hooks.h"))
	require.NoError(t, err)
	assert.Contains(t, string(header), "pw_steer(PW_SERVO_KEEPER,", "the example is one that is heeded")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(`#include "hooks.h"
#include "machine.h"
#include "tables.h"
extern "C" { uint8_t head, keeper; }
void hook_setup(void) {}
void hook_enter(uint8_t state)
{
    head = 7;
    if (state == PW_STATE_LIT) {
        head = pw_steer(PW_SERVO_HEAD, 1000);
        keeper = pw_steer(PW_SERVO_KEEPER, 1000);
    }
}
void hook_leave(uint8_t) {}
void hook_event(uint8_t) {}
void hook_loop(void)
{
    static bool posted;
    if (!posted) {
        posted = pw_post(PW_EVENT_PRESS_LIGHT);
    }
}
`), 0o644))
	head, keeper := d.Output("head"), d.Output("keeper")
	c := Start(t, Compile(t, dir, d.Prop.Board), Options{MCU: d.Prop.Board, Pins: []int{head.Pin, keeper.Pin}, Watch: []string{"head", "keeper"}, Step: 1600})
	c.SetPin(d.Remote.Pin, High, 0)
	c.RunTo(2000 * Millisecond)
	assert.EqualValues(t, 0, c.Value("head"))
	assert.EqualValues(t, 1, c.Value("keeper"))
	turning, looking := widths(c.Edges(head.Pin)), widths(c.Edges(keeper.Pin))
	require.NotEmpty(t, turning)
	for _, w := range turning { // half microseconds
		assert.InDelta(t, 2*head.StopUs, w, 1)
	}
	assert.InDelta(t, 2*keeper.UsAtMax, slices.Max(looking), 2)
}

// widths are the lengths of the pulses that edges make, in half microseconds.
func widths(edges []Edge) (all []float64) {
	for i := 1; i < len(edges); i++ {
		if !edges[i].High && edges[i-1].High {
			all = append(all, float64(edges[i].At-edges[i-1].At)/float64(Millisecond)*2000)
		}
	}
	return all
}

// A hook reads switches, wherever they are connected, and colours.
func TestReading(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	const lamps = 3
	for name, places := range map[string][lamps]string{
		"pins":              {"pin = 5", "pin = 6\nactive = \"low\"", "pin = 7"},
		"expander":          {"bus = \"i2c:0x40\"\nchannel = 3", "bus = \"i2c:0x41\"\nchannel = 0", "bus = \"i2c:0x40\"\nchannel = 4"},
		"pins and expander": {"pin = 5", "bus = \"i2c:0x40\"\nchannel = 3", "pin = 7\nactive = \"low\""},
	} {
		t.Run(name, func(t *testing.T) {
			text := "format = 1\n[prop]\nname = \"lamps\"\nlabel = \"Lamps\"\nboard = \"atmega328p\"\nseed = 1\n" +
				"[remote]\npin = 2\nstop = \"halt\"\n[[remote.button]]\nname = \"halt\"\ncode = \"nec:0x04:0x08\"\n" +
				"[[output]]\nname = \"arm\"\nkind = \"servo\"\nbus = \"i2c:0x40\"\nchannel = 0\nmin = \"-45deg\"\nmax = \"45deg\"\nrest = \"0deg\"\nus_at_min = 1000\nus_at_max = 2000\n" +
				"[[output]]\nname = \"eyes\"\nkind = \"pixels\"\npin = 12\ncount = 2\norder = \"brg\"\nmax_ma = 60\n" +
				"[[state]]\nname = \"idle\"\nkind = \"dormant\"\npose = { arm = \"0deg\", eyes = { effect = \"solid\", colour = \"#ff8040\", first = 1 } }\n" +
				"[[transition]]\nfrom = \"any\"\non = \"press halt\"\nto = \"idle\"\n"
			for i, place := range places {
				text += fmt.Sprintf("[[output]]\nname = \"lamp-%d\"\nkind = \"switch\"\n%s\n[[event]]\nname = \"turn-%[1]d\"\n"+
					"[[transition]]\nfrom = \"idle\"\non = \"event turn-%[1]d\"\ndo = { output = \"lamp-%[1]d\", toggle = true }\n", i, place)
			}
			d, err := model.Read("lamps.prop.toml", []byte(text))
			require.NoError(t, err)
			dir := writeSketch(t, d)
			symbols, err := exec.Command("avr-nm", Compile(t, dir, d.Prop.Board)).Output()
			require.NoError(t, err)
			assert.NotRegexp(t, "pw_switched|pw_colour|primaries", string(symbols), "they take no room where they are not called")

			// Every half a second another lamp is toggled.
			require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(`#include "hooks.h"
#include <Arduino.h>
#include "machine.h"
#include "tables.h"
extern "C" { uint8_t lit; uint32_t eyes[3]; }
void hook_setup(void) {}
void hook_enter(uint8_t) {}
void hook_leave(uint8_t) {}
void hook_event(uint8_t) {}
void hook_loop(void)
{
    static uint8_t halves;
    lit = pw_switched(PW_SWITCH_LAMP_0) | pw_switched(PW_SWITCH_LAMP_1) << 1 | pw_switched(PW_SWITCH_LAMP_2) << 2 | pw_switched(PW_SWITCHES) << 3;
    for (uint8_t i = 0; i < 3; i++) {
        eyes[i] = pw_colour(PW_STRIP_EYES, i);
    }
    if (millis() / 500 != halves) {
        halves = millis() / 500;
        pw_post(PW_EVENT_TURN_0 + halves % 3);
    }
}
`), 0o644))
			o := Options{Watch: []string{"lit", "eyes+0:4", "eyes+4:4", "eyes+8:4"}, Step: 320}
			for i := range lamps {
				if pin := d.Output(fmt.Sprintf("lamp-%d", i)).Pin; pin > 0 {
					o.Pins = append(o.Pins, pin)
				}
			}
			c := Start(t, Compile(t, dir, d.Prop.Board), o)
			c.SetPin(d.Remote.Pin, High, 0)
			c.RunTo(3800 * Millisecond)
			var lit []uint64
			for _, w := range c.Watched("lit") {
				lit = append(lit, w.Value)
			}
			assert.Equal(t, []uint64{2, 6, 7, 5, 1, 0, 2}, lit)
			for _, pin := range o.Pins {
				assert.Greater(t, len(c.Edges(pin)), 1)
			}
			glow := motion.Scaled(d.Output("eyes"), model.Colour{R: 255, G: 128, B: 64})
			assert.EqualValues(t, 0, c.Value("eyes+0:4"), "it is dark")
			assert.EqualValues(t, uint64(glow.R)<<16|uint64(glow.G)<<8|uint64(glow.B), c.Value("eyes+4:4"))
			assert.EqualValues(t, 0, c.Value("eyes+8:4"), "there is no third one")
		})
	}
}
