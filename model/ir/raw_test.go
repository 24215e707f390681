package ir

import (
	"hash/crc32"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The fingerprint's sum is the CRC-32 of the standard library (IEEE 802.3),
// begun with zero and not inverted.
func TestFingerprintIsCRC(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")
		var p print
		for _, b := range text {
			for i := range 8 {
				p.bit(b>>i&1 == 1)
			}
		}
		// Update inverts before and after; so does this.
		require.Equal(t, crc32.Update(^uint32(0), crc32.IEEETable, text), ^p.hash)
	})
}

func TestEveryFingerprintHasAFrame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.Uint32().Draw(t, "fingerprint")
		got, ok := Fingerprint(Encode(Code{Protocol: "raw", Address: 100, Command: want}))
		require.True(t, ok)
		require.Equal(t, want, got)
	})
}

// The fingerprint does not depend on the remote's clock: all times may be
// a fifth longer or shorter, and each off by a twentieth. Not so kaseikyo's:
// its leader space and the space of a one are in the ratio of 4 to 3, which is
// neither clearly different nor clearly the same.
func TestFingerprintIsSteady(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCode(t)
		if c.Protocol == "kaseikyo" {
			t.Skip()
		}
		frame := Encode(c)
		want, ok := Fingerprint(frame)
		require.True(t, ok)
		pace := rapid.Float64Range(0.8, 1.2).Draw(t, "pace")
		for i := range frame {
			frame[i] = int(float64(frame[i]) * pace * rapid.Float64Range(0.95, 1.05).Draw(t, "off"))
		}
		got, _ := Fingerprint(frame)
		require.Equal(t, want, got, "%v", c)
	})
}

// No two of some thousand codes of one wave have one fingerprint (it does not
// tell frames apart that differ only in their leader or their pace); what is
// shorter than a remote's frame has none.
func TestFingerprintsDiffer(t *testing.T) {
	type print struct {
		wave string
		hash uint32
	}
	seen := map[print]Code{}
	for _, p := range protocols {
		if p.Wave.Family == Unknown {
			continue
		}
		for command := range uint32(1) << min(p.CommandBits, 8) {
			for address := range uint32(8) {
				c, err := ParseCode(Code{Protocol: p.Name, Address: address, Command: command}.String())
				if err != nil {
					continue // another protocol's
				}
				f, ok := Fingerprint(Encode(c))
				require.True(t, ok)
				key := print{p.Wave.Name, f}
				if other, twice := seen[key]; twice && other != c {
					assert.Fail(t, "one fingerprint", "%v and %v: %08x", other, c, f)
				}
				seen[key] = c
			}
		}
	}
	assert.Greater(t, len(seen), 10000)
	_, ok := Fingerprint([]int{500, 500, 500})
	assert.False(t, ok)
	_, ok = Fingerprint(make([]int, RawMost+1))
	assert.False(t, ok)
}
