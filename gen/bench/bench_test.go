package bench

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/board"
	"propwright/model/ir"
)

// start compiles one of the bench's own sketches and powers a chip up with it.
func start(t testing.TB, sketch string, o Options) *Chip {
	t.Helper()
	if o.MCU == "" {
		o.MCU = "atmega328p"
	}
	return Start(t, Compile(t, filepath.Join("testdata", "sketches", sketch), o.MCU), o)
}

// The distances of edges are the sums of the instructions' cycles: out, ldi,
// dec, nop 1; brne 2 where it jumps, else 1; rjmp 2 ("AVR Instruction Set
// Manual", Atmel-0856, tables of the instructions' cycles).
func TestEdgesAreCycleExact(t *testing.T) {
	c := start(t, "pulse", Options{Pins: []int{13}})
	c.RunTo(10 * Millisecond)
	edges := c.Edges(13)
	require.Greater(t, len(edges), 100)
	for i := range edges[1:] {
		require.NotEqual(t, edges[i].High, edges[i+1].High)
		want := uint64(1 + 1 + 50*(1+2) - 1)
		if edges[i+1].High {
			want = 1 + 1 + 1 + 2
		}
		require.Equal(t, want, edges[i+1].At-edges[i].At, "edge %d", i)
	}
}

// sigrok's pwm decoder reads the same pulses.
func TestPulses(t *testing.T) {
	c := start(t, "pulse", Options{Pins: []int{13}})
	c.RunTo(2 * Millisecond)
	pulses := c.Pulses(13, Millisecond, 2*Millisecond, 1)
	require.Greater(t, len(pulses), 90)
	for _, p := range pulses {
		require.Equal(t, uint64(151), p.Width)
		require.Equal(t, uint64(156), p.Period)
	}
}

// A timer's output drives its pin: 3000 of 40000 ticks of 8 cycles, each edge
// up to 3 cycles late.
func TestTimerOutput(t *testing.T) {
	c := start(t, "servo", Options{Pins: []int{9}})
	c.RunTo(200 * Millisecond)
	pulses := c.Pulses(9, 30*Millisecond, 200*Millisecond, 1)
	require.Greater(t, len(pulses), 6)
	for _, p := range pulses {
		assert.InDelta(t, 24000, p.Width, 3)
		assert.InDelta(t, 320000, p.Period, 3)
	}
}

// Bytes go in and come out, and sigrok's uart decoder reads them off the
// line: 38400 baud are 16 MHz / 8 / (51 + 1), "ATmega328P data sheet",
// DS40002061B, table 19-12 (UBRRn and U2Xn for 16 MHz).
func TestUART(t *testing.T) {
	c := start(t, "echo", Options{})
	sent := []byte{0x00, 0x55, 0xff, 0x7e, 0x02, 0x0a, 'h', 'i'}
	for i, b := range sent {
		c.Send(b, uint64(10+i)*Millisecond)
	}
	c.RunTo(30 * Millisecond)
	var got []byte
	for _, b := range c.UART() {
		got = append(got, b.Value)
		assert.Equal(t, uint64(8*52), b.BitCycles)
	}
	assert.Equal(t, sent, got)
	assert.Equal(t, sent, c.Received(38400, 0, 30*Millisecond))
}

// Bytes handed over faster than the line takes them follow each other on it.
func TestUARTLine(t *testing.T) {
	c := &Chip{uart: []Byte{{At: 1000, Value: 0xaa, BitCycles: 100}, {At: 1010, Value: 0x0f, BitCycles: 100}}}
	var want []Edge
	for i := range 10 { // 0, then 0 1 0 1 0 1 0 1, then 1: an edge each but one
		if i != 1 && i != 9 {
			want = append(want, Edge{1000 + 100*uint64(i), len(want)%2 == 1})
		}
	}
	want = append(want, Edge{2000, false}, Edge{2100, true}, Edge{2500, false}, Edge{2900, true})
	assert.Equal(t, want, c.line())
}

// sigrok's rgb_led_ws281x decoder reads the colours that were sent.
func TestColours(t *testing.T) {
	c := start(t, "strip", Options{Pins: []int{8}})
	c.RunTo(3 * Millisecond)
	colours := c.Colours(8, Stretch{0, 3 * Millisecond})
	assert.Equal(t, [][]uint32{
		{0x123456, 0x00ff80, 0x0100fe},
		{0x123456, 0x00ff80, 0x0100fe},
		{0x123456, 0x00ff80, 0x0100fe},
	}, colours)
}

