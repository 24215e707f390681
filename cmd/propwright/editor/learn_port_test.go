//go:build linux

package editor

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/testdata/pty"
)

// A pseudo-terminal stands for the board that listens. A press while nobody
// asks is forgotten.
func TestLearnFromPort(t *testing.T) {
	s := newScene(t, 80, 24, 16)
	board, name := pty.Open(t)
	send := func(command uint32) {
		_, err := board.WriteString(pressed(necFrame(command)))
		require.NoError(t, err)
	}
	s.keys("F3", "l", "Enter", "'"+name, "Enter").sees("which button will you press?")
	pty.AwaitRaw(board)
	s.keys("Enter").sees("Press “sleep” on the remote", "listening")
	send(1)
	s.awaits("gives sleep the code nec:0x31:0x01").keys("r").sees("listening")
	send(2)
	s.awaits("gives sleep the code nec:0x31:0x02").keys("Enter")
	assert.Equal(t, "nec:0x31:0x02", codeOf(s, "sleep"))
	s.keys("Enter", "Esc").sees("which button", "» wake") // still listening for wake
	send(3)
	require.Eventually(t, func() bool {
		waiting := true
		s.do(func() { waiting = s.e.learning.waiting })
		return !waiting
	}, waitFor, tick)
	s.keys("Enter").sees("listening")
	send(4)
	s.awaits("gives wake the code nec:0x31:0x04").keys("Esc", "Esc").sees("1 button is learned")
	assert.Equal(t, "nec:0x04:0x18", codeOf(s, "wake"))
	noOverlay(s)
}
