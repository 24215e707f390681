package ir_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/ir"
)

// What sigrok's ir_nec decoder reads from encoded frames. That decoder holds
// each bit to 5 %, and takes an extended address for a plain one wherever its
// two bytes have no common bit.
func TestSigrokReadsEncoded(t *testing.T) {
	cli, err := exec.LookPath("sigrok-cli")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skipf("%v; install the package sigrok-cli", err)
	}
	for _, test := range []struct {
		code string
		want []string
	}{
		{"nec:0x04:0x18", []string{"Leader code", "Address: 0x04", "Address#: 0xFB", "Command: 0x18", "Command#: 0xE7", "Repeat code"}},
		{"nec:0x00:0xff", []string{"Leader code", "Address: 0x00", "Address#: 0xFF", "Command: 0xFF", "Command#: 0x00", "Repeat code"}},
		{"nec:0xa5:0x01", []string{"Leader code", "Address: 0xA5", "Address#: 0x5A", "Command: 0x01", "Command#: 0xFE", "Repeat code"}},
		{"necx:0x0408:0x18", []string{"Leader code", "Address: 0x04", "Address#: 0x08", "Command: 0x18", "Command#: 0xE7", "Repeat code"}},
	} {
		c, err := ir.ParseCode(test.code)
		require.NoError(t, err)
		// The last space and mark let the decoder see that the repeat frame has ended.
		times := append([]int{}, ir.Encode(c)...)
		times = append(times, 40000)
		times = append(times, ir.EncodeRepeat(c)...)
		times = append(times, 40000, 500)
		file := filepath.Join(t.TempDir(), "frame.bin")
		require.NoError(t, os.WriteFile(file, samples(times), 0o644))
		out, err := exec.Command(cli, "-I", "binary:numchannels=1:samplerate=1000000", "-i", file,
			"-P", "ir_nec:ir=0", "-A", "ir_nec=fields:warnings").CombinedOutput()
		require.NoError(t, err, "%s", out)
		assert.Equal(t, test.want, annotations(string(out)), test.code)
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

var annotation = regexp.MustCompile(`(?m)^ir_nec-1: (?:"([^"]*)"|(.*?))(?: "|$)`)

// annotations gives the longest text of each of sigrok-cli's lines.
func annotations(out string) []string {
	var texts []string
	for _, m := range annotation.FindAllStringSubmatch(out, -1) {
		texts = append(texts, m[1]+m[2])
	}
	return texts
}
