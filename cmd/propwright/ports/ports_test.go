package ports

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/board"
)

func TestOf(t *testing.T) {
	b, ok := board.ByName("atmega328p")
	require.True(t, ok)
	own, also := Port{"/dev/ttyACM0", "2341:0043"}, Port{"/dev/ttyACM1", "2A03:0043"}
	usual, modem := Port{"/dev/ttyUSB0", "1A86:7523"}, Port{"/dev/ttyS0", ""}
	for _, c := range []struct {
		there []Port
		want  string
		says  string
	}{
		{[]Port{modem, own, usual}, "/dev/ttyACM0", ""}, // its own ID comes first
		{[]Port{modem, usual}, "/dev/ttyUSB0", ""},
		{[]Port{own, also}, "", "say which one with --port, /dev/ttyACM0 or /dev/ttyACM1"},
		{[]Port{modem}, "", "no atmega328p was found on USB"},
		{nil, "", "a cable that carries data"},
	} {
		got, err := Of(b, c.there)
		assert.Equal(t, c.want, got)
		if c.says == "" {
			assert.NoError(t, err)
		} else {
			assert.ErrorContains(t, err, c.says)
		}
	}
}

// Boards with an ID of their own come before USB converters, which may be on anything.
func TestFitting(t *testing.T) {
	b, ok := board.ByName("atmega328p")
	require.True(t, ok)
	own, also := Port{"/dev/ttyACM0", "2341:0043"}, Port{"/dev/ttyACM1", "2A03:0043"}
	usual, modem := Port{"/dev/ttyUSB0", "1A86:7523"}, Port{"/dev/ttyS0", ""}
	assert.Equal(t, []string{own.Name, also.Name}, Fitting(b, []Port{modem, own, usual, also}))
	assert.Equal(t, []string{usual.Name}, Fitting(b, []Port{modem, usual}))
	assert.Empty(t, Fitting(b, []Port{modem}))
}
