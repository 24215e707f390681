package ir_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/ir"
)

// The bits, as sent, of frames that are published with their address and
// command.
func TestPublishedBits(t *testing.T) {
	for _, test := range []struct{ source, code, bits string }{
		// Address 59h and command 35h, lowest bit first.
		{`S. Bergmans, "JVC Protocol", SB-Projects`, "jvc:0x59:0x35", "10011010" + "10101100"},
		// Command 19 and address 1, lowest bit first, the command first.
		{`S. Bergmans, "Sony SIRC Protocol", SB-Projects`, "sirc12:0x01:0x13", "1100100" + "10000"},
		// Address 05h and command 35h, highest bit first, after two ones and the toggle.
		{`S. Bergmans, "Philips RC-5 Protocol", SB-Projects`, "rc5:0x05:0x35", "11" + "0" + "00101" + "110101"},
	} {
		c, err := ir.ParseCode(test.code)
		require.NoError(t, err)
		p, _ := c.Known()
		v := c.Bits()
		if !p.Wave.HighFirst {
			v = reverse(v, p.Bits())
		}
		want, err := strconv.ParseUint(test.bits, 2, 64)
		require.NoError(t, err)
		assert.Equal(t, want, v, test.source)
		assert.Len(t, test.bits, p.Bits(), test.source)
	}
}

// A frame of a Panasonic remote as its users measured it, in the words of the
// Pronto format: the carrier's period in units of 0.241246 µs, the number of
// pairs of the frame, then marks and spaces in periods. It is given with its
// bytes, 02 20 80 00 3D BD: vendor 2002h, device 80h, subdevice 0, function
// 3Dh, check. JP1 forum, "Trouble with identifying IR Code Types", 2013.
const panasonicPowerOn = `0000 0071 0000 0032 0080 0040 0010 0010 0010 0031 0010 0010 0010 0010 0010 0010 0010 0010
0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0031 0010 0010
0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0031
0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0010 0031
0010 0010 0010 0031 0010 0031 0010 0031 0010 0031 0010 0010 0010 0010 0010 0031 0010 0010
0010 0031 0010 0031 0010 0031 0010 0031 0010 0010 0010 0031 0010 0A9E`

func TestPublishedPanasonicFrame(t *testing.T) {
	var words []int
	for _, w := range strings.Fields(panasonicPowerOn) {
		v, err := strconv.ParseUint(w, 16, 16)
		require.NoError(t, err)
		words = append(words, int(v))
	}
	period := float64(words[1]) * 0.241246
	assert.InDelta(t, 37000, 1e6/period, 400, "carrier")
	require.Equal(t, 2*words[3], len(words)-4)
	var d ir.Decoder
	var got []ir.Frame
	total := 0.0
	for i, n := range words[4:] {
		us := float64(n) * period
		total += us
		if f, ok := d.Feed(i%2 == 0, int(us)); ok {
			got = append(got, f)
		}
	}
	want, err := ir.ParseCode("kaseikyo:0x2002008:0x3d")
	require.NoError(t, err)
	assert.Equal(t, []ir.Frame{{Code: want}}, got)
	// Device 80h is 8h above the vendor's parity, 2 xor 0 xor 0 xor 2.
	assert.Equal(t, uint64(0xbd3d00802002), want.Bits())
	assert.InDelta(t, float64(want.RepeatPeriod().Microseconds()), total, 1000, "repeat period")
}
