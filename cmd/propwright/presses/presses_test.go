package presses_test

import (
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/ports"
	"propwright/cmd/propwright/presses"
	"propwright/model/ir"
)

func TestFromTimes(t *testing.T) {
	codes := []ir.Code{{Protocol: "nec", Address: 4, Command: 0x18}, {Protocol: "rc5", Address: 5, Command: 0x35}}
	var times []ir.Time
	for _, c := range codes {
		for i, us := range append(ir.Encode(c), 300_000) {
			times = append(times, ir.Time{Mark: i%2 == 0, US: us})
		}
	}
	// The last silence may be short: the recording ends.
	times[len(times)-1].US = 100
	source := presses.FromTimes(times)
	for _, want := range codes {
		l, err := source.Next()
		require.NoError(t, err)
		assert.Equal(t, want, l.Code)
	}
	_, err := source.Next()
	assert.ErrorIs(t, err, io.EOF)
}

func TestOpenNamesThePorts(t *testing.T) {
	_, err := presses.Open("no-such-port")
	require.Error(t, err)
	assert.Contains(t, err.Error(), "the port no-such-port cannot be opened: ")
	assert.Contains(t, err.Error(), ports.There())
}
