//go:build linux

// Package pty opens pseudo-terminals, which tests use as serial lines.
package pty

import (
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// Open opens a pseudo-terminal: the end of the test, and the name of the other.
func Open(t testing.TB) (master *os.File, slave string) {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	require.NoError(t, err)
	t.Cleanup(func() { master.Close() })
	require.NoError(t, unix.IoctlSetPointerInt(int(master.Fd()), unix.TIOCSPTLCK, 0))
	n, err := unix.IoctlGetInt(int(master.Fd()), unix.TIOCGPTN)
	require.NoError(t, err)
	return master, fmt.Sprintf("/dev/pts/%d", n)
}

// AwaitRaw waits until the other end has set the line up: before, the
// terminal would eat what is sent.
func AwaitRaw(master *os.File) {
	for range 1000 {
		s, err := unix.IoctlGetTermios(int(master.Fd()), unix.TCGETS)
		if err == nil && s.Lflag&unix.ICANON == 0 {
			break
		}
		time.Sleep(5 * time.Millisecond)
	}
	time.Sleep(50 * time.Millisecond)
}
