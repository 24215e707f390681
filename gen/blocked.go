package gen

import (
	"fmt"
	"strings"
)

// Blocked is a file that a build would have to overwrite and may not.
type Blocked struct {
	Path string // on the disk, as the caller named the folder
	Why  string // "it was edited since it was built"
}

// BlockedError says why a build wrote nothing.
type BlockedError struct {
	Files []Blocked // in the order of the build; never empty
}

func (e *BlockedError) Error() string {
	var b strings.Builder
	b.WriteString("nothing was written, as the build may not overwrite:\n")
	for _, f := range e.Files {
		fmt.Fprintf(&b, "  %s: %s\n", f.Path, f.Why)
	}
	b.WriteString("code of your own belongs in hooks.cpp, which no build touches: " +
		"move your change there or keep a copy elsewhere, then delete what is named above and build again")
	return b.String()
}
