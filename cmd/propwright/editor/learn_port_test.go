//go:build linux

package editor

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/pty"
	"propwright/model/designs"
)

// A pseudo-terminal stands for the board that listens. A press while nobody
// asks is forgotten.
func TestLearnFromPort(t *testing.T) {
	t.Parallel()
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
		s.do(func() { waiting = s.e.views[inRemote].(*remote).learning.waiting })
		return !waiting
	}, waitFor, tick)
	s.keys("Enter").sees("listening")
	send(4)
	s.awaits("gives wake the code nec:0x31:0x04").keys("Esc", "Esc").sees("1 button is learned")
	assert.Equal(t, "nec:0x04:0x18", codeOf(s, "wake"))
	noOverlay(s)
}

// The same in a real terminal of either size, without colour and with few.
func TestLearnInATerminal(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		w, h int
		env  string
	}{{80, 24, "NO_COLOR=1"}, {160, 50, "TERM=xterm-16color"}} {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "heron.prop.toml"), designs.HarbourHeron, 0o644))
		board, name := pty.Open(t)
		tm := openTerminal(t, c.w, c.h, dir, "heron.prop.toml", c.env).sees("no errors")
		tm.keys("F3", "l").sees("learn the remote from", "first write the capture sketch").keys("Enter").sees("the board's serial port")
		tm.keys("'"+name, "Enter").sees("which button will you press?")
		pty.AwaitRaw(board)
		tm.keys("Enter").sees("Press “sleep” on the remote", "If nothing is heard", "on pin 2", "listening …")
		_, err := board.WriteString(pressed(necFrame(1)[:9], necFrame(1)))
		require.NoError(t, err)
		tm.sees("Once more: no frame was understood", "certain: the frame's check is right", "» Enter gives sleep the code nec:0x31:0x01", "r again")
		tm.keys("Enter").sees("which button will you press?", "Esc back").keys("Esc").sees("1 button is learned", "nec:0x31:0x01")
		tm.keys("Ctrl-Z").sees("taken back: learn button sleep").keys("Ctrl-Q").sees("left with 0")
	}
}
