package ir

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// feed plays frames with gaps of 20 ms before, between and after them and
// returns what the decoder reports.
func feed(d *Decoder, frames ...[]int) []Frame {
	var got []Frame
	take := func(mark bool, us int) {
		if f, ok := d.Feed(mark, us); ok {
			got = append(got, f)
		}
	}
	take(false, 20000)
	for _, frame := range frames {
		for i, us := range frame {
			take(i%2 == 0, us)
		}
		take(false, 20000)
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
	c := Code{Protocol: "nec", Address: 0x00, Command: 0xad}
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
// is held to. A raw frame is told by comparing two times with each other, so
// they may be off by less.
func TestDecodeWithinTolerance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCode(t)
		toggle := rapid.Bool().Draw(t, "toggle")
		off := rapid.IntRange(-105, 105)
		if c.Protocol == "raw" {
			off = rapid.IntRange(-60, 60)
		}
		shake := func(frame []int) []int {
			for i := range frame {
				frame[i] += off.Draw(t, "off")
			}
			return frame
		}
		d := Decoder{Raw: c.Protocol == "raw"}
		got := feed(&d, shake(EncodePress(c, toggle)), shake(EncodeHeld(c, toggle)), shake(EncodeHeld(c, toggle)))
		f := Frame{Code: c, Toggle: toggle && find(c.Protocol).Wave.Repeat == RepeatToggle}
		want := []Frame{f, f, f}
		if c.Protocol == "raw" {
			want[0].Code.Address = 0 // one frame does not tell the period
			if c.Address == 0 {
				want = want[:1]
			}
			for i := range want {
				want[i].Code.Address = 0
			}
		} else {
			want[1].Repeat, want[2].Repeat = true, true
			if find(c.Protocol).Wave.Repeat == RepeatBare {
				want[1].Toggle, want[2].Toggle = false, false
			}
		}
		require.Equal(t, want, got)
	})
}

// A protocol's fields are as many bits as its wave carries, and its codes come
// back from them whatever the toggle.
func TestLayouts(t *testing.T) {
	for _, p := range protocols {
		if p.Wave.Family != Unknown {
			assert.Contains(t, p.Wave.Bits, p.Bits(), p.Name)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		c := anyCode(t)
		toggle := rapid.Bool().Draw(t, "toggle")
		p := find(c.Protocol)
		got, flag, ok := p.unpack(p.pack(c, toggle))
		require.True(t, ok)
		require.Equal(t, c, got)
		require.Equal(t, toggle && p.Wave.Repeat == RepeatToggle, flag)
	})
}

// A frame sent again while its button still counts as down repeats; one that comes
// later is a new press, and so is one with the other toggle.
func TestDecodeRepeatsInTime(t *testing.T) {
	for _, p := range protocols {
		if p.Wave.Repeat == RepeatMark || p.Wave.Family == Unknown {
			continue
		}
		c := Code{Protocol: p.Name, Address: 1, Command: 2}
		toggles := p.Wave.Repeat == RepeatToggle
		first, again := EncodePress(c, false), EncodeHeld(c, false)
		period := int(p.Wave.Period.Microseconds())
		var d Decoder
		var got []Frame
		play := func(frame []int, until int) {
			for i, us := range append(append([]int(nil), frame...), until-sum(frame)) {
				if f, ok := d.Feed(i%2 == 0, us); ok {
					got = append(got, f)
				}
			}
		}
		d.Feed(false, 20000)
		play(first, period)
		play(again, (c.Bridged()+1)*period)
		play(again, period)
		play(EncodePress(c, true), (c.Bridged()+2)*period)
		play(EncodePress(c, true), period)
		want := []Frame{{Code: c}, {Code: c, Repeat: true}, {Code: c, Repeat: true}, {Code: c, Toggle: toggles, Repeat: !toggles && p.Wave.Repeat != RepeatBare}, {Code: c, Toggle: toggles}}
		assert.Equal(t, want, got, p.Name)
	}
}

