//go:build unix

package ports

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"strconv"
	"syscall"

	"golang.org/x/sys/unix"
)

// May reports whether a port is there and the user may use it. It does not open it, which
// would reset the board that is on it, and a prop would move.
func May(port string) error {
	err := unix.Access(port, unix.R_OK|unix.W_OK)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrPermission):
		return denied(port)
	}
	return missing(port, err)
}

// permit says how the user gets the right to use a port: as a member of the
// group that has it.
func permit(port string) string {
	info, err := os.Stat(port)
	if err != nil {
		return err.Error()
	}
	group := "dialout"
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		if g, err := user.LookupGroupId(strconv.Itoa(int(s.Gid))); err == nil && g.Name != "root" {
			group = g.Name
		}
	}
	return fmt.Sprintf("run `sudo usermod -a -G %s $USER`, log out and in again", group)
}
