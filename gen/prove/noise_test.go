package prove

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/ir"
	"propwright/model/motion"
)

// manyEvents is how many random events are posted on each design, 2000 of them from one
// power-up to the next. A million of them on the demo, in three quarters of an hour of
// processor time, are
//
//	nice go test -v -timeout 0 -run TestLimitsHoldWhateverHappens/harbour ./gen/prove -args -events 1000000
var manyEvents = flag.Int("events", 600, "how many random events TestLimitsHoldWhateverHappens posts on each design")

// noisy is a hook that posts any of the design's events at any time, some 20 ms apart and
// now and then several at once, and holds the loop up for 0 to 900 ms wherever a hook is
// called. When the remote's stop button is heard it posts nothing more until the prop has
// had the time to come to rest, and as long as the loop was held up on top of that.
const noisy = `#include "hooks.h"
#include <Arduino.h>
#include "machine.h"
#include "tables.h"
uint16_t posted, stalls;
bool stalling, quiet;
static uint32_t drawn = %[1]d;
static uint32_t post_at, stall_at, quiet_until;
static uint8_t stall_in, own_stops;
static uint16_t draw(uint16_t below)
{
    return (pw_random(&drawn) >> 8) %% below;
}
static void may_stall(uint8_t hook)
{
    if (hook != stall_in || (int32_t)(millis() - stall_at) < 0) {
        return;
    }
    uint16_t took = draw(901);
    stalls++;
    stalling = true;
    delay(took);
    stalling = false;
    quiet_until += took;
    stall_in = draw(4);
    stall_at = millis() + 20 + draw(4000); /* the watchdog has to be fed between two */
}
void hook_enter(uint8_t state) { (void)state; may_stall(0); }
void hook_leave(uint8_t state) { (void)state; may_stall(1); }
void hook_event(uint8_t event)
{
    if (event == %[2]d) {
        if (own_stops > 0) {
            own_stops--;
        } else {
            quiet = true;
            quiet_until = millis() + %[3]d;
        }
    }
    may_stall(2);
}
void hook_loop(void)
{
    may_stall(3);
    uint32_t now = millis();
    if (quiet) {
        quiet = (int32_t)(now - quiet_until) < 0;
        return;
    }
    if ((int32_t)(now - post_at) < 0 || pw_waiting()) { /* what the remote says comes last */
        return;
    }
    for (uint8_t n = draw(8) > 0 ? 1 : 1 + draw(4); n > 0; n--) {
        uint8_t event = draw(PW_EVENTS);
        posted++;
        if (pw_post(event) && event == %[2]d) {
            own_stops++;
        }
    }
    post_at = now + draw(41) + (draw(128) > 0 ? 0 : draw(1000));
}
`

// Whatever happens, and however long the loop is held up, no servo is faster than its
// limits, and none speeds up or slows down harder; and once stop was heard no pulse, no
// light, no level and no byte changes any later than the check says and the loop was held
// up since.
//
// A width is rounded to a tick of timer 1, half a microsecond, so the speed of what is
// asked for may be one tick a frame more, and its change, which is made of three widths,
// two. On the pin a pulse is as wide as asked for, within a tick.
func TestLimitsHoldWhateverHappens(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	const portion = 2000
	for _, file := range traced {
		t.Run(file, func(t *testing.T) {
			t.Parallel()
			var all extremes
			for seed, left := *randomSeed, *manyEvents; left > 0; seed, left = seed+1, left-portion {
				t.Run(fmt.Sprint(seed), func(t *testing.T) {
					all.merge(disturb(t, read(t, file), seed, min(portion, left)))
					t.Logf("up to here %s", &all)
				})
			}
			assert.Greater(t, all.stalls, *manyEvents/400)
			assert.Greater(t, all.stops, *manyEvents/1000)
			assert.LessOrEqual(t, all.speed.over, 1.0, "ticks")
			assert.LessOrEqual(t, all.accel.over, 2.0, "ticks")
			assert.Less(t, all.off, 1.0, "ticks")
			assert.Greater(t, all.speed.part, 0.3, "how near servos come to their limits")
			assert.Greater(t, all.accel.part, 0.9, "how near servos come to their limits")
		})
	}
}

