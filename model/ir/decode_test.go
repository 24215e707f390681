package ir

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// feed plays frames with gaps of 40 ms between them and returns what the
// decoder reports.
func feed(d *Decoder, frames ...[]int) []Frame {
	var got []Frame
	for _, frame := range frames {
		d.Feed(false, 40000)
		for i, us := range frame {
			if f, ok := d.Feed(i%2 == 0, us); ok {
				got = append(got, f)
			}
		}
	}
	return got
}

// The figures of a frame: Vishay, "Data formats for IR remote control",
// document 80071, section "NEC code": carrier 38 kHz, leader burst 9 ms, pause
// 4.5 ms; a held key sends the leader and a single bit. The example and the
// sums: "NEC Infrared Transmission Protocol", Altium, 2017, figure 1: address
// 00h, command ADh; 27 ms each for address and command with their inverses,
// 67.5 ms without the last burst of 562.5 µs, bits sent lowest first; repeat
// code 9 ms, 2.25 ms, 562.5 µs; the next repeat 108 ms after this one.
func TestEncodePublishedFrame(t *testing.T) {
	c := Code{"nec", 0x00, 0xad}
	frame := Encode(c)
	require.Len(t, frame, 2+2*32+1)
	assert.Equal(t, 38000, nec.Carrier)
	assert.Equal(t, []int{9000, 4500}, frame[:2])
	assert.Equal(t, 27000, sum(frame[2:34]), "address and its inverse")
	assert.Equal(t, 27000, sum(frame[34:66]), "command and its inverse")
	assert.Equal(t, 67500, sum(frame[:66]))
	assert.InDelta(t, 562.5, frame[66], 0.5)

	bits := ""
	for i := 2; i < 66; i += 2 {
		assert.InDelta(t, 562.5, frame[i], 0.5, "mark %d", i)
		if frame[i+1] > 1125 {
			assert.InDelta(t, 1687.5, frame[i+1], 0.5, "space %d", i+1)
			bits += "1"
		} else {
			assert.InDelta(t, 562.5, frame[i+1], 0.5, "space %d", i+1)
			bits += "0"
		}
	}
	assert.Equal(t, "00000000"+"11111111"+"10110101"+"01001010", bits)

	repeat := EncodeRepeat(c)
	assert.Equal(t, []int{9000, 2250}, repeat[:2])
	require.Len(t, repeat, 3)
	assert.InDelta(t, 562.5, repeat[2], 0.5)
	assert.Equal(t, 108*time.Millisecond, c.RepeatPeriod())
}

func TestEncodeUnknownProtocol(t *testing.T) {
	c := Code{Protocol: "none"}
	assert.Nil(t, Encode(c))
	assert.Nil(t, EncodeRepeat(c))
	assert.Zero(t, c.RepeatPeriod())
}

// Every time off by up to 60 µs and 45 µs more, either way: what the firmware
// is held to.
func TestDecodeWithinTolerance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCode(t)
		off := rapid.IntRange(-105, 105)
		shake := func(frame []int) []int {
			for i := range frame {
				frame[i] += off.Draw(t, "off")
			}
			return frame
		}
		var d Decoder
		got := feed(&d, shake(Encode(c)), shake(EncodeRepeat(c)), shake(EncodeRepeat(c)))
		require.Equal(t, []Frame{{c, false}, {c, true}, {c, true}}, got)
	})
}