func TestDecodeLimits(t *testing.T) {
	c := Code{Protocol: "nec", Address: 0x04, Command: 0x18}
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
		{"mark most", 2, 839, whole},
		{"mark long", 2, 840, nil},
		{"zero short", zero, 279, nil},
		{"zero least", zero, 280, whole},
		{"zero most", zero, 1127, whole},
		{"zero as one", zero, 1128, []Frame{{Code: Code{Protocol: "nec32", Address: 0x04fb, Command: 0x19e7}}}},
		{"one as zero", one, 1127, []Frame{{Code: Code{Protocol: "nec32", Address: 0x04fb, Command: 0x10e7}}}},
		{"one least", one, 1128, whole},
		{"one most", one, 1967, whole},
		{"one long", one, 1968, nil},
		{"last mark short", 66, 279, nil},
		{"last mark long", 66, 840, nil},
	} {
		frame := Encode(c)
		frame[test.index] = test.us
		var d Decoder
		assert.Equal(t, test.want, feed(&d, frame), test.what)
	}
}

func TestDecodeRepeats(t *testing.T) {
	a, b := Code{Protocol: "nec", Address: 1, Command: 2}, Code{Protocol: "necx", Address: 0x0408, Command: 3}
	broken := Encode(b)[:40]
	for _, test := range []struct {
		what   string
		frames [][]int
		want   []Frame
	}{
		{"nothing before", [][]int{EncodeRepeat(a)}, nil},
		{"after a frame", [][]int{Encode(a), EncodeRepeat(a), EncodeRepeat(a)}, []Frame{{Code: a}, {Code: a, Repeat: true}, {Code: a, Repeat: true}}},
		{"after another frame", [][]int{Encode(a), Encode(b), EncodeRepeat(b)}, []Frame{{Code: a}, {Code: b}, {Code: b, Repeat: true}}},
		{"after a broken frame", [][]int{Encode(a), broken, EncodeRepeat(b)}, []Frame{{Code: a}}},
		{"after a frame again", [][]int{Encode(a), broken, Encode(b), EncodeRepeat(b)}, []Frame{{Code: a}, {Code: b}, {Code: b, Repeat: true}}},
		{"a mark short", [][]int{Encode(a), EncodeRepeat(a)[:2], EncodeRepeat(a)}, []Frame{{Code: a}, {Code: a, Repeat: true}}},
	} {
		var d Decoder
		assert.Equal(t, test.want, feed(&d, test.frames...), test.what)
	}
}

// A frame is taken even where what comes before it is cut off or noise.
func TestDecodeAfterNoise(t *testing.T) {
	c := Code{Protocol: "nec", Address: 0xa5, Command: 0x5a}
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
// wrong bit of a NEC frame makes it a code of a protocol that has
// fewer or no inverses, never another NEC code.
func TestDecodeRefusesWrongBits(t *testing.T) {
	c := Code{Protocol: "nec", Address: 0x04, Command: 0x18}
	for bit := range 32 {
		frame := Encode(c)
		space := &frame[3+2*bit]
		*space = 2250 - *space // a zero's space for a one's, and back
		var d Decoder
		got := feed(&d, frame)
		require.Len(t, got, 1, "bit %d", bit)
		want := "nec32"
		if bit < 16 {
			want = "necx"
		}
		assert.Equal(t, want, got[0].Code.Protocol, "bit %d", bit)
	}
}

// Noise alone, drawn so that every time falls near those of the protocols,
// makes no frame of a protocol that has a check.
func TestDecodeNoise(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	var d Decoder
	others := 0
	for i := range 1_000_000 {
		us := []int{444, 562, 562, 562, 889, 1687, 2250, 4500, 9000}[random.IntN(9)] + random.IntN(301) - 150
		if f, ok := d.Feed(i%2 == 0, us); ok {
			require.False(t, find(f.Code.Protocol).HasCheck(), "%v after %d times", f, i)
			others++
		}
	}
	assert.Less(t, others, 20, "of protocols without a check")
}

func sum(times []int) int {
	total := 0
	for _, us := range times {
		total += us
	}
	return total
}
