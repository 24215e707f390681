package bench

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
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
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), sketch.Folder(d))
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
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
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), sketch.Folder(d))
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
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
