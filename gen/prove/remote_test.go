package prove

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/avr"
	"propwright/gen/bench"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/ir"
)

// remote is a design whose remote sends some codes of a protocol ("" for one
// of each), with a state for every press, hold and release.
func remote(t testing.TB, protocol string) *model.Design {
	random := rand.New(rand.NewPCG(7, 8))
	var b strings.Builder
	b.WriteString("format = 1\n[prop]\nname = \"remote\"\nboard = \"atmega328p\"\nrest_within = \"1s\"\nseed = 1\n[remote]\npin = 2\nstop = \"b0\"\n")
	buttons := 0
	for _, p := range ir.Protocols() {
		n := 4
		if protocol == "" {
			n = 1
		} else if p.Name != protocol {
			continue
		}
		for range n {
			c := ir.Code{
				Protocol: p.Name, Address: random.Uint32() & uint32(1<<p.AddressBits-1), Command: random.Uint32() & uint32(1<<p.CommandBits-1),
			}
			if p.Name == "raw" {
				c.Address = 110
			}
			fmt.Fprintf(&b, "[[remote.button]]\nname = \"b%d\"\ncode = %q\n", buttons, c)
			buttons++
		}
	}
	b.WriteString("[[state]]\nname = \"off\"\nkind = \"dormant\"\n")
	for i := range buttons {
		for _, on := range []string{fmt.Sprintf("press b%d", i), fmt.Sprintf("hold b%d for 400ms", i), fmt.Sprintf("release b%d", i)} {
			state := fmt.Sprintf("%c%d", on[0], i)
			fmt.Fprintf(&b, "[[state]]\nname = %q\nkind = \"ambient\"\n[[transition]]\nfrom = \"any\"\non = %q\nto = %q\n", state, on, state)
		}
	}
	d, err := model.Read("remote.prop.toml", []byte(b.String()))
	require.NoError(t, err)
	return d
}

// protocols names every protocol and, as "", all of them together.
func protocols() []string {
	names := []string{""}
	for _, p := range ir.Protocols() {
		names = append(names, p.Name)
	}
	return names
}

func title(protocol string) string {
	if protocol == "" {
		return "all"
	}
	return protocol
}

// A remote of every protocol, and one that sends them all: taps and holds at
// the receiver's pin, each time of a frame up to 60 µs off, take the firmware
// on the chip through the same states as the reference machine, within 2 ms.
func TestFirmwareHearsEveryProtocol(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, protocol := range protocols() {
		t.Run(title(protocol), func(t *testing.T) {
			t.Parallel()
			s := newStand(t, remote(t, protocol), bench.Options{Watch: []string{"pw_state"}, Step: 80})
			if protocol == "raw" {
				s.steady = true // a fingerprint compares two times with each other
			}
			s.to(100)
			for i := range s.codes {
				s.press(i, 0)
				s.to(s.now() + 300)
				s.press(i, 600)
				s.press((i+1)%len(s.codes), 0) // before it is released
				s.to(s.now() + 300)
			}
			s.to(s.now() + 300)
			require.Greater(t, len(s.handled), 3*len(s.codes))
			s.compare()
		})
	}
}

// A hold whose time is that of a repeat comes with this repeat on the chip and in the
// machine: the remote sends it a little late.
func TestHoldAsLongAsARepeat(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	d := remote(t, "nec")
	for i := range d.Transitions {
		for k := range d.Transitions[i].On {
			if on := &d.Transitions[i].On[k]; on.Kind == model.Hold {
				on.For = 700 * time.Millisecond // 52 ms and six periods of 108 ms
			}
		}
	}
	s := newStand(t, d, bench.Options{Watch: []string{"pw_state"}, Step: 80})
	s.to(100)
	for range 5 {
		for i := range s.codes {
			s.press(i, 700)
			s.to(s.now() + 500)
		}
	}
	require.False(t, s.tie)
	s.compare()
}

// What a remote of each protocol costs: four buttons with a hold and a release
// each, and the cycles that one edge and one millisecond take at most, calls
// included, over all frames of its codes. An edge comes every 400 µs (6400
// cycles) at most.
func TestRemoteCost(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%-10s %8s %8s %12s %12s", "", "flash", "SRAM", "cycles/edge", "cycles/ms")
	for _, protocol := range protocols() {
		d := remote(t, protocol)
		flash, sram, err := avr.Size(bench.Compile(t, build(t, d), d.Prop.Board))
		require.NoError(t, err)
		edge, tick := cycles(t, d)
		fmt.Fprintf(&b, "\n%-10s %8d %8d %12d %12d", title(protocol), flash, sram, edge, tick)
		assert.Less(t, edge, uint64(6400))
		assert.Less(t, tick, uint64(bench.Millisecond))
	}
	t.Log(b.String())
}

// cycles runs the decoders alone on a chip, with a pin high during every
// call: 13 for ir_edge, 12 for ir_tick.
func cycles(t testing.TB, d *model.Design) (edge, tick uint64) {
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "cost")
	require.NoError(t, os.Mkdir(dir, 0o755))
	for _, f := range files {
		switch f.Path {
		case "ir.c", "ir.h", "tables.c", "tables.h", "machine.h":
			require.NoError(t, os.WriteFile(filepath.Join(dir, f.Path), f.Text, 0o644))
		}
	}
	var times []int
	for i := range d.Remote.Buttons {
		c, err := ir.ParseCode(d.Remote.Buttons[i].Code)
		require.NoError(t, err)
		for _, frame := range [][]int{ir.EncodePress(c, i%2 == 0), ir.EncodeHeld(c, i%2 == 0)} {
			times = append(append(times, 20_000), frame...)
		}
	}
	var b strings.Builder
	b.WriteString("#include \"ir.h\"\n#include \"machine.h\"\nbool pw_post(uint8_t event) { return event != 0; }\nstatic const uint16_t times[] PROGMEM = {")
	total := 0
	for _, us := range times {
		fmt.Fprintf(&b, "%d, ", 2*us)
		total += us
	}
	fmt.Fprintf(&b, `};
void setup()
{
    cli();
    DDRB = 0x30;
    uint16_t when = 0, spent = 0;
    bool high = true;
    for (uint16_t i = 0; i < %d; i++) {
        uint16_t t = pgm_read_word(&times[i]);
        when += t;
        for (spent += t; spent >= 2000; spent -= 2000) {
            PORTB = 0x10;
            ir_tick(1);
            PORTB = 0;
        }
        high = !high;
        PORTB = 0x20;
        ir_edge(when, high);
        PORTB = 0;
    }
}
void loop()
{
}
`, len(times))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "cost.ino"), []byte(b.String()), 0o644))
	c := bench.Start(t, bench.Compile(t, dir, d.Prop.Board), bench.Options{Pins: []int{12, 13}})
	// The chip takes no longer over it than a remote would.
	end := uint64(total)*bench.Microsecond + 10*bench.Millisecond
	c.RunTo(end)
	longest := func(pin int) (most uint64) {
		pulses := widths(c.Edges(pin))
		require.NotEmpty(t, pulses)
		for _, width := range pulses {
			most = max(most, width)
		}
		return most
	}
	require.Len(t, widths(c.Edges(13)), len(times))
	return longest(13), longest(12)
}

// widths are the cycles for which a pin was high each time.
func widths(edges []bench.Edge) []uint64 {
	var list []uint64
	for i := range edges {
		if i > 0 && edges[i-1].High && !edges[i].High {
			list = append(list, edges[i].At-edges[i-1].At)
		}
	}
	return list
}
