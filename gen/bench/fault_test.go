package bench

import (
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/ir"
)

// What goes wrong with a prop, and that it then ends at rest or goes on. The
// states of the busy design are rest (0), left (1) and right (2).

// A patient is a busy prop of 24 pixels under test.
type patient struct {
	t       *testing.T
	chip    *Chip
	wiring  wiring
	go_     ir.Code
	halt    ir.Code
	counted int // changes of state that have been looked at
}

func newPatient(t *testing.T, design func(*model.Design), hooks string) *patient {
	w := wirings["atmega328p"]
	d := busy(t, "atmega328p", w, 24, "nec:0x04:0x18")
	if design != nil {
		design(d)
	}
	dir := writeSketch(t, d)
	if hooks != "" {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(hooks), 0o644))
	}
	c := Start(t, Compile(t, dir, "atmega328p"), Options{
		Pins: append([]int{w.strip}, w.servos...), Watch: []string{"pw_state", "pw_dropped"}, Step: 20 * Microsecond,
	})
	c.SetPin(w.receiver, High, 0)
	p := &patient{t: t, chip: c, wiring: w}
	var err error
	p.go_, err = ir.ParseCode("nec:0x04:0x18")
	require.NoError(t, err)
	p.halt, err = ir.ParseCode("nec:0x04:0x08")
	require.NoError(t, err)
	c.RunTo(200 * Millisecond)
	require.EqualValues(t, 0, c.Value("pw_state"))
	return p
}

// press presses a button and expects the state that it leads to.
func (p *patient) press(code ir.Code, state int) {
	p.t.Helper()
	end := p.chip.PlayIR(p.wiring.receiver, ir.Encode(code), p.chip.Now()+100*Microsecond)
	p.chip.RunTo(end + 2*Millisecond)
	require.EqualValues(p.t, state, p.chip.Value("pw_state"))
	p.chip.RunTo(end + 300*Millisecond)
}

func (p *patient) wait(ms uint64) { p.chip.RunTo(p.chip.Now() + ms*Millisecond) }

// pulses checks a servo that stands still (s1 at 0°) and one that moves, from
// a cycle on: one pulse every 20 ms, each within its travel, the still one
// exact, and no level held.
func (p *patient) pulses(from uint64) {
	p.t.Helper()
	for i, servo := range []int{1, 5} {
		var rise, previous uint64
		n := 0
		for _, e := range p.chip.Edges(p.wiring.servos[servo]) {
			if e.At < from {
				continue
			}
			if e.High {
				if previous != 0 {
					require.InDelta(p.t, 20, float64(e.At-previous)/Millisecond, 0.1)
				}
				rise, previous = e.At, e.At
				continue
			}
			if rise == 0 {
				continue
			}
			n++
			width := float64(e.At-rise) / Microsecond
			if i == 0 {
				require.InDelta(p.t, 1500, width, 0.5)
			}
			require.GreaterOrEqual(p.t, width, 999.5)
			require.LessOrEqual(p.t, width, 2000.5)
		}
		frames := float64(p.chip.Now()-from) / (20 * Millisecond)
		assert.InDelta(p.t, frames, float64(n), 2, "pulses of servo %d", servo)
	}
}

func (p *patient) changes() []Change {
	all := p.chip.Watched("pw_state")
	fresh := all[p.counted:]
	p.counted = len(all)
	return fresh
}

func TestFaultReceiverStuckLow(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	p := newPatient(t, nil, "")
	p.press(p.go_, 1)
	p.changes()
	from := p.chip.Now()
	p.chip.SetPin(p.wiring.receiver, Low, from)
	p.wait(5000)
	assert.Empty(t, p.changes(), "no press is heard")
	p.pulses(from)
	refreshed := 0
	for _, e := range p.chip.Edges(p.wiring.strip) {
		if e.At > from+20*Millisecond {
			refreshed++
		}
	}
	assert.Greater(t, refreshed, 45*5*24*24*2*9/10, "the lights go on")
	p.chip.SetPin(p.wiring.receiver, High, p.chip.Now())
	p.wait(50)
	p.press(p.go_, 2)
}

var jammed = flag.Duration("jam", 75*time.Second, "how long the remote of TestFaultJammedRemote is jammed")

