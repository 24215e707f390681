package prove

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/motion"
)

// used is an expander that something else has used and that kept its settings when the
// chip was reset: awake without auto-increment, its outputs inverted and not driven high,
// its cycle short, every channel on (section 7.3).
func used(t testing.TB) *pca9685 {
	p := newPCA9685(t)
	p.registers[mode1], p.registers[mode2], p.registers[prescale], p.awake = 0, 0x10, 3, 1
	for channel := range 16 {
		p.registers[led0+4*channel+1], p.registers[led0+4*channel+3] = full, 0
	}
	for _, register := range []int{2, 3, 4, 5, 0xFF} { // further addresses, TestMode
		p.registers[register] = 0xA5
	}
	return p
}

// prescaled is PRE_SCALE for 50 Hz of an oscillator of 25 MHz (section 7.3.5).
const prescaled = 121

// usAStep is how many microseconds a channel's step then lasts.
const usAStep = (prescaled + 1) / 25.0

// setUpSince expects an expander that was used to be set up from a cycle on, as the data
// sheet asks, and to be sent nothing else. It returns the expander at the end.
func (s *stand) setUpSince(t *testing.T, from, to uint64) *pca9685 {
	t.Helper()
	p, before := used(t), used(t).registers
	inUse := map[int]bool{}
	for i := range s.design.Outputs {
		if o := &s.design.Outputs[i]; o.Bus != 0 {
			inUse[o.Channel] = true
		}
	}
	for _, x := range s.chip.Transfers() {
		if x.At >= from && x.End < to && x.Acknowledged && x.End > 0 {
			require.Greater(t, len(x.Bytes), 1, "a register and its value: %v", x)
			p.takes(x)
		}
	}
	require.NotEmpty(t, p.history)
	for _, h := range p.history {
		r := h.registers
		if r[mode1]&sleep == 0 {
			require.EqualValues(t, autoIncrement, r[mode1], "MODE1")
			require.EqualValues(t, outdrv, r[mode2], "MODE2 as it is awake")
			require.EqualValues(t, prescaled, r[prescale], "PRE_SCALE as it is awake")
		}
		require.Equal(t, before[mode2+1:led0], r[mode2+1:led0], "addresses, which are not the firmware's business")
		require.Equal(t, before[prescale+1], r[prescale+1], "TestMode, which is not either")
	}
	require.Zero(t, p.registers[mode1]&sleep, "it sleeps")
	for channel := range 16 {
		if !inUse[channel] {
			require.EqualValues(t, full, p.registers[led0+4*channel+3]&full, "channel %d, which is not in use, is off", channel)
		}
	}
	return p
}

// A width that a channel was sent, in steps. Those of 4096 and more are none: it is off.
type sending struct {
	at    uint64 // cycle of the end
	steps int
}

func (s *stand) sendings(channel int, from, to uint64) (all []sending) {
	for _, x := range s.chip.Transfers() {
		if x.Acknowledged && x.At >= from && x.End > 0 && x.End < to && len(x.Bytes) == 3 && int(x.Bytes[0]) == led0+4*channel+2 {
			all = append(all, sending{x.End, int(x.Bytes[1]) | int(x.Bytes[2])<<8})
		}
	}
	return all
}

// perFrame are a servo's limits in steps a frame: of its speed, of the change of its speed,
// and of its speed after a reset or a fault.
func perFrame(o *model.Output) (fastest, accel, slow float64) {
	l := motion.LimitsOf(o)
	const unit = 32 * 2 * usAStep // 1/32 of half a microsecond
	return float64(l.Fastest) / unit, float64(l.Accel) / unit, float64(motion.Slow(o)) / unit
}

// steering is a hook that sends the clapper from end to end as quickly as it may go. What
// else it does is to be filled in.
const steering = `#include "hooks.h"
#include <Arduino.h>
#include "tables.h"
void hook_setup(void) {}
void hook_enter(uint8_t state) { (void)state; }
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event) { (void)event; }
void hook_loop(void)
{
    static uint32_t turned, drawn = 1;
    static bool up;
    if (millis() - turned >= 700) {
        turned = millis();
        up = !up;
        (void)pw_steer(PW_SERVO_CLAPPER, up ? 1000 : 0);
    }
    drawn ^= drawn << 13;
    drawn ^= drawn >> 17;
    drawn ^= drawn << 5;
    %s
}
`

const (
	busFaults  = "_ZL10bus_faults" // as C++ calls what is static in board.cpp
	frameStart = "_ZL11frame_start"
	isLost     = "_ZL9expanders+2:1"
)

// steered is a stand with that hook, its clapper on the move from 300 ms on.
func steered(t *testing.T, also string, phases map[ms]bench.Device) (s *stand, clapper *model.Output) {
	d := expanded(t, "bell-buoy.prop.toml")
	s = newStandWith(t, d, fmt.Sprintf(steering, also), bench.Options{Watch: []string{busFaults, frameStart, isLost}, Step: 20 * bench.Microsecond})
	for _, from := range slices.Sorted(maps.Keys(phases)) {
		s.chip.SetDevice(expanderAddress, phases[from], uint64(from)*bench.Millisecond)
	}
	s.to(200)
	s.press(slices.IndexFunc(d.Remote.Buttons, func(b model.Button) bool { return b.Name == "drift" }), 0)
	return s, d.Output("clapper")
}

