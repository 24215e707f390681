package bench

import (
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/ir"
	"propwright/model/machine"
)

// The load of a busy prop: eight servos, some moving and some still, a strip
// that runs at every refresh, messages on the UART, and a remote whose frames
// come at random times with every edge off by up to 60 µs.
type wiring struct {
	receiver, strip int
	servos          []int
	expanded        int  // further servos, on an expander
	restless        bool // the moving ones always move
}

var wirings = map[string]wiring{
	"atmega328p": {14, 12, []int{4, 5, 6, 7, 8, 9, 10, 11}, 0, false},
	// Ports beyond the reach of the chip's short instructions among them; no
	// receiver on pins 62 to 69, whose interrupt simavr does not have.
	"atmega2560": {50, 42, []int{4, 5, 6, 7, 8, 9, 10, 11}, 0, false},
	"atmega32u4": {8, 18, []int{4, 5, 6, 9, 10, 11, 12, 13}, 0, false},
}

// busy writes the design. Every press of `go` leads from one of two states to
// the other, so that it can be seen whether and when it was understood.
func busy(t testing.TB, chip string, w wiring, pixels int, code string) *model.Design {
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
code = %q
[[output]]
name = "talk"
kind = "message"
pin = 1
baud = 9600
[[output.message]]
name = "hello"
bytes = "7E 02 0A EF"
`, pixels, chip, w.receiver, code)
	var places []string
	for _, pin := range w.servos {
		places = append(places, fmt.Sprintf("pin = %d", pin))
	}
	for channel := range w.expanded {
		places = append(places, fmt.Sprintf("bus = \"i2c:0x40\"\nchannel = %d", channel))
	}
	for i, place := range places {
		// Four are always equally wide, at rest all are: their ends would meet.
		fmt.Fprintf(&b, "[[output]]\nname = \"s%d\"\nkind = \"servo\"\n%s\nmin = \"-45deg\"\nmax = \"45deg\"\nrest = \"0deg\"\nus_at_min = 1000\nus_at_max = 2000\nmax_speed = \"300deg/s\"\n",
			i, place)
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
		drift := `every = "300ms..900ms", over = "200ms..700ms"`
		if w.restless {
			drift = `every = "20ms..60ms", over = "20ms..60ms"`
		}
		for i := 4; i < len(places); i++ {
			fmt.Fprintf(&b, "{ output = \"s%d\", between = [\"-45deg\", \"45deg\"], %s },\n", i, drift)
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

// writeSketch writes a design's sketch to a folder of its own.
func writeSketch(t testing.TB, d *model.Design) (dir string) {
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	dir = filepath.Join(t.TempDir(), sketch.Folder(d))
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
	return dir
}

// compileDesign builds a design's firmware for its chip.
func compileDesign(t testing.TB, d *model.Design) (elf string) {
	return Compile(t, writeSketch(t, d), d.Prop.Board)
}

// realtime is what a run under load has shown.
type realtime struct {
	frames, decoded, spurious int
	pulses                    int
	worstPulse                float64 // µs from the commanded width
	worstPeriod               float64 // µs from 20 ms
	worstPress                float64 // ms from the last edge to the press, and to the change of state
	refreshes                 int
	seconds                   float64
	sent                      int     // bytes on the I²C bus in the fullest frame, addresses among them
	worstSend                 float64 // ms from a width that the player asked for to its end on the bus
}

func (r realtime) String() string {
	return fmt.Sprintf("%d of %d frames decoded, %d spurious; last edge to press at most %.3f ms; %d pulses, worst error %.2f us; frame off by at most %.2f us; %.1f refreshes/s",
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

// nobody is what ir.c's `down` holds while no button is pressed.
const nobody = 255

// measure presses a button of a design again and again at random times, each
// press let go before the next, and looks at every servo and strip meanwhile.
func measure(t testing.TB, d *model.Design, button, frames int) realtime {
	options := Options{MCU: d.Prop.Board, Watch: []string{"pw_state", "down"}, Step: 20 * Microsecond}
	servos := 0
	pins, channels := map[int]string{}, map[int]string{} // variables by pin and by channel
	strips := map[int]int{}                              // pixels by pin
	for i := range d.Outputs {
		o := &d.Outputs[i]
		switch o.Kind {
		case model.KindServo, model.KindSpinner:
			width := fmt.Sprintf("moves+%d:2", 22*servos+4)
			options.Watch = append(options.Watch, width)
			servos++
			if o.Bus != 0 {
				channels[o.Channel] = width
				continue
			}
			pins[o.Pin] = width
			options.Pins = append(options.Pins, o.Pin)
		case model.KindPixels:
			strips[o.Pin] = o.Count
			options.Pins = append(options.Pins, o.Pin)
		}
	}
	c := Start(t, compileDesign(t, d), options)
	receiver := d.Remote.Pin
	c.SetPin(receiver, High, 0)
	if len(channels) > 0 {
		c.SetDevice(expanderAddress, Answers, 0)
	}
	rng := rand.New(rand.NewPCG(1, uint64(frames)))
	code, err := ir.ParseCode(d.Remote.Buttons[button].Code)
	require.NoError(t, err)

	r := realtime{frames: frames}
	letGo := uint64(machine.ReleaseAfter(code)+3) * Millisecond
	at := uint64(300 * Millisecond)
	var lastEdges []uint64
	for i := range frames {
		at += letGo + rng.Uint64N(70*Millisecond)
		at = c.PlayIR(receiver, jittered(ir.EncodePress(code, i%2 == 1), rng), at)
		lastEdges = append(lastEdges, at)
		c.RunTo(at)
	}
	c.RunTo(at + 200*Millisecond)
	r.seconds = float64(c.Now()) / Hz

	var presses []uint64
	for _, change := range c.Watched("down") {
		if change.Value == nobody {
			continue
		}
		if change.Value != uint64(button) {
			r.spurious++
			continue
		}
		presses = append(presses, change.At)
	}
	states := c.Watched("pw_state")
	for i, n, s := 0, 0, 0; i < len(lastEdges); i++ {
		before := c.Now()
		if i+1 < len(lastEdges) {
			before = lastEdges[i+1]
		}
		found := 0
		for ; n < len(presses) && presses[n] < before; n++ {
			found++
			r.worstPress = max(r.worstPress, float64(presses[n])/Millisecond-float64(lastEdges[i])/Millisecond)
		}
		if found > 0 {
			r.decoded++
			r.spurious += found - 1
		}
		for ; s < len(states) && states[s].At < before; s++ {
			if found > 0 && states[s].At > lastEdges[i] && states[s].At < lastEdges[i]+5*Millisecond {
				r.worstPress = max(r.worstPress, float64(states[s].At-lastEdges[i])/Millisecond)
			}
		}
	}
	for pin, width := range pins {
		r.servo(c.Edges(pin), c.Watched(width))
	}
	for channel, width := range channels {
		r.channel(t, c, channel, c.Watched(width))
	}
	inFrame := map[uint64]int{}
	for _, x := range c.Transfers() {
		if x.At > 100*Millisecond { // set up
			n := x.At / (20 * Millisecond)
			inFrame[n] += 1 + len(x.Bytes)
			r.sent = max(r.sent, inFrame[n])
		}
	}
	for pin, pixels := range strips {
		r.refreshes += checkBits(t, c.Edges(pin), pixels)
	}
	return r
}

// servo holds a servo's pulses against the widths that the player asked for, of
// which it keeps the complement.
func (r *realtime) servo(edges []Edge, wanted []Change) {
	var rise, lastRise uint64
	n := 0
	for _, e := range edges {
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
		r.worstPulse = max(r.worstPulse, abs(width-float64(^uint16(wanted[n].Value))/2))
	}
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

func (r realtime) check(t *testing.T, press float64) {
	t.Helper()
	t.Log(r)
	assert.Equal(t, r.frames, r.decoded, "frames decoded")
	assert.Zero(t, r.spurious)
	assert.LessOrEqual(t, r.worstPulse, 0.5, "pulse error in µs: one timer tick")
	assert.LessOrEqual(t, r.worstPeriod, 100.0, "frame of 20 ms ± 0.1")
	assert.LessOrEqual(t, r.worstPress, press, "ms")
}

const goButton = 1

var manyPresses = flag.Int("presses", 40, "how many presses TestNoLostPressNoTwitch sends with each strip; on larger chips and in the other protocols fewer in proportion, and half as many under short stalls")

func TestNoLostPressNoTwitch(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, c := range []struct {
		chip   string
		pixels int
		frames int
	}{
		{"atmega328p", 0, *manyPresses}, {"atmega328p", 24, *manyPresses}, {"atmega328p", 60, *manyPresses}, {"atmega328p", 144, *manyPresses},
		{"atmega2560", 144, *manyPresses / 4}, {"atmega32u4", 144, *manyPresses / 4},
	} {
		t.Run(fmt.Sprintf("%s, %d pixels", c.chip, c.pixels), func(t *testing.T) {
			t.Parallel()
			d := busy(t, c.chip, wirings[c.chip], c.pixels, "nec:0x04:0x18")
			measure(t, d, goButton, c.frames).check(t, 1)
		})
	}
}

// Every protocol under the heaviest load. Where a frame's end is known by
// silence alone, the press comes that much after the last edge.
func TestNoLostPressInAnyProtocol(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for code, press := range protocolCodes {
		t.Run(code, func(t *testing.T) {
			t.Parallel()
			d := busy(t, "atmega328p", wirings["atmega328p"], 144, code)
			measure(t, d, goButton, *manyPresses/4).check(t, press)
		})
	}
}

// A code of each protocol, and the milliseconds from its last edge to the press.
var protocolCodes = map[string]float64{
	"necx:0x0408:0x18": 1, "nec32:0x1234:0x5678": 1, "samsung32:0x0707:0x02": 1, "kaseikyo:0x4004D01:0x12": 1,
	"jvc:0x03:0x17": bySilence, "sirc12:0x01:0x15": bySilence, "sirc15:0x97:0x15": bySilence,
	"sirc20:0x1A5A:0x15": bySilence, "rc5:0x05:0x35": bySilence, "rc6:0x04:0x0C": bySilence,
}

const bySilence = 9.5

// On pins without a pin-change interrupt the receiver is heard by an external
// interrupt.
func TestReceiverOnExternalInterrupt(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for chip, pin := range map[string]int{"atmega2560": 2, "atmega32u4": 7} {
		w := wirings[chip]
		w.receiver = pin
		measure(t, busy(t, chip, w, 24, "nec:0x04:0x18"), goButton, 10).check(t, 1)
	}
}

var designFile = flag.String("design", "", "the design that BenchmarkRealtime measures; the busy one where it is left out")

// BenchmarkRealtime prints what 500 presses show on a design of your own:
//
//	go test ./gen/bench -run - -bench Realtime -benchtime 1x -design FILE
func BenchmarkRealtime(b *testing.B) {
	type load struct {
		name   string
		design *model.Design
	}
	var loads []load
	if *designFile != "" {
		d, err := model.Load(*designFile)
		require.NoError(b, err)
		loads = append(loads, load{d.Prop.Name, d})
	} else {
		for _, chip := range []string{"atmega328p", "atmega2560", "atmega32u4"} {
			for _, pixels := range []int{24, 60, 144} {
				loads = append(loads, load{fmt.Sprintf("%s/%d-pixels", chip, pixels), busy(b, chip, wirings[chip], pixels, "nec:0x04:0x18")})
			}
		}
		for _, code := range slices.Sorted(maps.Keys(protocolCodes)) {
			loads = append(loads, load{code, busy(b, "atmega328p", wirings["atmega328p"], 144, code)})
		}
	}
	for _, l := range loads {
		b.Run(l.name, func(b *testing.B) {
			for range b.N {
				r := measure(b, l.design, len(l.design.Remote.Buttons)-1, 500)
				b.ReportMetric(float64(r.frames-r.decoded), "lost")
				b.ReportMetric(float64(r.spurious), "spurious")
				b.ReportMetric(r.worstPress, "press-ms")
				b.ReportMetric(r.worstPulse, "pulse-error-us")
				b.ReportMetric(r.worstPeriod, "frame-error-us")
				b.ReportMetric(float64(r.refreshes)/r.seconds, "refreshes/s")
			}
		})
	}
}
