package bench

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
)

// A sound board's trigger wants its pulse for at least so long. Nothing that
// holds the loop up may cut one short: not a long strip, not a slow hook.
func TestPulseIsHeldForAsLongAsAsked(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	const short, long = 13, 15 // pins
	w := wirings["atmega328p"]
	for _, c := range []struct {
		name   string
		pixels int
		hook   string
		most   float64 // ms that a pulse may be longer
	}{
		// A pass with the strip in it takes 9.6 ms (see gen/sketch), the passes before and after
		// it 0.3 each, and the clock counts whole milliseconds.
		{"long strip", 300, "", 11.2},
		{"slow hook", 0, "static uint16_t n; if (++n % 50 == 0) { delay(25); }", 27},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			d := busy(t, "atmega328p", w, c.pixels, "nec:0x04:0x18")
			d.Outputs = append(d.Outputs,
				model.Output{Name: "short", Kind: model.KindPulse, Pin: short, Active: model.High, Hold: time.Millisecond},
				model.Output{Name: "long", Kind: model.KindPulse, Pin: long, Active: model.High, Hold: 20 * time.Millisecond})
			for i, output := range []string{"short", "long"} {
				d.Routines[0].Cues = append(d.Routines[0].Cues, model.Cue{
					At: time.Duration(3+i) * time.Millisecond, Output: output, Action: model.Action{Fire: true, Last: -1},
				})
			}
			d.Routines[0].Length = 97 * time.Millisecond // in every phase of the frame
			d.States[0].Plays = d.Routines[0].Name
			dir := writeSketch(t, d)
			require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(fmt.Sprintf(`#include "hooks.h"
#include <Arduino.h>
void hook_enter(uint8_t state) { (void)state; }
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event) { (void)event; }
void hook_loop(void) { %s }
`, c.hook)), 0o644))
			chip := Start(t, Compile(t, dir, "atmega328p"), Options{Pins: []int{short, long}, Watch: []string{"pw_state"}, Step: 320})
			chip.SetPin(w.receiver, High, 0)
			chip.RunTo(10_000 * Millisecond)
			for pin, hold := range map[int]float64{short: 1, long: 20} {
				pulses, shortest, longest := 0, 1e9, 0.0
				edges := chip.Edges(pin)
				for i := 1; i < len(edges); i++ {
					if !edges[i].High {
						pulses++
						length := float64(edges[i].At-edges[i-1].At) / Millisecond
						shortest, longest = min(shortest, length), max(longest, length)
					}
				}
				t.Logf("%d pulses of %v ms: %.2f to %.2f ms", pulses, hold, shortest, longest)
				assert.Greater(t, pulses, 90)
				assert.GreaterOrEqual(t, shortest, hold)
				assert.LessOrEqual(t, longest, hold+c.most)
			}
		})
	}
}
