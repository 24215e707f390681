package bench

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/ir"
)

// The load of a busy prop: eight servos, some moving and some still, a strip
// that runs at every refresh, messages on the UART, and a remote whose frames
// come at random times with every edge off by up to 60 µs.
//
// Pins with an external interrupt stay free: simavr spends most of its time
// on such a pin that is low, whether the interrupt is enabled or not.
type wiring struct {
	receiver, strip int
	servos          []int
}

var wirings = map[string]wiring{
	"atmega328p": {14, 12, []int{4, 5, 6, 7, 8, 9, 10, 11}},
	// Ports beyond the reach of the chip's short instructions among them; no
	// receiver on pins 62 to 69, whose interrupt simavr does not have.
	"atmega2560": {50, 42, []int{4, 5, 6, 7, 8, 9, 10, 11}},
	"atmega32u4": {8, 18, []int{4, 5, 6, 9, 10, 11, 12, 13}},
}

// busy writes the design. Every press of `go` leads from one of two states to
// the other, so that it can be seen whether and when it was understood.
func busy(t testing.TB, chip string, w wiring, pixels int) *model.Design {
	var b strings.Builder
	fmt.Fprintf(&b, `format = 1
[prop]
name = "busy-%d"
label = "Busy"
board = %q
seed = 7
[remote]
pin = %d
stop = "halt"
[[remote.button]]
name = "halt"
code = "nec:0x04:0x08"
[[remote.button]]
name = "go"
code = "nec:0x04:0x18"
[[output]]
name = "talk"
kind = "message"
pin = 1
baud = 9600
[[output.message]]
name = "hello"
bytes = "7E 02 0A EF"
`, pixels, chip, w.receiver)
	for i, pin := range w.servos {
		// Four are always equally wide, at rest all eight are: their ends would meet.
		fmt.Fprintf(&b, "[[output]]\nname = \"s%d\"\nkind = \"servo\"\npin = %d\nmin = \"-45deg\"\nmax = \"45deg\"\nrest = \"0deg\"\nus_at_min = 1000\nus_at_max = 2000\nmax_speed = \"300deg/s\"\n",
			i, pin)
	}
	if pixels > 0 {
		fmt.Fprintf(&b, "[[output]]\nname = \"strip\"\nkind = \"pixels\"\npin = %d\ncount = %d\n", w.strip, pixels)
	}
	b.WriteString(`[[routine]]
name = "chatter"
loop = true
length = "60ms"
[[routine.cue]]
at = "0s"
output = "talk"
send = "hello"
[[state]]
name = "rest"
kind = "dormant"
`)
	for _, s := range []string{"left", "right"} {
		fmt.Fprintf(&b, "[[state]]\nname = %q\nkind = \"ambient\"\nplays = \"chatter\"\ndrift = [\n", s)
		for i := 4; i < len(w.servos); i++ {
			fmt.Fprintf(&b, "{ output = \"s%d\", between = [\"-45deg\", \"45deg\"], every = \"300ms..900ms\", over = \"200ms..700ms\" },\n", i)
		}
		b.WriteString("]\n")
		if pixels > 0 {
			b.WriteString("pose = { strip = { effect = \"chase\", colour = \"#ff8040\", colour2 = \"#010203\", period = \"1s\" } }\n")
		}
	}
	for _, tr := range [][3]string{{"rest", "press go", "left"}, {"left", "press go", "right"}, {"right", "press go", "left"}, {"any", "press halt", "rest"}} {
		fmt.Fprintf(&b, "[[transition]]\nfrom = %q\non = %q\nto = %q\n", tr[0], tr[1], tr[2])
	}
	d, err := model.Read("busy.prop.toml", []byte(b.String()))
	require.NoError(t, err)
	return d
}

// compileDesign builds a design's firmware for its chip.
func compileDesign(t testing.TB, d *model.Design) (elf string) {
	files, err := sketch.Files(d)
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), sketch.Folder(d))
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
	return Compile(t, dir, d.Prop.Board)
}

// realtime is what a run under load has shown.
type realtime struct {
	frames, decoded, spurious int
	pulses                    int
	worstPulse                float64 // µs from the commanded width
	worstPeriod               float64 // µs from 20 ms
	worstPress                float64 // ms from the last edge to the change of state
	refreshes                 int
	seconds                   float64
}

func (r realtime) String() string {
	return fmt.Sprintf("%d of %d frames decoded, %d spurious; press to state at most %.3f ms; %d pulses, worst error %.2f us; frame off by at most %.2f us; %.1f refreshes/s",
		r.decoded, r.frames, r.spurious, r.worstPress, r.pulses, r.worstPulse, r.worstPeriod, float64(r.refreshes)/r.seconds)
}

// jittered moves every interval by up to 60 µs either way.
func jittered(times []int, rng *rand.Rand) []int {
	out := make([]int, len(times))
	for i, us := range times {
		out[i] = us + rng.IntN(121) - 60
	}
	return out
}

func measure(t testing.TB, chip string, pixels, frames int) realtime {
	return measureWired(t, chip, wirings[chip], pixels, frames)
}

