//go:build unix

package ports

import (
	"fmt"
	"os"
	"os/user"
	"strconv"
	"syscall"
)

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
