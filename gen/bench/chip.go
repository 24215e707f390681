package bench

import (
	"bufio"
	"bytes"
	"debug/elf"
	"encoding/binary"
	"fmt"
	"io"
	"os/exec"
	"slices"
	"strings"
)

// Hz is the chip's clock.
const Hz = 16_000_000

// Cycles in a microsecond and in a millisecond.
const (
	Microsecond = Hz / 1_000_000
	Millisecond = Hz / 1_000
)

// Levels of a pin.
const (
	Low  = false
	High = true
)

// Options says what a Chip records.
type Options struct {
	MCU   string   // "atmega328p" (also where it is ""), "atmega2560", "atmega32u4"; or Host
	Pins  []int    // whose edges, by the core's pin numbers
	Watch []string // variables of at most 8 bytes by their C names, or parts of variables as NAME+OFFSET:SIZE

	// Step is how many cycles apart the watched variables are looked at;
	// 0: 16, a microsecond. More is faster. Edges are not bound to it.
	Step int
}

// Edge is a pin's change of level.
type Edge struct {
	At   uint64 // cycle
	High bool
}

// Byte is a byte that the program gave to the UART.
type Byte struct {
	At        uint64 // cycle of the store
	Value     byte
	BitCycles uint64 // how long a bit takes at the baud rate set
}

// Change is a new value of a watched variable. One of several bytes is not
// stored at once, so between two values others may be seen.
type Change struct {
	At    uint64 // cycle at which it was seen, at most Step after the store
	Value uint64
}

// A Chip is a simulated chip running a program. Any failure ends the test.
type Chip struct {
	t       TB
	ports   []string // port and bit of each pin number
	options Options

	cmd    *exec.Cmd
	in     *bufio.Writer
	out    *bufio.Reader
	stderr bytes.Buffer

	now      uint64
	recorded uint64 // cycle of the last record read
	edges    map[int][]Edge
	watched  map[string][]Change
	uart     []Byte
	i2c      []i2cStep

	lowestStack uint64
	slept       uint64
}

// Start powers a chip up with a program; or, with Host for a chip, runs one
// that CompileForHost has made. Pins float low until SetPin or a pull-up says
// otherwise. The chip is gone when the test ends.
func Start(t TB, elfPath string, o Options) *Chip {
	t.Helper()
	if o.MCU == "" {
		o.MCU = "atmega328p"
	}
	if o.Step == 0 {
		o.Step = 16
	}
	c := &Chip{t: t, ports: ports(o.MCU), options: o, edges: map[int][]Edge{}, watched: map[string][]Change{}}
	if c.ports == nil {
		t.Fatalf("no pins known for chip %q", o.MCU)
	}
	args := []string{elfPath, o.MCU, fmt.Sprint(Hz), fmt.Sprint(o.Step)}
	if o.MCU == Host {
		args = []string{elfPath}
	} else {
		args = append([]string{runner(t)}, args...)
	}
	recorded := []string{"-"}
	if len(o.Pins) > 0 {
		recorded = nil
		for _, pin := range o.Pins {
			recorded = append(recorded, c.port(pin))
		}
	}
	args = append(args, strings.Join(recorded, ","), watches(t, elfPath, o.Watch))
	c.cmd = exec.Command(args[0], args[1:]...)
	c.cmd.Stderr = &c.stderr
	in, err := c.cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := c.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	c.in, c.out = bufio.NewWriter(in), bufio.NewReaderSize(out, 1<<16)
	t.Cleanup(func() {
		in.Close()
		c.cmd.Wait() // the reason of a failure has been told by read
	})
	return c
}

// watches returns the variables' addresses and sizes as the runner takes them.
func watches(t TB, elfPath string, names []string) string {
	t.Helper()
	if len(names) == 0 {
		return "-"
	}
	f, err := elf.Open(elfPath)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	symbols, err := f.Symbols()
	if err != nil {
		t.Fatal(err)
	}
	var list []string
	for _, name := range names {
		variable, part, isPart := strings.Cut(name, "+")
		i := slices.IndexFunc(symbols, func(s elf.Symbol) bool { return s.Name == variable })
		if i < 0 {
			t.Fatalf("%s has no variable %q", elfPath, variable)
		}
		offset, size := uint64(0), symbols[i].Size
		if isPart {
			if _, err := fmt.Sscanf(part, "%d:%d", &offset, &size); err != nil || offset+size > symbols[i].Size {
				t.Fatalf("%q is not a part of a variable of %d bytes; write NAME+OFFSET:SIZE", name, symbols[i].Size)
			}
		}
		address := symbols[i].Value + offset
		if f.Machine == elf.EM_AVR {
			address &= 0xffff // the linker puts data addresses at 0x800000
		}
		list = append(list, fmt.Sprintf("%d:%d", address, size))
	}
	return strings.Join(list, ",")
}

func (c *Chip) port(pin int) string {
	c.t.Helper()
	if pin < 0 || pin >= len(c.ports) {
		c.t.Fatalf("%s has no pin %d", c.options.MCU, pin)
	}
	return c.ports[pin]
}

// Now returns the cycle the chip has come to: that of the last RunTo, or a few
// more, since an instruction is not cut short.
func (c *Chip) Now() uint64 { return c.now }

// SetPin drives a pin from outside, from a cycle on that must not be past.
func (c *Chip) SetPin(pin int, high bool, at uint64) {
	c.t.Helper()
	level := 0
	if high {
		level = 1
	}
	c.command(at, "p %d %s %d", at, c.port(pin), level)
}

