package bench

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// Pulse is a pulse as sigrok's pwm decoder reads it, in cycles.
type Pulse struct {
	At     uint64 // of the rising edge
	Width  uint64 // high
	Period uint64 // to the next rising edge
}

// Pulses reads a pin's pulses between two cycles with sigrok's pwm decoder,
// which is given the level of every so many cycles: 1 is exact, more is faster.
// It tells the pulses whose next one has begun.
func (c *Chip) Pulses(pin int, from, to, every uint64) []Pulse {
	c.t.Helper()
	// The decoder looks at every sample, and a servo's line is low most of the time:
	// of what is low for longer than this it is not given the rest.
	const enough = 4 * Millisecond
	edges := c.Edges(pin)
	first := since(edges, from)
	given := &Chip{t: c.t, options: c.options, edges: map[int][]Edge{pin: slices.Clone(edges[:first])}}
	type cut struct{ at, gone uint64 } // a cycle that is given, and how many before it are not
	var cuts []cut
	gone, fell := uint64(0), from
	for _, e := range between(edges, from, to) {
		if !e.High {
			fell = e.At
		} else if e.At-fell > enough {
			gone += (e.At - fell - enough) / every * every
			cuts = append(cuts, cut{e.At - gone - from, gone})
		}
		given.edges[pin] = append(given.edges[pin], Edge{e.At - gone, e.High})
	}
	at := func(sample uint64) uint64 {
		n, _ := slices.BinarySearchFunc(cuts, sample+every, func(c cut, at uint64) int { return cmp.Compare(c.at, at) })
		if n == 0 {
			return from + sample
		}
		return from + sample + cuts[n-1].gone
	}
	var pulses []Pulse
	for _, a := range given.sigrok("pwm", fmt.Sprintf("data=pin%d", pin), "duty-cycle", from, to-gone, every) {
		percent, err := strconv.ParseFloat(strings.TrimSuffix(a.text, "%"), 64)
		if err != nil {
			c.t.Fatalf("pwm decoder: %v", err)
		}
		width := uint64(math.Round(percent * float64(a.end-a.start) / 100))
		pulses = append(pulses, Pulse{at(a.start), width, at(a.end) - at(a.start)})
	}
	return pulses
}

// A Stretch of the trace is from one cycle to another, exclusive.
type Stretch struct{ From, To uint64 }

// Colours reads the strip on a pin in stretches of the trace, one after the other,
// with sigrok's rgb_led_ws281x decoder: for each refresh the pixels as 0xrrggbb, the
// order on the wire being green, red, blue. The decoder looks at every single cycle
// and takes more than a second for 100 ms.
func (c *Chip) Colours(pin int, stretches ...Stretch) [][]uint32 {
	c.t.Helper()
	// The stretches become a trace of their own, in which they follow each other.
	joined := &Chip{t: c.t, options: c.options, edges: map[int][]Edge{}}
	length := uint64(0)
	for _, s := range stretches {
		for _, e := range between(c.Edges(pin), s.From, s.To) {
			joined.edges[pin] = append(joined.edges[pin], Edge{length + e.At - s.From, e.High})
		}
		length += s.To - s.From
	}
	var refreshes [][]uint32
	var pixels []uint32
	for _, a := range joined.sigrok("rgb_led_ws281x", fmt.Sprintf("din=pin%d", pin), "rgb:reset", 0, length, 1) {
		if a.text == "RESET" {
			refreshes = append(refreshes, pixels)
			pixels = nil
			continue
		}
		rgb, err := strconv.ParseUint(strings.TrimPrefix(a.text, "#"), 16, 24)
		if err != nil {
			c.t.Fatalf("rgb_led_ws281x decoder: %v", err)
		}
		pixels = append(pixels, uint32(rgb))
	}
	return refreshes
}

// Received reads the UART's output between two cycles with sigrok's uart
// decoder at a baud rate, eight bits without parity.
func (c *Chip) Received(baud int, from, to uint64) []byte {
	c.t.Helper()
	var received []byte
	for _, a := range c.sigrok(fmt.Sprintf("uart:baudrate=%d", baud), "tx=tx", "tx-data:tx-warnings", from, to, 1) {
		b, err := strconv.ParseUint(a.text, 16, 8)
		if err != nil {
			c.t.Fatalf("uart decoder at cycle %d: %s", from+a.start, a.text)
		}
		received = append(received, byte(b))
	}
	return received
}

// An annotation is a decoder's text for a range of cycles.
type annotation struct {
	start, end uint64
	text       string
}

// sigrok has sigrok-cli read signals of the trace between two cycles, sampled
// every so many: with a decoder and its options, whose channels are wired to
// them as "CHANNEL=SIGNAL:CHANNEL=SIGNAL".
func (c *Chip) sigrok(decoder, wired, classes string, from, to, every uint64) []annotation {
	c.t.Helper()
	cli, err := exec.LookPath("sigrok-cli")
	if err != nil {
		missing(c.t, fmt.Errorf("%w; install the package sigrok-cli", err))
	}
	var trace bytes.Buffer
	var signals []string
	for pair := range strings.SplitSeq(wired, ":") {
		_, signal, _ := strings.Cut(pair, "=")
		signals = append(signals, signal)
	}
	if err := c.VCD(&trace, from, to, signals...); err != nil {
		c.t.Fatal(err)
	}
	file := filepath.Join(c.t.TempDir(), "trace.vcd")
	if err := os.WriteFile(file, trace.Bytes(), 0o644); err != nil {
		c.t.Fatal(err)
	}
	name, _, _ := strings.Cut(decoder, ":")
	cmd := exec.Command(cli, "-I", fmt.Sprintf("vcd:downsample=%d", every), "-i", file, "-P", decoder+":"+wired,
		"-A", name+"="+classes, "--protocol-decoder-samplenum")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil || stderr.Len() > 0 {
		c.t.Fatalf("%v: %v\n%s", cmd.Args, err, stderr.String())
	}
	var annotations []annotation
	for line := range strings.Lines(string(out)) {
		a, err := parseAnnotation(strings.TrimSuffix(line, "\n"))
		if err != nil {
			c.t.Fatal(err)
		}
		a.start *= every
		a.end *= every
		annotations = append(annotations, a)
	}
	return annotations
}

// parseAnnotation takes a line such as `0-320000 pwm-1: 7.500000%`; where a
// decoder gives an annotation in several lengths, each is quoted, the longest
// first.
func parseAnnotation(line string) (annotation, error) {
	var a annotation
	var decoder string
	if _, err := fmt.Sscanf(line, "%d-%d %s", &a.start, &a.end, &decoder); err != nil {
		return a, fmt.Errorf("sigrok-cli says %q: %w", line, err)
	}
	_, a.text, _ = strings.Cut(line, ": ")
	if quoted, ok := strings.CutPrefix(a.text, `"`); ok {
		a.text, _, _ = strings.Cut(quoted, `"`)
	}
	return a, nil
}