// An extreme is the most of something, as a part of its limit and in ticks beyond it.
type extreme struct{ part, over float64 }

func (x *extreme) see(is, limit float64) {
	if over := is - limit; over > x.over || x.part == 0 {
		x.over = over
	}
	x.part = max(x.part, is/limit)
}

func (x *extreme) merge(y extreme) {
	*x = extreme{max(x.part, y.part), max(x.over, y.over)}
}

func (x extreme) String() string { return fmt.Sprintf("%.4f (%+.2f ticks)", x.part, x.over) }

// extremes are what was seen at the most.
type extremes struct {
	events, stalls, stops, unheard int
	stalled, lasted                time.Duration
	speed, accel                   extreme       // of what was asked for
	off                            float64       // a pulse on the pin, of what was asked for, in ticks
	rest, stop                     time.Duration // from stop's last edge to the last change, without the stalls, and what the check says
}

func (x *extremes) merge(y extremes) {
	x.events += y.events
	x.stalls += y.stalls
	x.stops += y.stops
	x.unheard += y.unheard
	x.stalled += y.stalled
	x.lasted += y.lasted
	x.speed.merge(y.speed)
	x.accel.merge(y.accel)
	x.off = max(x.off, y.off)
	x.rest, x.stop = max(x.rest, y.rest), y.stop
}

func (x *extremes) String() string {
	return fmt.Sprintf("%d events, %d stalls of %v in all, in %v; of its limit speed %v, acceleration %v; on the pins within %.2f ticks; "+
		"%d stops heard, %d not; at rest within %v, the check says %v",
		x.events, x.stalls, x.stalled.Round(time.Second), x.lasted.Round(time.Second), x.speed, x.accel, x.off,
		x.stops, x.unheard, x.rest, x.stop)
}