// What the bus cannot send is a fault and is tried again. A servo waits meanwhile and goes
// on slowly, and what stands is set up too. So it is where nobody answers, also at
// power-up, and where the clock is held.
func TestBusThatWasDead(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	phases := map[ms]bench.Device{0: bench.Absent, 250: bench.Answers, 1500: bench.Absent, 2300: bench.Answers, 3400: bench.Holds, 4300: bench.Answers}
	s, clapper := steered(t, "", phases)
	s.to(6000)
	fastest, _, slow := perFrame(clapper)
	var refused []uint64
	var waits []float64
	for i, all := 0, s.chip.Transfers(); i < len(all); i++ {
		switch x := all[i]; {
		case !x.Acknowledged:
			// A stop takes no time in simavr. So the loop may miss that a message is refused, if
			// that is so while it looks, and send the next one.
			if n := len(refused); n == 0 || x.At-refused[n-1] > bench.Millisecond {
				refused = append(refused, x.At)
			}
		case len(x.Bytes) > 0 && x.Bytes[0] == allLED: // then comes each channel
			for n := range 4 {
				waits = append(waits, float64(all[i+n+1].At-all[i+n].End)/bench.Millisecond)
			}
		}
	}
	require.Len(t, waits, 3*4)
	assert.Less(t, slices.Max(waits), 0.3, "ms from one transfer to the next: the chip does not sleep meanwhile, which takes up to 1.024")
	faults := s.chip.Watched(busFaults)
	require.Greater(t, len(faults), len(refused)+5)
	held := faults[len(refused):]
	for i, f := range faults {
		require.EqualValues(t, i+1, f.Value, "faults")
		if i < len(refused) {
			require.InDelta(t, refused[i], f.At, 2*bench.Millisecond, "a fault where it is refused")
		}
	}
	assert.InDelta(t, 125, float64(held[len(held)-1].At-held[0].At)/bench.Millisecond/float64(len(held)-1), 0.5, "ms until a bus that is held is tried again")
	lost := s.chip.Watched(isLost)
	require.Len(t, lost, 6, "changes: it is lost three times")
	from := slices.Sorted(maps.Keys(phases))
	for i, begins := range from {
		if phases[begins] != bench.Answers {
			continue
		}
		starts, ends := uint64(begins)*bench.Millisecond, s.chip.Now()
		if i+1 < len(from) {
			ends = uint64(from[i+1]) * bench.Millisecond
		}
		p := s.setUpSince(t, starts, ends)
		for j := range s.design.Outputs {
			o := &s.design.Outputs[j]
			if o.Bus == 0 || o.Kind == model.KindSwitch {
				continue
			}
			l := motion.LimitsOf(o)
			pulses, _ := p.pulses(o.Channel, ends)
			require.Greater(t, len(pulses), 40, o.Name)
			us := func(steps int) float64 { return float64(steps) * usAStep }
			for _, x := range s.sendings(o.Channel, starts, ends) {
				if x.steps < full<<8 { // else it is off
					require.GreaterOrEqual(t, us(x.steps), float64(l.Lowest)/2-usAStep, o.Name)
					require.LessOrEqual(t, us(x.steps), float64(l.Highest)/2+usAStep, o.Name)
				}
			}
		}
		before, now := s.sendings(clapper.Channel, 0, starts), s.sendings(clapper.Channel, starts, ends)
		if len(before) == 0 {
			continue
		}
		require.InDelta(t, before[len(before)-1].steps, now[0].steps, 2*fastest+1, "it goes on from where it was, or from the frame after")
		for n := 1; n < 15; n++ {
			require.InDelta(t, now[n-1].steps, now[n].steps, slow+1, "steps from where it was, as it goes on slowly")
		}
	}
}

// However the loop's passes lie in a millisecond, an expander is set up in order, and no
// output is set before its oscillator runs, 0.5 ms after it is awake (section 7.3.1).
func TestExpanderIsSetUpAgainAndAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	const every, gone = 180, 60
	phases := map[ms]bench.Device{0: bench.Answers}
	for from := ms(500); from < 6000; from += every {
		phases[from], phases[from+gone] = bench.Absent, bench.Answers
	}
	s, _ := steered(t, `delayMicroseconds(drawn >> 22);
    (void)pw_steer(PW_SERVO_VANE, drawn & 1023); // something else in each frame`, phases)
	s.to(6000)
	s.setUpSince(t, 0, 500*bench.Millisecond)
	for from := uint64(500 + gone); from+every < 6000; from += every {
		s.setUpSince(t, from*bench.Millisecond, (from+every-gone)*bench.Millisecond)
	}
}

