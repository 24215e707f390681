package ir

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseTimes(t *testing.T) {
	frame := []Time{{true, 9024}, {false, 4512}, {true, 564}}
	end, over := Time{false, 100_000}, Time{false, 250_000}
	for _, test := range []struct {
		what, text string
		want       []Time
	}{
		{"ir-ctl", "+9024 -4512 +564 -40000\n+9000", append(frame[:3:3], Time{false, 40_000}, Time{true, 9000}, end)},
		{"ir-ctl, a frame a line", "+9024 -4512 +564\n+9024 -4512 +564 # timeout 125000\n", append(append(append(frame[:3:3], end), frame...), over)},
		{"ir-ctl, a press a line", "+9024 -4512 +564 # carrier 38000Hz, timeout 125000\n+9024 -4512 +564", append(append(append(frame[:3:3], over), frame...), end)},
		{"ir-ctl with its timeout", "+9024 -4512 +564 -125000\n+9024 -4512 +564 -125000\n", append(append(append(frame[:3:3], over), frame...), over)},
		{"ir-ctl, gives up between frames", "+9024 -4512 +564 # timeout 20000\n+9024 -4512 +564 -20000\n", append(append(append(frame[:3:3], end), frame...), end)},
		{"a long period", "+9024 -4512 +564 -150000 +9024 -4512 +564\n", append(append(append(frame[:3:3], Time{false, 150_000}), frame...), end)},
		{"a long period in mode2", "pulse 9024\nspace 4512\npulse 564\nspace 150000\npulse 564", append(frame[:3:3], Time{false, 150_000}, Time{true, 564}, end)},
		{"mode2", "carrier 38000\nspace 1000000\npulse 9024\nspace 4512\npulse 564\ntimeout 130000\npulse 564", append(frame[:3:3], over, Time{true, 564}, end)},
		{"two spaces in a row", "pulse 9024\nspace 4000\nspace 512\npulse 564", append(frame[:3:3], end)},
		{"plain", "9024 4512\n564", append(frame[:3:3], end)},
		{"plain, with commas", "{9024, 4512,\r\n 564}; // one\r\n", append(frame[:3:3], end)},
		{"plain, two frames", "9024 4512 564\n\n9024 4512 564\n", append(append(append(frame[:3:3], end), frame...), end)},
		{"nothing", "# nothing\n", nil},
	} {
		got, err := ParseTimes(test.text)
		require.NoError(t, err, test.what)
		assert.Equal(t, test.want, got, test.what)
	}
}

func TestParseTimesErrors(t *testing.T) {
	for _, test := range []struct {
		text         string
		line, column int
		wrong        string
	}{
		{"9024 45x2", 1, 6, `"45x2" is not a time in microseconds; write for example 562, +562 or pulse 562`},
		{"9024\n 0", 2, 2, `"0" is not a time in microseconds; write for example 562, +562 or pulse 562`},
		{"pulse\n", 1, 6, `a number was expected after "pulse"`},
		{"pulse space 3", 1, 7, `a number was expected after "pulse", not "space"`},
		{"space -3", 1, 7, `the number after "space" has no sign; write 3`},
		{"99999999999999999999", 1, 1, `"99999999999999999999" is not a time in microseconds; write for example 562, +562 or pulse 562`},
	} {
		_, err := ParseTimes(test.text)
		var te *TimesError
		require.True(t, errors.As(err, &te), "%q: %v", test.text, err)
		assert.Equal(t, TimesError{test.line, test.column, test.wrong}, *te)
	}
}

// Whatever the text, nothing panics, and marks and spaces take turns.
func TestParseTimesTakesTurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOf(rapid.SampledFrom([]string{"pulse", "space", "timeout", "carrier", "562", "+9000", "-4500", "1", "\n", "\n\n", ",", "x", "#", "0"})).Draw(t, "words")
		times, err := ParseTimes(strings.Join(words, " "))
		if err != nil {
			return
		}
		for i, m := range times {
			require.Equal(t, i%2 == 0, m.Mark)
			require.Positive(t, m.US)
		}
	})
}
