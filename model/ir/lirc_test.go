package ir_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/ir"
)

func needTools(t *testing.T, tools ...string) {
	for _, tool := range tools {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%v; run testdata/setup", err)
			}
			t.Skipf("%v; run testdata/setup", err)
		}
	}
}

// someCodes are codes of a protocol with many different bits.
func someCodes(t *testing.T, p ir.Protocol) []ir.Code {
	var codes []ir.Code
	for _, n := range []uint32{0, 0x18, 0xa5c3691, 0xffffffff, 0x5555555, 0x2008135} {
		c := ir.Code{Protocol: p.Name, Address: n & uint32(1<<p.AddressBits-1), Command: n >> 1 & uint32(1<<p.CommandBits-1)}
		if parsed, err := ir.ParseCode(c.String()); err == nil { // else it is another protocol's
			codes = append(codes, parsed)
		}
	}
	require.GreaterOrEqual(t, len(codes), 4, p.Name)
	return codes
}

// lircdConf is the description of codes in the form of lircd.conf (manual page
// of LIRC): all bits of a frame as sent, the first one highest.
func lircdConf(p ir.Protocol, codes []ir.Code) string {
	w, bits := p.Wave, p.Bits()
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("begin remote\nname %s\neps 25\naeps 100", p.Name)
	line("gap %d", w.Period.Microseconds())
	flags := "SPACE_ENC"
	invert := false
	switch w.Name {
	case "rc5": // the first bit is the lead pulse
		flags, bits = "RC5", bits-1
		line("plead %.0f\none %.0[1]f %.0[1]f\nzero %.0[1]f %.0[1]f\ntoggle_bit_mask 0x800", w.Unit)
	case "rc6": // ones and zeros stand for each other
		flags, invert = "RC6", true
		line("header %.0f %.0f\none %.0f %.0[3]f\nzero %.0[3]f %.0[3]f\nrc6_mask 0x10000\ntoggle_bit_mask 0x10000", w.LeaderMark, w.LeaderSpace, w.Unit)
	default:
		line("header %.0f %.0f", w.LeaderMark, w.LeaderSpace)
		line("one %.0f %.0f\nzero %.0f %.0f", w.One.Mark, w.One.Space, w.Zero.Mark, w.Zero.Space)
		if w.Family == ir.PulseDistance {
			line("ptrail %.0f", w.Zero.Mark)
		}
		if w.Repeat == ir.RepeatMark {
			line("repeat %.0f %.0f", w.LeaderMark, w.RepeatSpace)
		}
		if w.Repeat == ir.RepeatBare {
			flags += "|NO_HEAD_REP"
		}
	}
	line("flags %s|CONST_LENGTH\nbits %d\nbegin codes", flags, bits)
	for i, c := range codes {
		v := c.Bits()
		if !w.HighFirst {
			v = reverse(v, p.Bits())
		}
		if invert {
			v = ^v
		}
		line("k%d 0x%x", i, v&(1<<bits-1))
	}
	line("end codes\nend remote")
	return b.String()
}

func reverse(v uint64, bits int) uint64 {
	var r uint64
	for i := range bits {
		r |= v >> i & 1 << (bits - 1 - i)
	}
	return r
}

// What LIRC sends, this package decodes, and what this package encodes, LIRC
// receives: every protocol, each code with a repeat.
func TestLIRC(t *testing.T) {
	if testing.Short() {
		t.Skip("asks an independent program; the whole run does it")
	}
	needTools(t, "irsimsend", "irsimreceive")
	for _, p := range ir.Protocols() {
		if p.Wave.Family == ir.Unknown {
			continue
		}
		t.Run(p.Name, func(t *testing.T) {
			t.Parallel()
			codes := someCodes(t, p)
			dir := t.TempDir()
			run := func(args ...string) string {
				cmd := exec.Command(args[0], args[1:]...)
				cmd.Dir = dir
				out, err := cmd.CombinedOutput()
				require.NoError(t, err, "%v: %s", args, out)
				return string(out)
			}
			conf := filepath.Join(dir, "lircd.conf")
			require.NoError(t, os.WriteFile(conf, []byte(lircdConf(p, codes)), 0o644))

			for i, want := range codes {
				run("irsimsend", "-c", "2", "-k", fmt.Sprintf("k%d", i), conf)
				sent, err := os.ReadFile(filepath.Join(dir, "simsend.out"))
				require.NoError(t, err)
				times, err := ir.ParseTimes(string(sent))
				require.NoError(t, err)
				var d ir.Decoder
				d.Feed(false, 100_000)
				var got []ir.Code
				for _, m := range times {
					if f, ok := d.Feed(m.Mark, m.US); ok {
						got = append(got, f.Code)
					}
				}
				assert.Equal(t, []ir.Code{want, want}, got, "sent by LIRC")
			}

			var b strings.Builder
			period := int(p.Wave.Period.Microseconds())
			write := func(frame []int, until int) {
				for i, us := range frame {
					fmt.Fprintf(&b, "%s %d\n", []string{"pulse", "space"}[i%2], us)
					until -= us
				}
				fmt.Fprintf(&b, "space %d\n", until)
			}
			var want []string
			for i, c := range codes {
				b.WriteString("space 500000\n")
				write(ir.EncodePress(c, i%2 == 1), period)
				write(ir.EncodeHeld(c, i%2 == 1), period+1_000_000)
				want = append(want, fmt.Sprintf("00 k%d %s", i, p.Name))
			}
			require.NoError(t, os.WriteFile(filepath.Join(dir, "times"), []byte(b.String()), 0o644))
			var got []string
			for line := range strings.Lines(run("irsimreceive", conf, "times")) {
				_, heard, _ := strings.Cut(strings.TrimSpace(line), " ")
				if strings.HasPrefix(heard, "00 ") {
					got = append(got, heard)
				}
			}
			assert.Equal(t, want, got, "received by LIRC")
		})
	}
}