// A servo moves within its limits whatever holds the loop up. What is over 4 ms before the
// frame holds up none; what takes longer lets it stand, and it begins anew.
func TestExpandedServoIsHeldUp(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	s, clapper := steered(t, `static uint32_t due = 3000;
    if (millis() >= due && millis() < 6000) {
        due += 21; // wherever in a frame
        delay(10);
    } else if (millis() >= due) {
        delay(drawn >> 16 & 511);
        due = millis() + (drawn & 511);
    }`, map[ms]bench.Device{0: bench.Answers})
	s.to(11000)
	fastest, accel, _ := perFrame(clapper)
	all := s.sendings(clapper.Channel, 0, s.chip.Now())
	for _, x := range s.chip.Transfers() {
		require.False(t, x.At > 60*bench.Millisecond && x.At < 200*bench.Millisecond, "nothing moves, and nothing is sent: %v", x)
	}
	begun := s.chip.Watched(frameStart)[0].At
	was, n, speed, moved := 0, 0, 0, 0
	for end := begun + 20*bench.Millisecond; end < 6000*bench.Millisecond; end += 20 * bench.Millisecond {
		for n < len(all) && all[n].at < end {
			n++
		}
		if n == 0 {
			continue
		}
		if steps := all[n-1].steps; was > 0 {
			require.InDelta(t, was, steps, fastest+1, "steps, %v after power-up", at(end))
			require.InDelta(t, speed, steps-was, accel+2, "steps a frame, %v after power-up", at(end))
			if speed = steps - was; speed != 0 {
				moved++
			}
		}
		was = all[n-1].steps
	}
	assert.Greater(t, moved, 100, "frames in which it moved")
	stood := 0
	for i := max(n, 1); i+1 < len(all); i++ {
		way := func(i int) float64 { return math.Abs(float64(all[i].steps - all[i-1].steps)) }
		require.LessOrEqual(t, way(i), fastest+1, "steps, %v after power-up", at(all[i].at))
		if all[i].at-all[i-1].at > 60*bench.Millisecond { // what was planned before may still be sent
			stood++
			require.LessOrEqual(t, min(way(i), way(i+1)), accel+1, "steps after it has stood, %v after power-up", at(all[i].at))
		}
	}
	assert.Greater(t, stood, 5)
}

// asking is a hook that looks at the chip's registers and asks for one width after another.
const asking = `#include "hooks.h"
#include "board.h"
#include <Arduino.h>
#include "tables.h"
uint8_t rate, prescaler, format, lit;
uint16_t asked;
void hook_setup(void) {}
void hook_enter(uint8_t state) { (void)state; }
void hook_leave(uint8_t state) { (void)state; }
void hook_event(uint8_t event) { (void)event; }
void hook_loop(void)
{
    rate = TWBR;
    prescaler = TWSR & 3;
    format = UCSR0C;
    lit = pw_switched(PW_SWITCH_BEACON);
    asked = 2400U + board_ms() / 40U;
    for (uint8_t i = 0; i < PW_SERVOS; i++) {
        board_servo(i, asked + 82U * i);
    }
}
`

// A width is sent as the nearest number of steps, whichever of the 244 between two that
// are a whole number; and the chip's ports are as the parts on them ask.
func TestExpanderIsSentTheNearestStep(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	d := expanded(t, "bell-buoy.prop.toml")
	s := newStandWith(t, d, asking, bench.Options{Watch: []string{"rate", "prescaler", "format", "lit", "asked"}, Step: 20 * bench.Microsecond})
	s.chip.SetDevice(expanderAddress, bench.Answers, 0)
	s.to(200)
	assert.Empty(t, s.chip.Watched("lit"), "the beacon is off from power-up on")
	s.press(slices.IndexFunc(d.Remote.Buttons, func(b model.Button) bool { return b.Name == "ring" }), 0)
	s.to(3600)
	assert.NotEmpty(t, s.chip.Watched("lit"))
	asked := s.chip.Watched("asked")
	require.Greater(t, len(asked), 85)
	for i, name := range []string{"clapper", "mast", "vane"} {
		sent := s.sendings(d.Output(name).Channel, 0, s.chip.Now())
		for n := 2; n+1 < len(asked); n++ {
			next, _ := slices.BinarySearchFunc(sent, asked[n+1].At, func(s sending, at uint64) int { return cmp.Compare(s.at, at) })
			us := float64(asked[n].Value+uint64(82*i)) / 2
			require.InDelta(t, us, float64(sent[next-1].steps)*usAStep, usAStep/2+1e-9, "%s, %.1f us", name, us)
		}
	}

	// Standard mode is up to 100 kHz (NXP, UM10204, "I2C-bus specification and user
	// manual", rev. 6, section 3.1). The chip's rate, and the UART's, whose divisor counts 8
	// cycles, and its frame of 8 bits without parity, are from the "ATmega328P data sheet",
	// DS40002061B, sections Bit Rate Generator Unit, Internal Clock Generation and UCSRnC.
	assert.LessOrEqual(t, bench.Hz/(16+2*float64(s.chip.Value("rate"))*math.Pow(4, float64(s.chip.Value("prescaler")))), 100e3, "Hz on the bus")
	assert.EqualValues(t, 1<<2|1<<1, s.chip.Value("format"))
	require.NotEmpty(t, s.chip.UART())
	assert.InDelta(t, bench.Hz/9600.0, s.chip.UART()[0].BitCycles, 4, "cycles a bit")
}