// An infrared frame arrives at the pin as it was encoded, to the microsecond,
// and the program sees every edge of it although it sleeps.
func TestPlayIR(t *testing.T) {
	c := start(t, "count", Options{Pins: []int{2}, Watch: []string{"count", "last_us"}, Step: 1})
	c.SetPin(2, High, 0)
	code := ir.Code{Protocol: "nec", Address: 0x04, Command: 0x18}
	const first = 20*Millisecond + 7
	end := c.PlayIR(2, ir.Encode(code), first)
	c.RunTo(first + Millisecond)
	clock := c.Value("last_us") // between two interrupts: a variable of four bytes is not stored at once
	c.RunTo(200 * Millisecond)
	// The chip's own clock, in steps of 4 µs, measures the same.
	assert.InDelta(t, (end-first)/Microsecond, c.Value("last_us")-clock, 4)

	edges := c.Edges(2)
	require.Len(t, edges, 1+68)
	assert.Equal(t, Edge{0, High}, edges[0])
	// Edges come at the first instruction's end after their time, sleep or
	// not: at most 4 cycles late, and the interrupt's 4.
	assert.InDelta(t, first+4, edges[1].At, 4)
	assert.InDelta(t, end+4, edges[68].At, 4)
	var d ir.Decoder
	var frames []ir.Frame
	for i := range edges[1:] {
		us := int(edges[i+1].At-edges[i].At+8) / Microsecond
		if f, ok := d.Feed(!edges[i].High, us); ok {
			frames = append(frames, f)
		}
	}
	assert.Equal(t, []ir.Frame{{Code: code}}, frames)

	counts := c.Watched("count")
	require.Len(t, counts, 68)
	for i, change := range counts {
		assert.Equal(t, uint64(i+1), change.Value)
		assert.Less(t, change.At-edges[i+1].At, uint64(50), "edge %d", i) // the interrupt saves its registers first
	}
}

// A switch that is let go leaves the pin to its pull-up; stimuli may be given
// out of order and between runs.
func TestSwitch(t *testing.T) {
	c := start(t, "count", Options{Pins: []int{7, 13}})
	c.FreePin(7, 60*Millisecond)
	c.SetPin(7, Low, 40*Millisecond)
	c.RunTo(50 * Millisecond)
	c.SetPin(7, Low, 80*Millisecond)
	c.RunTo(100 * Millisecond)
	edges := c.Edges(13)
	require.Len(t, edges, 4)
	for i, want := range []Edge{{0, High}, {40 * Millisecond, Low}, {60 * Millisecond, High}, {80 * Millisecond, Low}} {
		assert.Equal(t, want.High, edges[i].High)
		// The loop wakes with the core's clock, every 1.024 ms.
		assert.InDelta(t, want.At+Millisecond, edges[i].At, 1.2*Millisecond, "edge %d", i)
	}
}

// The core's own pin numbers (pins_arduino.h of each variant) are the bench's.
func TestPins(t *testing.T) {
	for _, mcu := range board.Names() {
		if b, _ := board.ByName(mcu); b.Portable {
			continue // no chip of its own
		}
		ports := ports(mcu)
		t.Run(mcu, func(t *testing.T) {
			elf := Compile(t, filepath.Join("testdata", "sketches", "pins"), mcu)
			for low := 0; low < len(ports); low += 60 { // at most 64 at once
				var numbers []int
				for pin := low; pin < min(low+60, len(ports)); pin++ {
					numbers = append(numbers, pin)
				}
				c := Start(t, elf, Options{MCU: mcu, Pins: numbers})
				c.RunTo(20 * Millisecond)
				var last uint64
				for _, pin := range numbers {
					edges := c.Edges(pin)
					// Some ports have a second number beyond those tested.
					require.GreaterOrEqual(t, len(edges), 2, "pin %d", pin)
					assert.Greater(t, edges[0].At, last, "pin %d", pin)
					last = edges[1].At
				}
			}
		})
	}
}

// A reset from outside and one by the watchdog start the program anew; what
// was to come still comes.
func TestReset(t *testing.T) {
	const (
		external = 1 << 1 // EXTRF
		watchdog = 1 << 3 // WDRF, "ATmega328P data sheet", DS40002061B, section MCUSR
	)
	c := start(t, "reset", Options{Watch: []string{"starts", "reason"}, Pins: []int{2}})
	c.RunTo(40 * Millisecond)
	assert.Equal(t, uint64(1), c.Value("starts"))
	c.Reset(external, 50*Millisecond)
	c.SetPin(2, High, 55*Millisecond)
	c.SetPin(7, Low, 90*Millisecond)
	c.RunTo(60 * Millisecond)
	assert.Equal(t, uint64(2), c.Value("starts"))
	assert.Equal(t, uint64(external), c.Value("reason"))
	require.Len(t, c.Edges(2), 1)
	assert.InDelta(t, 55*Millisecond, c.Edges(2)[0].At, 8)

	c.Reset(external, 100*Millisecond)
	c.SetPin(2, Low, 900*Millisecond)
	c.RunTo(1000 * Millisecond)
	assert.Equal(t, uint64(4), c.Value("starts"))
	assert.Equal(t, uint64(watchdog), c.Value("reason"))
	assert.InDelta(t, 900*Millisecond, c.Edges(2)[1].At, 8)
}

// BenchmarkChip prints how many cycles of the chip are simulated in a second,
// with a program that works all the time and one that sleeps.
func BenchmarkChip(b *testing.B) {
	for _, sketch := range []string{"echo", "count"} {
		for _, step := range []int{1, 16, 160} {
			b.Run(fmt.Sprintf("%s/step=%d", sketch, step), func(b *testing.B) {
				c := start(b, sketch, Options{Step: step, Watch: []string{"timer0_millis"}})
				begun := time.Now()
				for b.Loop() {
					c.RunTo(c.Now() + 100*Millisecond)
				}
				b.ReportMetric(float64(c.Now())/time.Since(begun).Seconds()/1e6, "Mcycles/s")
			})
		}
	}
}
