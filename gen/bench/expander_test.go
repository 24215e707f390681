package bench

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/board"
	"propwright/model/ir"
)

// crowded has four servos on pins and twelve on an expander, which always move.
var crowded = wiring{14, 12, []int{4, 5, 6, 7}, 12, true}

const expanderAddress = 0x40

// step is how many microseconds a step of an expander's cycle lasts.
const step = float64(board.ExpanderPrescale+1) / 25

// channel holds what an expander's channel was sent against the widths that the
// player asked for, of which it keeps the complement: every one that is another
// number of steps is sent, in order, and none else.
func (r *realtime) channel(t testing.TB, c *Chip, channel int, wanted []Change) {
	sent := sentTo(t, c, channel)
	n, last := 0, -1
	for i, w := range wanted {
		if i+1 < len(wanted) && wanted[i+1].At-w.At < Millisecond {
			continue // half of a new value was seen
		}
		steps := int(math.Round(float64(^uint16(w.Value)) / 2 / step))
		if steps == last || w.At+60*Millisecond > c.Now() {
			continue
		}
		last = steps
		require.Less(t, n, len(sent), "a width of channel %d at %d", channel, w.At)
		require.Equal(t, steps, sent[n].steps, "channel %d, width at %d, sent at %d", channel, w.At, sent[n].at)
		r.worstSend = max(r.worstSend, (float64(sent[n].at)-float64(w.At))/Millisecond)
		n++
	}
	assert.InDelta(t, n, len(sent), 3, "channel %d: what is sent and not asked for", channel)
}

// pulseSent is a pulse that a channel was sent, at the end of its transfer.
type pulseSent struct {
	at    uint64
	steps int
}

func sentTo(t testing.TB, c *Chip, channel int) (sent []pulseSent) {
	for _, x := range c.Transfers() {
		if x.Acknowledged && x.Bytes[0] == byte(8+4*channel) {
			require.Len(t, x.Bytes, 3)
			sent = append(sent, pulseSent{x.End, int(x.Bytes[1]) | int(x.Bytes[2])<<8})
		}
	}
	return sent
}

// Twelve servos on an expander, four on pins, 144 pixels and the remote: no press
// is lost, the pins' pulses are as right as without an expander, and all that
// the player asks of the others is on the bus before the next frame. Where all
// twelve always move the loop is near its limit, and a press may take 2 ms.
func TestSixteenServos(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	usual := crowded
	usual.restless = false
	measure(t, busy(t, "atmega328p", usual, 144, "nec:0x04:0x18"), goButton, *manyPresses/4).check(t, 1)
	r := measure(t, busy(t, "atmega328p", crowded, 144, "nec:0x04:0x18"), goButton, *manyPresses/4)
	r.check(t, 2)
	t.Logf("from the player to the end of the transfer at most %.1f ms; %d bytes on the bus in the fullest frame", r.worstSend, r.sent)
	assert.Less(t, r.worstSend, 40.0, "a frame until it is due, a frame to send it")
	assert.LessOrEqual(t, r.sent, 4*crowded.expanded, "bytes: address, register and two for each channel")
}

