package ir

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseCode(t *testing.T) {
	for _, test := range []struct {
		in, canonical string
		code          Code
	}{
		{"nec:0x04:0x18", "nec:0x04:0x18", Code{Protocol: "nec", Address: 0x04, Command: 0x18}},
		{"nec:0x4:0xFF", "nec:0x04:0xff", Code{Protocol: "nec", Address: 0x04, Command: 0xff}},
		{"necx:0x0408:0x18", "necx:0x0408:0x18", Code{Protocol: "necx", Address: 0x0408, Command: 0x18}},
		{"necx:0x408:0x0", "necx:0x0408:0x00", Code{Protocol: "necx", Address: 0x0408, Command: 0}},
		{"nec32:0x8530:0x09f0", "nec32:0x8530:0x09f0", Code{Protocol: "nec32", Address: 0x8530, Command: 0x09f0}},
		{"rc5:0x1f:0x7f", "rc5:0x1f:0x7f", Code{Protocol: "rc5", Address: 0x1f, Command: 0x7f}},
		{"kaseikyo:0x2002008:0x3d", "kaseikyo:0x2002008:0x3d", Code{Protocol: "kaseikyo", Address: 0x2002008, Command: 0x3d}},
		{"raw:0x6c:0x1234abcd", "raw:0x006c:0x1234abcd", Code{Protocol: "raw", Address: 0x6c, Command: 0x1234abcd}},
	} {
		c, err := ParseCode(test.in)
		require.NoError(t, err, test.in)
		assert.Equal(t, test.code, c)
		assert.Equal(t, test.canonical, c.String())
	}
}

func TestParseCodeErrors(t *testing.T) {
	for _, test := range []struct{ in, wrong, advice string }{
		{"", `code "" is not of the form protocol:address:command`, `write for example "nec:0x04:0x18"`},
		{"nec:0x04", `code "nec:0x04" is not of the form protocol:address:command`, `write for example "nec:0x04:0x18"`},
		{"nec:0x04:0x18:", `code "nec:0x04:0x18:" is not of the form protocol:address:command`, `write "nec:0x04:0x18"`},
		{"NEC 0x04 0x18", `code "NEC 0x04 0x18" is not of the form protocol:address:command`, `write "nec:0x04:0x18"`},
		{"0xFFA25D", `code "0xFFA25D" is not of the form protocol:address:command`, `a number alone does not say in which protocol it is sent: learn the button, or try "nec:0x00:0x45"`},
		{"20df10ef", `code "20df10ef" is not of the form protocol:address:command`, `a number alone does not say in which protocol it is sent: learn the button, or try "nec:0x04:0x08"`},
		{"0x04FB08F8", `code "0x04FB08F8" is not of the form protocol:address:command`, `a number alone does not say in which protocol it is sent: learn the button`},
		{"NEC:0x04:0x18", `protocol "NEC" is not known`, `write "nec:0x04:0x18"`},
		{"ncx:0x04:0x18", `protocol "ncx" is not known`, `known are "nec", "necx", "nec32", "samsung32", "jvc", "kaseikyo", "sirc12", "sirc15", "sirc20", "rc5", "rc6", "raw"`},
		{"nec:4:0x18", `address "4" is not a hexadecimal number of at most 32 bits`, `write "0x04" for 4, or "0x4" if that was meant in hexadecimal`},
		{"nec:0x04:18h", `command "18h" is not a hexadecimal number of at most 32 bits`, `write it in hexadecimal, for example "0x18"`},
		{"nec:0X04:0x18", `address "0X04" is not a hexadecimal number of at most 32 bits`, `write "0x04"`},
		{"nec: 0x04:0x18", `address " 0x04" is not a hexadecimal number of at most 32 bits`, `write "0x04"`},
		{"nec:0x0_4:0x18", `address "0x0_4" is not a hexadecimal number of at most 32 bits`, `write it in hexadecimal, for example "0x18"`},
		{"nec:0x:0x18", `address "0x" is not a hexadecimal number of at most 32 bits`, `write it in hexadecimal, for example "0x18"`},
		{"nec:0x123456789:0x18", `address "0x123456789" is not a hexadecimal number of at most 32 bits`, `write it in hexadecimal, for example "0x18"`},
		{"nec:0x0408:0x18", "address 0x408 is wider than the 8 bits of nec", `write "necx:0x0408:0x18"`},
		{"nec:0x04fb:0x18", "address 0x4fb is wider than the 8 bits of nec", `write "nec:0x04:0x18"`},
		{"nec:0x04:0x118", "command 0x118 is wider than the 8 bits of nec", "write at most 0xff"},
		{"necx:0x10000:0x18", "address 0x10000 is wider than the 16 bits of necx", "write at most 0xffff"},
		{"necx:0x04fb:0x18", "necx:0x04fb:0x18 is the same frame as nec:0x04:0x18", `write "nec:0x04:0x18"`},
	} {
		_, err := ParseCode(test.in)
		var ce *CodeError
		require.True(t, errors.As(err, &ce), "%q: %v", test.in, err)
		assert.Equal(t, test.wrong, ce.Wrong, test.in)
		assert.Equal(t, test.advice, ce.Advice, test.in)
		assert.Equal(t, test.wrong+"; "+test.advice, ce.Error())
	}
}

func TestParseCodeNeverPanics(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(
			rapid.String(),
			rapid.StringMatching(`(nec|necx|nec32|samsung32|jvc|kaseikyo|sirc12|sirc20|rc5|rc6|raw):(0x)?[0-9a-fA-F]{0,10}:(0x)?[0-9a-fA-F]{0,10}`),
		).Draw(t, "s")
		c, err := ParseCode(s)
		if err != nil {
			return
		}
		again, err := ParseCode(c.String())
		require.NoError(t, err)
		require.Equal(t, c, again)
	})
}

// anyCode draws a code that ParseCode would return.
func anyCode(t *rapid.T) Code {
	p := rapid.SampledFrom(protocols).Draw(t, "protocol")
	c := Code{
		Protocol: p.Name,
		Address:  rapid.Uint32Range(0, uint32(mask(p.AddressBits))).Draw(t, "address"),
		Command:  rapid.Uint32Range(0, uint32(mask(p.CommandBits))).Draw(t, "command"),
	}
	c, _, ok := p.Wave.unpack(p.pack(c, false), p.Bits())
	require.True(t, ok)
	return c
}

func TestCodeStringIsCanonical(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCode(t)
		got, err := ParseCode(c.String())
		require.NoError(t, err)
		require.Equal(t, c, got)
	})
}
