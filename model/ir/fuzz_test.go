package ir

import (
	"errors"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A code that is read is written as it is read.
func FuzzParseCode(f *testing.F) {
	f.Add("nec:0x00:0x45")
	f.Add("rc6:0x80:0x0c")
	f.Add("raw:0xdeadbeef")
	f.Fuzz(func(t *testing.T, s string) {
		c, err := ParseCode(s)
		if err != nil {
			var fault *CodeError
			require.ErrorAs(t, err, &fault)
			require.NotEmpty(t, fault.Wrong)
			return
		}
		again, err := ParseCode(c.String())
		require.NoError(t, err)
		require.Equal(t, c, again)
	})
}

// Times are a mark and a space in turn, a fault is in the text, and a learner
// takes whatever comes.
func FuzzParseTimes(f *testing.F) {
	f.Add("+9024 -4512 +564 -40000\n+9000 -2250 +564")
	f.Add("pulse 9024\nspace 4512\ntimeout 130000\n")
	f.Add("{9024, 4512,\r\n 564}; // one\r\n")
	f.Fuzz(func(t *testing.T, text string) {
		times, err := ParseTimes(text)
		if err != nil {
			var fault *TimesError
			require.True(t, errors.As(err, &fault))
			lines := strings.Split(text, "\n")
			require.LessOrEqual(t, fault.Line, len(lines))
			require.LessOrEqual(t, fault.Column, len(lines[fault.Line-1])+1)
			return
		}
		var l Learner
		for i, one := range times {
			require.Positive(t, one.US)
			require.Equal(t, i%2 == 0, one.Mark)
			if lesson, ok := l.Feed(one.Mark, one.US); ok && lesson.Code != (Code{}) {
				_, err := ParseCode(lesson.Code.String())
				require.NoError(t, err)
			}
		}
	})
}

var slugForm = regexp.MustCompile(`^[a-z][a-z0-9-]*$`)

// The keys of a keymap have names that a design can have, each once, and codes
// that it can have.
func FuzzParseKeymap(f *testing.F) {
	f.Add([]byte("[[protocols]]\nname = \"x\"\nprotocol = \"nec\"\nvariant = \"necx\"\n[protocols.scancodes]\n0x1234 = \"KEY_1\"\n"))
	f.Add([]byte("[[protocols]]\nname = \"x\"\nprotocol = \"pulse_distance\"\nbits = 24\nheader_pulse = 9000\n[protocols.scancodes]\n0x1 = \"KEY_UP\"\n"))
	// Published keymaps, where the package ir-keytable is installed.
	for _, name := range []string{"technisat_ts35", "allwinner_ba10_tv_box"} {
		if text, err := os.ReadFile("/lib/udev/rc_keymaps/" + name + ".toml"); err == nil {
			f.Add(text)
		}
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		m, err := ParseKeymap(text)
		if err != nil {
			return
		}
		names := map[string]bool{}
		for _, k := range m.Keys {
			require.Regexp(t, slugForm, k.Name)
			require.False(t, names[k.Name], k.Name)
			names[k.Name] = true
			again, err := ParseCode(k.Code.String())
			require.NoError(t, err)
			require.Equal(t, k.Code, again)
		}
	})
}
