package ir_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/ir"
)

// What sigrok's ir_nec, ir_rc5 and ir_rc6 decoders read from encoded frames.
// ir_nec holds each bit to 5 %, and takes an extended address for a plain one
// wherever its two bytes have no common bit.
func TestSigrokReadsEncoded(t *testing.T) {
	needTools(t, "sigrok-cli")
	for _, test := range []struct {
		code    string
		toggle  bool
		decoder string
		rows    string
		want    []string
	}{
		{"nec:0x04:0x18", false, "ir_nec:ir=0", "ir_nec=fields:warnings",
			[]string{"Leader code", "Address: 0x04", "Address#: 0xFB", "Command: 0x18", "Command#: 0xE7", "Repeat code"}},
		{"nec:0x00:0xff", false, "ir_nec:ir=0", "ir_nec=fields:warnings",
			[]string{"Leader code", "Address: 0x00", "Address#: 0xFF", "Command: 0xFF", "Command#: 0x00", "Repeat code"}},
		{"nec:0xa5:0x01", false, "ir_nec:ir=0", "ir_nec=fields:warnings",
			[]string{"Leader code", "Address: 0xA5", "Address#: 0x5A", "Command: 0x01", "Command#: 0xFE", "Repeat code"}},
		{"necx:0x0408:0x18", false, "ir_nec:ir=0", "ir_nec=fields:warnings",
			[]string{"Leader code", "Address: 0x04", "Address#: 0x08", "Command: 0x18", "Command#: 0xE7", "Repeat code"}},
		{"rc5:0x05:0x35", false, "ir_rc5:ir=0", "ir_rc5=fields",
			[]string{"Startbit1: 1", "Startbit2: 1", "Togglebit: 0", "Address: 5 (Video cassette recorder 1)", "Command: 53 (Play)"}},
		{"rc5:0x00:0x0c", true, "ir_rc5:ir=0", "ir_rc5=fields",
			[]string{"Startbit1: 1", "Startbit2: 1", "Togglebit: 1", "Address: 0 (TV receiver 1)", "Command: 12 (Standby)"}},
		{"rc5:0x1f:0x55", true, "ir_rc5:ir=0:protocol=extended", "ir_rc5=fields",
			[]string{"Startbit1: 1", "CMD[6]#: 0", "Togglebit: 1", "Address: 31 (Telephone)", "Command: 85 (Unknown)"}},
		{"rc6:0x04:0x2c", false, "ir_rc6:ir=0:polarity=active-low", "ir_rc6=fields",
			[]string{"Synchronisation", "Startbit", "Field: 0", "Toggle: 0", "Address: 04", "Data: 2C"}},
		{"rc6:0xa5:0xc3", true, "ir_rc6:ir=0:polarity=active-low", "ir_rc6=fields",
			[]string{"Synchronisation", "Startbit", "Field: 0", "Toggle: 1", "Address: A5", "Data: C3"}},
	} {
		c, err := ir.ParseCode(test.code)
		require.NoError(t, err)
		// The last space and mark let the decoder see that the repeat frame has ended.
		times := append([]int{}, ir.EncodePress(c, test.toggle)...)
		times = append(times, 40000)
		times = append(times, ir.EncodeHeld(c, test.toggle)...)
		times = append(times, 40000, 500)
		file := filepath.Join(t.TempDir(), "frame.bin")
		require.NoError(t, os.WriteFile(file, samples(times), 0o644))
		out, err := exec.Command("sigrok-cli", "-I", "binary:numchannels=1:samplerate=1000000", "-i", file,
			"-P", test.decoder, "-A", test.rows).CombinedOutput()
		require.NoError(t, err, "%s", out)
		// The repeat says the same again, and ir_rc6 says some of it twice.
		said := map[string]bool{}
		got := slices.DeleteFunc(annotations(string(out)), func(text string) bool {
			again := said[text]
			said[text] = true
			return again
		})
		assert.Equal(t, test.want, got, "%s: %s", test.code, out)
	}
}

// samples is a receiver's output at one sample a microsecond, one sample a
// byte: idle, then low for every mark and high for every space.
func samples(times []int) []byte {
	var s []byte
	level := byte(1)
	for _, us := range append([]int{20000}, times...) {
		for range us {
			s = append(s, level)
		}
		level ^= 1
	}
	return append(s, 1)
}

var annotation = regexp.MustCompile(`(?m)^ir_[a-z0-9]+-1: (?:"([^"]*)"|(.*?))(?: "|$)`)

// annotations gives the longest text of each of sigrok-cli's lines.
func annotations(out string) []string {
	var texts []string
	for _, m := range annotation.FindAllStringSubmatch(out, -1) {
		texts = append(texts, m[1]+m[2])
	}
	return texts
}
