//go:build linux

package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/pty"
	"propwright/gen"
	"propwright/gen/bench"
	"propwright/gen/sketch"
	"propwright/model/ir"
)

// randomCodes are codes of one protocol, no two alike.
func randomCodes(r *rand.Rand, p ir.Protocol, n int) []ir.Code {
	var codes []ir.Code
next:
	for len(codes) < n {
		c := ir.Code{Protocol: p.Name, Address: r.Uint32() & uint32(1<<p.AddressBits-1), Command: r.Uint32() & uint32(1<<p.CommandBits-1)}
		if p.Name == "raw" {
			c.Address = 90 + r.Uint32N(60)
		}
		if _, err := ir.ParseCode(c.String()); err != nil {
			continue // another protocol's
		}
		for _, other := range codes {
			if ir.Alike(other, c) {
				continue next
			}
		}
		codes = append(codes, c)
	}
	return codes
}

// The whole way: a remote of each protocol with random codes is pressed at a
// simulated chip that runs the capture sketch, what the chip's UART sends goes
// through a pseudo-terminal, and `learn --port` gives the design back. A spike
// and a broken frame come first and are asked for again.
func TestLearnFromPort(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	files, err := sketch.Capture("atmega328p", 2)
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), sketch.CaptureFolder)
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
	elf := bench.Compile(t, dir, "atmega328p")
	for i, p := range ir.Protocols() {
		t.Run(p.Name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(11, uint64(i)))
			codes := randomCodes(random, p, 4)
			want := remoteDesign(t, codes)
			var blank []ir.Code
			for n := range codes {
				blank = append(blank, ir.Code{Protocol: "nec", Address: 0x7f, Command: uint32(n)})
			}
			file := filepath.Join(t.TempDir(), "gull.prop.toml")
			require.NoError(t, remoteDesign(t, blank).Save(file))

			sent := press(t, elf, random, codes)
			for _, c := range codes {
				if p.Wave.Family != ir.Unknown {
					assert.Contains(t, string(sent), fmt.Sprintf("# %s, frames: 4\r\n", c), "what the chip itself understood")
				}
			}
			master, slave := pty.Open(t)
			go func() {
				pty.AwaitRaw(master)
				_, _ = master.Write(sent) // the reader may have gone: it has what it needs
			}()
			var out, errs bytes.Buffer
			code := run([]string{"learn", file, "b0", "b1", "b2", "b3", "--port", slave}, &out, &errs)
			require.Zero(t, code, "%s\n%s\n%s", errs.String(), out.String(), sent)
			assert.Equal(t, 2, strings.Count(out.String(), "Once more"), out.String())
			got, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.Equal(t, string(want.Format()), string(got), "%s", sent)
		})
	}
}

// press presses the buttons at a chip, each for some frames, and gives the
// bytes that it sends.
func press(t *testing.T, elf string, random *rand.Rand, codes []ir.Code) []byte {
	const ms = bench.Millisecond
	c := bench.Start(t, elf, bench.Options{})
	c.SetPin(2, bench.High, 0)
	at := uint64(500 * ms)
	at = c.PlayIR(2, []int{120}, at) + 600*ms
	at = c.PlayIR(2, ir.Encode(codes[0])[:9], at) + 600*ms
	c.RunTo(at)
	at = c.Now()
	for i, code := range codes {
		period := uint64(code.RepeatPeriod().Microseconds()) * bench.Microsecond
		for n := range 4 {
			frame := ir.EncodePress(code, i%2 == 1)
			if n > 0 {
				frame = ir.EncodeHeld(code, i%2 == 1)
			}
			for j := range frame {
				frame[j] += random.IntN(61) - 30
			}
			c.PlayIR(2, frame, at)
			at += period
		}
		c.RunTo(at + 300*ms)
		at = c.Now()
	}
	c.RunTo(at + 500*ms)
	var sent []byte
	for _, b := range c.UART() {
		sent = append(sent, b.Value)
	}
	return sent
}