// FreePin stops driving a pin from outside.
func (c *Chip) FreePin(pin int, at uint64) {
	c.t.Helper()
	c.command(at, "z %d %s", at, c.port(pin))
}

// PlayIR plays marks and spaces, in microseconds, as an infrared receiver's
// output: low for a mark, high for a space. It begins with a mark at a cycle
// and returns the cycle at which the last mark ends and the line is high.
func (c *Chip) PlayIR(pin int, times []int, at uint64) (end uint64) {
	c.t.Helper()
	for i, us := range times {
		c.SetPin(pin, i%2 == 1, at)
		at += uint64(us) * Microsecond
	}
	c.SetPin(pin, High, at)
	return at
}

// Send delivers a whole byte to the UART.
func (c *Chip) Send(b byte, at uint64) {
	c.t.Helper()
	c.command(at, "u %d %d", at, b)
}

// Reset resets the chip, its memory kept, with the given cause in MCUSR.
func (c *Chip) Reset(mcusr byte, at uint64) {
	c.t.Helper()
	c.command(at, "r %d %d", at, mcusr)
}

func (c *Chip) command(at uint64, format string, args ...any) {
	c.t.Helper()
	if at < c.now {
		c.t.Fatalf("cycle %d is past, the chip is at %d", at, c.now)
	}
	fmt.Fprintf(c.in, format+"\n", args...)
}

// cpu states of simavr (sim_avr.h) in which a program goes on.
const (
	cpuRunning  = 2
	cpuSleeping = 3
)

// RunTo lets the chip run to a cycle. It does nothing for a past cycle.
func (c *Chip) RunTo(cycle uint64) {
	c.t.Helper()
	if cycle <= c.now {
		return
	}
	fmt.Fprintf(c.in, "g %d\n", cycle)
	if err := c.in.Flush(); err != nil {
		c.fail(err)
	}
	for {
		tag, err := c.out.ReadByte()
		if err != nil {
			c.fail(err)
		}
		c.recorded += c.varint()
		at := c.recorded
		switch {
		case tag < 0x80:
			pin := c.options.Pins[tag/2]
			c.edges[pin] = append(c.edges[pin], Edge{at, tag%2 == 1})
		case tag == 0x80:
			value := c.byte()
			c.uart = append(c.uart, Byte{at, value, c.varint()})
		case tag == 0x81:
			name := c.options.Watch[c.byte()]
			c.watched[name] = append(c.watched[name], Change{at, c.varint()})
		case tag == 0x82:
			c.now = at
			state := c.byte()
			c.lowestStack, c.slept = c.varint(), c.varint()
			if state != cpuRunning && state != cpuSleeping {
				c.t.Fatalf("the program ended at cycle %d: simavr's cpu state is %d", at, state)
			}
			return
		case tag == 0x84:
			what := c.byte()
			c.i2c = append(c.i2c, i2cStep{at, what & 0x7f, c.byte(), what&0x80 != 0})
		case tag == 0x83:
			text := make([]byte, c.varint())
			if _, err := io.ReadFull(c.out, text); err != nil {
				c.fail(err)
			}
			if strings.Contains(string(text), "avr_sadly_crashed") {
				c.t.Fatalf("the program crashed %.1f ms after power-up: it came to where the flash holds no code, or used an address that the chip does not have", float64(at)/Millisecond)
			}
			c.t.Fatalf("simavr at cycle %d: %s", at, text)
		}
	}
}

func (c *Chip) varint() uint64 {
	v, err := binary.ReadUvarint(c.out)
	if err != nil {
		c.fail(err)
	}
	return v
}

func (c *Chip) byte() byte {
	b, err := c.out.ReadByte()
	if err != nil {
		c.fail(err)
	}
	return b
}

func (c *Chip) fail(err error) {
	c.t.Helper()
	c.cmd.Process.Kill()
	c.cmd.Wait() // so that all of the runner's complaint has arrived
	c.t.Fatalf("%v: %s", err, c.stderr.String())
}

// Edges returns a recorded pin's edges so far. Before the first one it is low.
func (c *Chip) Edges(pin int) []Edge {
	c.t.Helper()
	if !slices.Contains(c.options.Pins, pin) {
		c.t.Fatalf("the edges of pin %d are not recorded", pin)
	}
	return c.edges[pin]
}

// LowestStack returns the lowest data address that the stack pointer has had so far, looked
// at as the watched variables are; 0 for Host.
func (c *Chip) LowestStack() uint64 { return c.lowestStack }

// Slept returns how many cycles the chip has been asleep so far; 0 for Host.
func (c *Chip) Slept() uint64 { return c.slept }

// UART returns the bytes given to the UART so far.
func (c *Chip) UART() []Byte { return c.uart }

// Watched returns a variable's values so far, without the one before its first
// change, which is 0.
func (c *Chip) Watched(name string) []Change {
	c.t.Helper()
	if !slices.Contains(c.options.Watch, name) {
		c.t.Fatalf("variable %q is not watched", name)
	}
	return c.watched[name]
}

// Value returns a watched variable's value now.
func (c *Chip) Value(name string) uint64 {
	c.t.Helper()
	changes := c.Watched(name)
	if len(changes) == 0 {
		return 0
	}
	return changes[len(changes)-1].Value
}
