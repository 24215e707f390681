package sketch_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
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

// listener is the C program around the firmware's ir.c: it reads the times of
// the receiver's edges, in microseconds, and prints each event with its
// millisecond.
const listener = `#include <stdio.h>
#include "ir.h"
#include "machine.h"
static long now;
bool pw_post(uint8_t event)
{
    printf("%ld %u\n", now, event);
    return true;
}
int main(void)
{
    long edge;
    bool high = true;
    bool more = scanf("%ld", &edge) == 1;
    for (long quiet = 0; quiet < 1000; quiet++) {
        now++;
        while (more && edge < 1000 * now) {
            high = !high;
            ir_edge((uint16_t)(2 * edge), high);
            more = scanf("%ld", &edge) == 1;
            quiet = 0;
        }
        if (more) {
            quiet = 0;
        }
        ir_tick(1);
    }
    return 0;
}
`

// remote is a design with a button for each code: b0, b1, …; the first five
// have a hold and a release.
func remote(t testing.TB, codes []ir.Code) *model.Design {
	var b strings.Builder
	b.WriteString(`format = 1
[prop]
name = "remote"
board = "atmega328p"
rest_within = "1s"
[remote]
pin = 2
stop = "b0"
`)
	for i, c := range codes {
		fmt.Fprintf(&b, "[[remote.button]]\nname = \"b%d\"\ncode = %q\n", i, c)
	}
	b.WriteString("[[state]]\nname = \"off\"\nkind = \"dormant\"\n")
	for i := range codes[:min(len(codes), 5)] {
		fmt.Fprintf(&b, "[[transition]]\nfrom = \"off\"\non = [\"hold b%d for %dms\", \"release b%d\"]\nto = \"off\"\n", i, 200+50*i, i)
	}
	d, err := model.Read("remote.prop.toml", []byte(b.String()))
	require.NoError(t, err)
	if codes[0].Resent {
		d.Remote.Repeat = model.RepeatFrame
	}
	return d
}

// An ear is the firmware's ir.c compiled for this computer.
type ear struct {
	t       testing.TB
	program string
}

func newEar(t testing.TB, d *model.Design) *ear {
	need(t, "gcc")
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	dir := t.TempDir()
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "listener.c"), []byte(listener), 0o644))
	program := filepath.Join(dir, "listener")
	out, err := exec.Command("gcc", "-std=c99", "-O1", "-Wall", "-Wextra", "-Wconversion", "-Wshadow", "-Werror", "-fsanitize=undefined",
		"-fno-sanitize-recover", "-o", program, filepath.Join(dir, "listener.c"), filepath.Join(dir, "ir.c"), filepath.Join(dir, "tables.c")).CombinedOutput()
	require.NoError(t, err, string(out))
	return &ear{t, program}
}

// heard is an event at a millisecond.
type heard struct {
	at    int
	event machine.EventID
}

// listen plays edges, in microseconds from power-up, high to low first.
func (e *ear) listen(edges []int) []heard {
	var in bytes.Buffer
	for _, at := range edges {
		fmt.Fprintln(&in, at)
	}
	cmd := exec.Command(e.program)
	cmd.Stdin = &in
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	require.NoError(e.t, err)
	var all []heard
	for line := range strings.Lines(string(out)) {
		var h heard
		_, err := fmt.Sscan(line, &h.at, &h.event)
		require.NoError(e.t, err)
		all = append(all, h)
	}
	return all
}

// air is what the receiver sees.
type air struct {
	now   int // microseconds
	edges []int
}

// wait lets time pass.
func (a *air) wait(us int) { a.now += us }

// send sends a frame and returns when it has ended.
func (a *air) send(times []int) (ends int) {
	a.edges = append(a.edges, a.now)
	for _, us := range times {
		a.now += us
		a.edges = append(a.edges, a.now)
	}
	return a.now
}

// known is the millisecond in which the firmware knows a frame that has ended:
// the next one or, where it waits for silence, later.
func known(c ir.Code, ends int) int {
	p, _ := c.Known()
	if p.Wave.Silence == 0 {
		return ends/1000 + 1
	}
	return ends/1000 + sketch.SilenceMS(p.Wave)
}

// codesOf gives a few codes of a protocol.
func codesOf(p ir.Protocol, n int) []ir.Code {
	var codes []ir.Code
	for i := range uint32(n) {
		c := ir.Code{Protocol: p.Name, Address: (0x2a51 + 7*i) & (1<<p.AddressBits - 1), Command: (0x13*i + 5) & (1<<p.CommandBits - 1)}
		if p.Name == "raw" {
			c = ir.Code{Protocol: p.Name, Address: 110, Command: 0x9e3779b9 * (i + 1)}
		}
		codes = append(codes, c)
	}
	return codes
}

// Every protocol alone, and all together: presses, holds and releases come
// from the firmware's decoder at the same millisecond as from the keypad of
// the reference machine.
func TestRemoteInCAndGo(t *testing.T) {
	var all []ir.Code
	for _, p := range ir.Protocols() {
		if !testing.Short() {
			t.Run(p.Name, func(t *testing.T) { press(t, codesOf(p, 6)) })
		}
		all = append(all, codesOf(p, 2)...)
	}
	t.Run("all", func(t *testing.T) { press(t, all) })
	t.Run("all sent again whole", func(t *testing.T) {
		for i := range all {
			all[i].Resent = true
		}
		press(t, all)
	})
}