// A bus on which nobody answers, or which is held, neither stops nor slows the
// prop: presses, pins and strips go on as before. What is on the expander stays
// where it is and goes on from there, within its speed, when the expander answers;
// until a held bus is known to be held, within 25 ms, the player goes on by a frame.
func TestDeadBus(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	const phase = 1200 * Millisecond
	d := busy(t, "atmega328p", crowded, 24, "nec:0x04:0x18")
	options := Options{Pins: append([]int{crowded.strip}, crowded.servos...), Step: 20 * Microsecond,
		Watch: []string{"pw_state", "_ZL10bus_faults", "_ZL9expanders+2:1", "moves+4:2", "moves+26:2", "moves+48:2", "moves+70:2"}}
	c := Start(t, compileDesign(t, d), options)
	c.SetPin(d.Remote.Pin, High, 0)
	phases := []Device{Answers, Absent, Answers, Holds, Answers}
	for i, how := range phases {
		c.SetDevice(expanderAddress, how, uint64(i*phase))
	}
	code, err := ir.ParseCode(d.Remote.Buttons[goButton].Code)
	require.NoError(t, err)
	presses := 0
	for at := uint64(50 * Millisecond); at < uint64(len(phases)*phase); at += 290 * Millisecond {
		c.RunTo(c.PlayIR(d.Remote.Pin, ir.Encode(code), at))
		presses++
	}
	c.RunTo(uint64(len(phases) * phase))

	assert.Len(t, c.Watched("pw_state"), presses, "each press leads to another state")
	var r realtime
	for i, pin := range crowded.servos {
		r.servo(c.Edges(pin), c.Watched(options.Watch[3+i]))
	}
	assert.LessOrEqual(t, r.worstPulse, 0.5)
	assert.LessOrEqual(t, r.worstPeriod, 100.0)
	assert.Positive(t, c.Value("_ZL10bus_faults"))
	refreshes := func(n int) int {
		return len(between(c.Edges(crowded.strip), uint64(n*phase), uint64((n+1)*phase))) / (2 * 24 * 24)
	}
	for i, how := range phases {
		from, to := uint64(i*phase), uint64((i+1)*phase)
		lost := uint64(0)
		for _, l := range c.Watched("_ZL9expanders+2:1") {
			if l.At < from+150*Millisecond || l.At < to && l.Value == 1 {
				lost = l.Value
			}
		}
		assert.Equal(t, how != Answers, lost == 1, "phase %d", i)
		assert.InDelta(t, refreshes(0), refreshes(i), 2, "refreshes of the strip in phase %d", i)
	}
	most := most(d)
	for channel := range crowded.expanded {
		sent := sentTo(t, c, channel)
		for i := 1; i < len(sent); i++ {
			require.InDelta(t, sent[i-1].steps, sent[i].steps, most, "channel %d at %d", channel, sent[i].at)
		}
		require.Greater(t, sent[len(sent)-1].at, uint64(4*phase), "channel %d is sent to again", channel)
	}
	t.Logf("%d presses, %d faults, %d pulses on pins, worst error %.2f us", presses, c.Value("_ZL10bus_faults"), r.pulses, r.worstPulse)
}

// most is how many steps a servo of the design may move in two frames: all have
// the same travel and speed. One more is for rounding.
func most(d *model.Design) float64 {
	o := &d.Outputs[1]
	us := float64(o.MaxSpeed) * 0.04 * float64(o.UsAtMax-o.UsAtMin) / float64(o.Max-o.Min)
	return us*25/float64(board.ExpanderPrescale+1) + 1
}

// What a servo costs on an expander, in cycles of the chip in each frame, beyond
// what it costs on a pin: eight of sixteen that all move are on either.
func TestCyclesOfAnExpander(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	awake := func(w wiring) float64 {
		d := busy(t, "atmega328p", w, 0, "nec:0x04:0x18")
		c := Start(t, compileDesign(t, d), Options{})
		c.SetPin(d.Remote.Pin, High, 0)
		c.SetDevice(expanderAddress, Answers, 0)
		code, err := ir.ParseCode(d.Remote.Buttons[goButton].Code)
		require.NoError(t, err)
		from := c.PlayIR(d.Remote.Pin, ir.Encode(code), 100*Millisecond) + 900*Millisecond
		c.RunTo(from)
		slept := c.Slept()
		const frames = 100
		c.RunTo(from + frames*20*Millisecond)
		return float64(c.Now()-from-(c.Slept()-slept)) / frames
	}
	pins := awake(wiring{14, 12, []int{4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 16, 17}, 4, true})
	expander := awake(crowded)
	each := (expander - pins) / 8
	t.Logf("sixteen servos: %.0f cycles awake in a frame with four on the expander, %.0f with twelve: %.0f for each", pins, expander, each)
	assert.Less(t, each, 4000.0)
	assert.Positive(t, each)
}
