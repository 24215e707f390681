package prove

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// holding is a hook that holds the loop up each time the stop button is pressed: so many
// milliseconds after the press, 0 for before it is handled, for so long.
const holding = `#include "hooks.h"
#include <Arduino.h>
static const uint16_t held[][2] = {%s};
static uint8_t presses;
static uint32_t pressed;
static bool waits;
void hook_enter(uint8_t state) { (void)state; }
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event)
{
    if (event == %d) {
        pressed = millis();
        waits = true;
        if (held[presses][0] == 0) {
            hook_loop();
        }
    }
}
void hook_loop(void)
{
    if (waits && millis() - pressed >= held[presses][0]) {
        waits = false;
        delay(held[presses++][1]);
    }
}
`

// After the stop button no pulse changes its width, no level and no light changes, and no
// byte is sent any later than the check says, wherever the prop was stopped. What holds
// up the loop meanwhile adds no more than its own time.
func TestStopIsAsSoonAsTheCheckSays(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	// When after the last other press, somewhere in the performance, and when after
	// that and for how long the loop is held up.
	stops := []struct{ playing, after, held ms }{{300, 0, 0}, {900, 0, 900}, {1800, 300, 700}}
	for _, file := range traced {
		t.Run(file, func(t *testing.T) {
			t.Parallel()
			d := read(t, file)
			times, err := check.NewStudy(d).Rest()
			require.NoError(t, err)
			require.True(t, times.Stops)
			var pins []int
			for i := range d.Outputs {
				pins = append(pins, d.Outputs[i].Pin)
			}
			stop := slices.IndexFunc(d.Remote.Buttons, func(b model.Button) bool { return b.Name == d.Remote.Stop })
			var hooked []string
			for _, s := range stops {
				hooked = append(hooked, fmt.Sprintf("{%d, %d}", s.after, s.held))
			}
			r := &recording{stand: newStandWith(t, d, fmt.Sprintf(holding, strings.Join(hooked, ", "), stop), bench.Options{Pins: pins})}
			changed := 0
			for _, s := range stops {
				for b := range d.Remote.Buttons {
					if b != stop && !r.sounds() {
						r.press(b, 0)
						r.to(r.now() + 300)
					}
				}
				r.to(r.now() + s.playing)
				r.press(stop, 0)
				n := slices.IndexFunc(r.handled, func(h handled) bool {
					return h.Cause == machine.CauseEvent && int(h.Event) == stop && h.At+200 > r.now()
				})
				require.GreaterOrEqual(t, n, 0)
				stopped := time.Duration(r.handled[n].At) * time.Millisecond
				by := stopped + times.Stop + time.Duration(s.held)*time.Millisecond + late
				r.to(r.now() + ms(times.Stop.Milliseconds()) + s.held + 500)
				for i := range d.Outputs {
					o := &d.Outputs[i]
					last := at(lastChange(r.chip, o, cycle(stopped), r.chip.Now()))
					assert.LessOrEqual(t, last, by, "%s, stopped at %v", o.Name, stopped)
					if last > stopped {
						changed++
					}
				}
			}
			assert.Greater(t, changed, len(d.Outputs), "outputs that were on the move")
		})
	}
}

// lastChange is the cycle in which an output has changed last in a stretch of time, 0
// where it has not.
func lastChange(c *bench.Chip, o *model.Output, from, to uint64) (last uint64) {
	if o.Kind == model.KindMessage {
		for _, b := range c.UART() {
			if end := b.At + 20*b.BitCycles; b.At >= from && b.At < to { // another may be on the line
				last = end
			}
		}
		return last
	}
	edges := c.Edges(o.Pin)
	search := func(at uint64) int {
		n, _ := slices.BinarySearchFunc(edges, at, func(e bench.Edge, at uint64) int { return cmp.Compare(e.At, at) })
		return n
	}
	edges = edges[search(from):search(to)]
	if o.Kind != model.KindServo && o.Kind != model.KindSpinner && o.Kind != model.KindPixels {
		if len(edges) > 0 {
			last = edges[len(edges)-1].At
		}
		return last
	}
	const pause = 50 * bench.Microsecond // after a pulse or a refresh
	var before, now []uint64             // how long the line was high: in a pulse, or for each bit of a refresh
	for i := 1; i < len(edges); i++ {
		switch lasted := edges[i].At - edges[i-1].At; {
		case edges[i-1].High:
			now = append(now, lasted)
		case lasted > pause:
			same := func(a, b uint64) bool { return max(a, b)-min(a, b) <= slack(o) }
			if before != nil && !slices.EqualFunc(before, now, same) {
				last = edges[i-1].At
			}
			before, now = now, nil
		}
	}
	return last
}

// slack is by how many cycles what is high may differ and mean the same: a servo's pulse
// by 1 us, a bit by less than what makes a one of a zero.
func slack(o *model.Output) uint64 {
	if o.Kind == model.KindPixels {
		return bench.Microsecond / 5
	}
	return bench.Microsecond
}