func press(t *testing.T, codes []ir.Code) {
	d := remote(t, codes)
	p := machine.Compile(d)
	type frame struct {
		ends, button int
		repeat       bool
	}
	var frames []frame
	a := &air{now: 100_000}
	toggle := false
	tap := func(button, repeats int) {
		c := codes[button]
		period := int(c.RepeatPeriod().Microseconds())
		toggle = !toggle
		start := a.now
		ends := a.send(ir.EncodePress(c, toggle))
		frames = append(frames, frame{known(c, ends), button, false})
		for range repeats {
			start += period
			a.now = start
			ends = a.send(ir.EncodeHeld(c, toggle))
			frames = append(frames, frame{known(c, ends), button, true})
		}
	}
	for i := range codes {
		tap(i, i%4) // let go after some repeats
		a.wait(400_003)
		tap(i, 6) // long enough for a hold
		a.wait(30_000)
		tap((i+1)%len(codes), 0) // on its heels
		a.wait(251_001)
		tap(i, 0) // again: a new press
		a.wait(301_001)
		if codes[i].Repeats() != ir.RepeatFrame {
			tap(i, 1) // twice within a period
			a.wait(30_000)
			tap(i, 0)
			a.wait(301_001)
		}
	}
	k := machine.NewKeypad(p, machine.RepeatPeriodNEC)
	var want []heard
	for now := range a.now/1000 + 1000 {
		for _, e := range k.Tick(uint32(now)) {
			want = append(want, heard{now, e})
		}
		for len(frames) > 0 && frames[0].ends == now {
			for _, e := range k.Frame(frames[0].button, frames[0].repeat, uint32(now)) {
				want = append(want, heard{now, e})
			}
			frames = frames[1:]
		}
	}
	require.Greater(t, len(want), 4*len(codes))
	require.Equal(t, want, newEar(t, d).listen(a.edges))
}

// Every code that the keymaps of ir-keytable (v4l-utils project) give, all
// of a protocol's and mixed: encoded, with every edge up to 60 µs off, each
// is the press of its own button in the firmware's decoder, and the code it
// was in Go's.
func TestKeymapsInC(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	files, err := filepath.Glob("/lib/udev/rc_keymaps/*.toml")
	require.NoError(t, err)
	if len(files) == 0 {
		need(t, "ir-keytable")
		t.Fatal("no keymaps in /lib/udev/rc_keymaps")
	}
	seen := map[ir.Code]bool{}
	var codes []ir.Code
	total := 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		m, err := ir.ParseKeymap(text)
		require.NoError(t, err)
		for _, k := range m.Keys {
			total++
			if !seen[k.Code] {
				seen[k.Code] = true
				codes = append(codes, k.Code)
			}
		}
	}
	random := rand.New(rand.NewPCG(1, 2))
	shake := func(frame []int) []int {
		last := 0
		for i := range frame {
			off := random.IntN(121) - 60
			frame[i] += off - last
			last = off
		}
		return frame
	}
	heardInC, heardInGo := 0, 0
	for batch := range slices.Chunk(codes, 200) {
		a := &air{now: 100_000}
		var want []heard
		var decoder ir.Decoder
		for i, c := range batch {
			frame := ir.EncodePress(c, i%2 == 1)
			if c.Protocol != "raw" { // which is not given the remote's own times
				frame = shake(frame)
			}
			want = append(want, heard{known(c, a.send(frame)), machine.EventID(i)})
			a.wait(300_000)
			decoder.Raw = c.Protocol == "raw"
			decoder.Feed(false, 300_000)
			for j, us := range append(frame, 20_000) {
				if f, ok := decoder.Feed(j%2 == 0, us); ok {
					require.Equal(t, c, f.Code)
					heardInGo++
				}
			}
		}
		var got []heard
		for _, h := range newEar(t, remote(t, batch)).listen(a.edges) {
			if int(h.event) < len(batch) { // a press
				got = append(got, h)
			}
		}
		require.Equal(t, want, got)
		heardInC += len(got)
	}
	assert.Equal(t, len(codes), heardInC)
	assert.Equal(t, len(codes), heardInGo)
	t.Logf("%d keys of %d keymaps, %d different codes: %d heard in C, %d in Go", total, len(files), len(codes), heardInC, heardInGo)
}

// Disturbed frames give the firmware's decoder no press that Go's does not
// give, and the other way round: times off by up to 150 µs (40 µs of a
// fingerprint's), spikes, frames that break off.
func TestNoiseInCAndGo(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	for _, p := range ir.Protocols() {
		t.Run(p.Name, func(t *testing.T) {
			codes := codesOf(p, 6)
			random := rand.New(rand.NewPCG(3, 4))
			a := &air{now: 100_000}
			decoder := ir.Decoder{Raw: p.Name == "raw"}
			most := 150
			if decoder.Raw {
				most = 40
			}
			var want []machine.EventID
			for n := range 600 {
				c := codes[n%len(codes)]
				frame := ir.EncodePress(c, n%2 == 1)
				for i := range frame { // in steps that the firmware's clock has
					frame[i] = max(frame[i]+random.IntN(2*most+1)-most, 16) / 8 * 8
				}
				switch n % 5 {
				case 3:
					frame = frame[:random.IntN(len(frame))/2*2+1]
				case 4:
					i := random.IntN(len(frame))
					frame = slices.Insert(frame, i, 40, 40)
				}
				a.send(frame)
				a.wait(400_000)
				for j, us := range append(frame, 400_000) {
					if f, ok := decoder.Feed(j%2 == 0, us); ok {
						for i, c := range codes {
							if f.Code == c || c.Protocol == "raw" && f.Code.Command == c.Command {
								want = append(want, machine.EventID(i))
							}
						}
					}
				}
			}
			var got []machine.EventID
			for _, h := range newEar(t, remote(t, codes)).listen(a.edges) {
				if int(h.event) < len(codes) {
					got = append(got, h.event)
				}
			}
			require.Greater(t, len(want), 20)
			require.Equal(t, want, got)
		})
	}
}