func measureWired(t testing.TB, chip string, w wiring, pixels, frames int) realtime {
	elf := compileDesign(t, busy(t, chip, w, pixels))
	options := Options{MCU: chip, Pins: append([]int{w.strip}, w.servos...), Watch: []string{"pw_state"}, Step: 20 * Microsecond}
	for i := range w.servos {
		options.Watch = append(options.Watch, fmt.Sprintf("moves+%d:2", 11*i+4))
	}
	c := Start(t, elf, options)
	c.SetPin(w.receiver, High, 0)
	rng := rand.New(rand.NewPCG(1, uint64(pixels)))
	code, err := ir.ParseCode("nec:0x04:0x18")
	require.NoError(t, err)

	r := realtime{frames: frames}
	at := uint64(300 * Millisecond)
	var lastEdges []uint64
	for range frames {
		at += uint64(40*Millisecond) + rng.Uint64N(70*Millisecond)
		end := c.PlayIR(w.receiver, jittered(ir.Encode(code), rng), at)
		lastEdges = append(lastEdges, end)
		at = end
		c.RunTo(at)
	}
	c.RunTo(at + 100*Millisecond)
	r.seconds = float64(c.Now()) / Hz

	changes := c.Watched("pw_state")
	for i, n := 0, 0; i < len(lastEdges); i++ {
		for n < len(changes) && changes[n].At < lastEdges[i] {
			n++
		}
		before := c.Now()
		if i+1 < len(lastEdges) {
			before = lastEdges[i+1]
		}
		if n < len(changes) && changes[n].At < before {
			r.decoded++
			r.worstPress = max(r.worstPress, float64(changes[n].At-lastEdges[i])/Millisecond)
		}
	}
	r.spurious = max(0, len(changes)-1-r.decoded) // the first is the value at power-up

	for i, pin := range w.servos {
		wanted := c.Watched(options.Watch[1+i])
		var rise, lastRise uint64
		n := 0
		for _, e := range c.Edges(pin) {
			if e.High {
				rise = e.At
				if lastRise != 0 {
					r.worstPeriod = max(r.worstPeriod, abs(float64(rise)-float64(lastRise)-20*Millisecond)/Microsecond)
				}
				lastRise = rise
				continue
			}
			if rise == 0 {
				continue
			}
			for n+1 < len(wanted) && wanted[n+1].At < rise {
				n++
			}
			r.pulses++
			width := float64(e.At-rise) / Microsecond
			r.worstPulse = max(r.worstPulse, abs(width-float64(wanted[n].Value)/2))
		}
	}
	if pixels > 0 {
		r.refreshes = checkBits(t, c.Edges(w.strip), pixels)
	}
	return r
}

func abs(x float64) float64 { return max(x, -x) }

// checkBits holds every bit on the strip's line against the data sheet
// (Worldsemi, "WS2812B Intelligent control LED integrated light source": T0H
// 0.4 µs, T1H 0.8, T0L 0.85, T1L 0.45, each ±150 ns; a reset is 50 µs and
// more) and returns the number of refreshes.
func checkBits(t testing.TB, edges []Edge, pixels int) (refreshes int) {
	bits, wrong := 0, 0
	for i := 0; i+1 < len(edges); i += 2 {
		require.True(t, edges[i].High)
		high := float64(edges[i+1].At-edges[i].At) / Microsecond
		one := high > 0.6
		if one && abs(high-0.8) > 0.15 || !one && abs(high-0.4) > 0.15 {
			wrong++
		}
		bits++
		if i+2 == len(edges) {
			break
		}
		low := float64(edges[i+2].At-edges[i+1].At) / Microsecond
		if low > 50 {
			assert.Equal(t, 24*pixels, bits, "a refresh sends every pixel")
			refreshes, bits = refreshes+1, 0
			continue
		}
		if one && abs(low-0.45) > 0.15 || !one && abs(low-0.85) > 0.15 {
			wrong++
		}
	}
	assert.Zero(t, wrong, "bits outside the data sheet's limits")
	assert.Positive(t, refreshes)
	return refreshes
}

func TestNoLostPressNoTwitch(t *testing.T) {
	for _, c := range []struct {
		chip           string
		pixels, frames int
	}{
		{"atmega328p", 0, 500}, {"atmega328p", 24, 500}, {"atmega328p", 60, 500}, {"atmega328p", 144, 500},
		{"atmega2560", 144, 100}, {"atmega32u4", 144, 100},
	} {
		t.Run(fmt.Sprintf("%s, %d pixels", c.chip, c.pixels), func(t *testing.T) {
			t.Parallel()
			r := measure(t, c.chip, c.pixels, c.frames)
			t.Log(r)
			assert.Equal(t, r.frames, r.decoded, "frames decoded")
			assert.Zero(t, r.spurious)
			assert.LessOrEqual(t, r.worstPulse, 0.5, "pulse error in µs: one timer tick")
			assert.LessOrEqual(t, r.worstPeriod, 100.0, "frame of 20 ms ± 0.1")
			assert.LessOrEqual(t, r.worstPress, 1.0, "ms")
		})
	}
}

// On pins without a pin-change interrupt the receiver is heard by an external
// interrupt.
func TestReceiverOnExternalInterrupt(t *testing.T) {
	for chip, pin := range map[string]int{"atmega2560": 2, "atmega32u4": 7} {
		w := wirings[chip]
		w.receiver = pin
		r := measureWired(t, chip, w, 24, 10)
		assert.Equal(t, r.frames, r.decoded, "%s, pin %d: frames decoded", chip, pin)
		assert.Zero(t, r.spurious)
	}
}