// A jammed button sends repeat frames without end: more than 16 bits of
// milliseconds of them under full load are one press, and the clock has lost
// nothing after them: a tick in each servo frame would be 1.9 ms.
func TestFaultJammedRemote(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	p := newPatient(t, func(d *model.Design) {
		d.Transitions = append(d.Transitions, model.Transition{
			From: []model.From{{State: "right"}},
			On:   []model.Trigger{{Kind: model.After, After: model.Span{Lo: *jammed, Hi: *jammed}}},
			To:   "rest",
		})
	}, "")
	p.press(p.go_, 1)
	p.changes()
	begin := p.jam(*jammed + time.Second)
	changes := p.changes()
	require.Len(t, changes, 2, "one press, however long, and the timer")
	assert.EqualValues(t, 2, changes[0].Value)
	assert.InDelta(t, jammed.Milliseconds(), float64(changes[1].At-changes[0].At)/Millisecond, 1.5, "milliseconds by the chip's crystal")
	assert.Zero(t, p.chip.Value("pw_dropped"))
	p.pulses(begin)
	p.wait(200)
	p.press(p.go_, 1)
}

// jam holds the button `go` for so long and returns the cycle at which that began.
func (p *patient) jam(length time.Duration) (begin uint64) {
	begin = p.chip.Now()
	p.chip.PlayIR(p.wiring.receiver, ir.Encode(p.go_), begin)
	for at := begin; at < begin+uint64(length.Milliseconds())*Millisecond; {
		at += 108 * Millisecond
		p.chip.PlayIR(p.wiring.receiver, ir.EncodeRepeat(p.go_), at)
		p.chip.RunTo(at + 20*Millisecond)
	}
	return begin
}

// Light that flickers fast enough makes a receiver's output noisy; 10,000
// edges a second at random times.
func TestFaultNoise(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	p := newPatient(t, nil, "")
	p.press(p.go_, 1)
	p.changes()
	from := p.chip.Now()
	rng := rand.New(rand.NewPCG(3, 4))
	level, at := High, from
	for range 50_000 {
		at += uint64(rng.ExpFloat64() * 100 * Microsecond)
		level = !level
		p.chip.SetPin(p.wiring.receiver, level, at)
	}
	p.chip.SetPin(p.wiring.receiver, High, at+Millisecond)
	p.chip.RunTo(at + 100*Millisecond)
	assert.Empty(t, p.changes(), "nothing is taken for a press")
	p.pulses(from)
	p.press(p.go_, 2)
}

// The chip's brown-out detector resets it in the middle of a performance.
func TestFaultBrownOut(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	const borf = 1 << 2 // in MCUSR
	p := newPatient(t, nil, "")
	p.press(p.go_, 1)
	p.wait(700)
	reset := p.chip.Now()
	p.chip.Reset(borf, reset)
	p.wait(1000)
	assert.EqualValues(t, 0, p.chip.Value("pw_state"), "at rest")
	p.pulses(reset + 60*Millisecond)
	p.press(p.go_, 1)
}

// A UART too slow for what is to be sent: the outbox fills and the prop goes on.
func TestFaultUARTBlocked(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	p := newPatient(t, func(d *model.Design) { d.Outputs[0].Baud = 500 }, "")
	from := p.chip.Now()
	p.press(p.go_, 1)
	for i := range 10 {
		p.press(p.go_, 2-i%2)
	}
	p.press(p.halt, 0)
	p.pulses(from)
	assert.Zero(t, p.chip.Value("pw_dropped"))
}

// A maker's hook that never returns: the watchdog restarts the prop, at rest.
func TestFaultHookHangs(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	p := newPatient(t, nil, `#include "hooks.h"
#include "tables.h"
void hook_enter(uint8_t state)
{
    while (state == PW_STATE_RIGHT) {
    }
}
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event) { (void)event; }
void hook_loop(void) {}
`)
	p.press(p.go_, 1)
	p.press(p.go_, 2)
	hung := p.chip.Now()
	p.wait(500)
	assert.EqualValues(t, 2, p.chip.Value("pw_state"), "it hangs")
	p.wait(1000)
	assert.EqualValues(t, 0, p.chip.Value("pw_state"), "it has started again, at rest")
	p.pulses(hung + 1300*Millisecond)
	p.press(p.go_, 1)
}