func TestDecodeLimits(t *testing.T) {
	c := Code{"nec", 0x04, 0x18}
	const zero, one = 3 + 2*16, 3 + 2*19 // the spaces of the command's bits 0 and 3
	whole := []Frame{{Code: c}}
	for _, test := range []struct {
		what  string
		index int
		us    int
		want  []Frame
	}{
		{"leader mark short", 0, 7199, nil},
		{"leader mark least", 0, 7200, whole},
		{"leader mark most", 0, 10799, whole},
		{"leader mark long", 0, 10800, nil},
		{"leader space of a repeat", 1, 3375, nil},
		{"leader space least", 1, 3376, whole},
		{"leader space most", 1, 5623, whole},
		{"leader space long", 1, 5624, nil},
		{"mark short", 2, 279, nil},
		{"mark least", 2, 280, whole},
		{"mark most", 2, 847, whole},
		{"mark long", 2, 848, nil},
		{"zero short", zero, 279, nil},
		{"zero least", zero, 280, whole},
		{"zero most", zero, 1127, whole},
		{"zero as one", zero, 1128, nil},
		{"one as zero", one, 1127, nil},
		{"one least", one, 1128, whole},
		{"one most", one, 1967, whole},
		{"one long", one, 1968, nil},
		{"last mark short", 66, 279, nil},
		{"last mark long", 66, 848, nil},
	} {
		frame := Encode(c)
		frame[test.index] = test.us
		var d Decoder
		assert.Equal(t, test.want, feed(&d, frame), test.what)
	}
}

func TestDecodeRepeats(t *testing.T) {
	a, b := Code{"nec", 1, 2}, Code{"necx", 0x0408, 3}
	broken := Encode(b)[:40]
	for _, test := range []struct {
		what   string
		frames [][]int
		want   []Frame
	}{
		{"nothing before", [][]int{EncodeRepeat(a)}, nil},
		{"after a frame", [][]int{Encode(a), EncodeRepeat(a), EncodeRepeat(a)}, []Frame{{a, false}, {a, true}, {a, true}}},
		{"after another frame", [][]int{Encode(a), Encode(b), EncodeRepeat(b)}, []Frame{{a, false}, {b, false}, {b, true}}},
		{"after a broken frame", [][]int{Encode(a), broken, EncodeRepeat(b)}, []Frame{{a, false}}},
		{"after a frame again", [][]int{Encode(a), broken, Encode(b), EncodeRepeat(b)}, []Frame{{a, false}, {b, false}, {b, true}}},
		{"a mark short", [][]int{Encode(a), EncodeRepeat(a)[:2], EncodeRepeat(a)}, []Frame{{a, false}, {a, true}}},
	} {
		var d Decoder
		assert.Equal(t, test.want, feed(&d, test.frames...), test.what)
	}
}

// A frame is taken even where what comes before it is cut off or noise.
func TestDecodeAfterNoise(t *testing.T) {
	c := Code{"nec", 0xa5, 0x5a}
	for cut := range Encode(c) {
		var d Decoder
		for i, us := range Encode(c)[:cut] {
			d.Feed(i%2 == 0, us)
		}
		// The leader comes at once, so two marks in a row are possible.
		var got []Frame
		for i, us := range Encode(c) {
			if f, ok := d.Feed(i%2 == 0, us); ok {
				got = append(got, f)
			}
		}
		assert.Equal(t, []Frame{{Code: c}}, got, "after %d times", cut)
	}
}

// A frame whose bits disagree with their inverses is none: every single
// wrong bit of a NEC frame makes it another protocol's or none, never
// another NEC code.
func TestDecodeRefusesWrongBits(t *testing.T) {
	c := Code{"nec", 0x04, 0x18}
	for bit := range 32 {
		frame := Encode(c)
		space := &frame[3+2*bit]
		*space = 2250 - *space // a zero's space for a one's, and back
		var d Decoder
		got := feed(&d, frame)
		if bit < 16 {
			require.Len(t, got, 1, "bit %d", bit)
			assert.Equal(t, "necx", got[0].Code.Protocol, "bit %d", bit)
		} else {
			assert.Empty(t, got, "bit %d", bit)
		}
	}
}

// Noise alone, drawn so that every time falls near those of the protocol,
// makes no frame.
func TestDecodeNoise(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	var d Decoder
	for i := range 1_000_000 {
		us := []int{562, 562, 562, 1687, 2250, 4500, 9000}[random.IntN(7)] + random.IntN(301) - 150
		f, ok := d.Feed(i%2 == 0, us)
		require.False(t, ok, "%v after %d times", f, i)
	}
}

func sum(times []int) int {
	total := 0
	for _, us := range times {
		total += us
	}
	return total
}