// disturb powers a design up and posts so many random events.
func disturb(t *testing.T, d *model.Design, seed, events int) (x extremes) {
	s := check.NewStudy(d)
	times, err := s.Rest()
	require.NoError(t, err)
	require.True(t, times.Stops)
	x.stop = times.Stop
	d.Prop.Seed = uint32(seed)
	press, ok := s.Program.Event(model.Trigger{Kind: model.Press, Name: d.Remote.Stop})
	require.True(t, ok)
	const after = 300 * time.Millisecond // looked at beyond what the check says
	hooks := fmt.Sprintf(noisy, seed, press, (times.Stop + after).Milliseconds())
	o := bench.Options{Pins: pinsOf(d), Watch: []string{"posted", "stalls", "stalling", "quiet"}, Step: 20 * bench.Microsecond}
	asked := map[string]string{} // by servo, the complement of what it is asked for
	n := 0
	for i := range d.Outputs {
		switch d.Outputs[i].Kind {
		case model.KindServo:
			asked[d.Outputs[i].Name] = fmt.Sprintf("moves+%d:2", 22*n+4)
			o.Watch = append(o.Watch, asked[d.Outputs[i].Name])
			n++
		case model.KindSpinner:
			n++
		}
	}
	dir := build(t, d)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(hooks), 0o644))
	c := bench.Start(t, compile(t, dir, d), o)
	c.SetPin(d.Remote.Pin, bench.High, 0)
	for i := range d.Inputs {
		c.SetPin(d.Inputs[i].Pin, d.Inputs[i].Pull == model.PullUp, 0)
	}

	code, err := ir.ParseCode(d.Remote.Buttons[press].Code)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(uint64(seed), 0))
	draw := func(lo, hi time.Duration) uint64 { return cycle(lo + time.Duration(rng.Int64N(int64(hi-lo)))) }
	var sent []uint64 // when the last edge of each frame was
	for next := draw(time.Second, 9*time.Second); ; {
		for c.RunTo(next); c.Value("quiet") == 1; {
			c.RunTo(c.Now() + 100*bench.Millisecond)
		}
		if c.Value("posted") >= uint64(events) {
			break
		}
		end := c.PlayIR(d.Remote.Pin, ir.Encode(code), c.Now()+draw(0, 20*time.Millisecond))
		sent = append(sent, end)
		// No stall is as long as this: until then the frame is heard, or never.
		c.RunTo(end + cycle(950*time.Millisecond))
		if next = c.Now(); c.Value("quiet") == 1 {
			next += draw(time.Second, 12*time.Second)
		}
	}
	x.events, x.stalls, x.lasted = int(c.Value("posted")), int(c.Value("stalls")), at(c.Now())

	for i := range d.Outputs {
		o := &d.Outputs[i]
		if o.Kind != model.KindServo {
			continue
		}
		l := motion.LimitsOf(o)
		var pulses []uint64
		var widths []float64
		edges := c.Edges(o.Pin)
		for i := 0; i+1 < len(edges); i++ {
			if edges[i].High {
				pulses = append(pulses, edges[i].At)
				widths = append(widths, float64(edges[i+1].At-edges[i].At)/(bench.Microsecond/2))
			}
		}
		require.InDelta(t, float64(x.lasted)/float64(frame), len(pulses), 3, "%s: a pulse in each frame, stalled or not", o.Name)
		assert.Less(t, at(pulses[0]), 21*time.Millisecond, "%s: the first pulse, also where the loop is held up from the beginning", o.Name)
		wanted := askedFor(pulses, c.Watched(asked[o.Name]))
		for i, w := range widths {
			x.off = max(x.off, math.Abs(w-wanted[i]))
		}
		speed, accel := course(wanted)
		x.speed.see(speed, float64(l.Fastest)/32)
		x.accel.see(accel, float64(l.Accel)/32)
	}

	stalled := c.Watched("stalling")
	x.stalled = heldUp(stalled, 0, c.Now())
	quiet := c.Watched("quiet")
	for i := 0; i+1 < len(quiet); i += 2 {
		n, _ := slices.BinarySearch(sent, quiet[i].At)
		require.Positive(t, n)
		edge, end := sent[n-1], quiet[i+1].At
		x.stops++
		for i := range d.Outputs {
			o := &d.Outputs[i]
			last := lastChange(c, o, edge, end)
			if last == 0 {
				continue
			}
			took := at(last) - at(edge) - heldUp(stalled, edge, last)
			x.rest = max(x.rest, took)
			assert.LessOrEqual(t, took, times.Stop, "%s, stopped at %v, without the stalls", o.Name, at(edge))
		}
	}
	x.unheard = len(sent) - x.stops
	return x
}

// askedFor gives what a servo was asked for at one time after the other, of which the
// player keeps the complement.
func askedFor(times []uint64, asked []bench.Change) (widths []float64) {
	n := 0
	for _, now := range times {
		for n+1 < len(asked) && asked[n+1].At <= now {
			n++
		}
		widths = append(widths, float64(^uint16(asked[n].Value)))
	}
	return widths
}

// course is the largest speed and change of speed of widths, one a frame.
func course(widths []float64) (speed, accel float64) {
	for n := 2; n < len(widths); n++ {
		v, before := widths[n]-widths[n-1], widths[n-1]-widths[n-2]
		speed, accel = max(speed, math.Abs(v)), max(accel, math.Abs(v-before))
	}
	return speed, accel
}

// heldUp is how long the loop was, in a stretch of time.
func heldUp(stalling []bench.Change, from, to uint64) (sum time.Duration) {
	for i := 0; i < len(stalling); i += 2 {
		begin, end := max(stalling[i].At, from), to
		if i+1 < len(stalling) {
			end = min(stalling[i+1].At, to)
		}
		if begin < end {
			sum += at(end) - at(begin)
		}
	}
	return sum
}
