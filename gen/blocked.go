package gen

import (
	"bytes"
	"fmt"
	"os"
	"strings"
)

// Blocked is a file that a build would overwrite but must not.
type Blocked struct {
	Path string // on the disk, as the caller named the folder
	Why  string // "it was edited since it was built"
}

// BlockedError says why a build wrote nothing.
type BlockedError struct {
	Files []Blocked // in the order of the build; never empty

	// Diffs shows, for each file that was edited, what differs between the
	// text that this build has for it and the file: where the design is as it
	// was, just what the hand has done. Unified form; "" where none was edited.
	Diffs string
}

func (e *BlockedError) Error() string {
	var b strings.Builder
	b.WriteString("nothing was written, as the build may not overwrite:\n")
	for _, f := range e.Files {
		fmt.Fprintf(&b, "  %s: %s\n", f.Path, f.Why)
	}
	b.WriteString("code of your own belongs in hooks.cpp, which no build touches once you have edited it: " +
		"move your change there or keep a copy elsewhere, then delete what is named above and build again")
	return b.String()
}

// Aside is what SetAside adds to a file's name. No toolchain compiles such a
// file.
const Aside = ".mine"

// SetAside renames every file that blocked a build, so that the next one
// writes it anew, and gives the new names. A name that is taken already is
// not: the error says so, and nothing is renamed.
func SetAside(e *BlockedError) ([]string, error) {
	var names []string
	for _, f := range e.Files {
		name := f.Path + Aside
		if _, err := os.Lstat(name); err == nil {
			return nil, fmt.Errorf("%s is there already: move it away or delete it, then build again", name)
		}
		names = append(names, name)
	}
	for i, f := range e.Files {
		if err := os.Rename(f.Path, names[i]); err != nil {
			return names[:i], fmt.Errorf("cannot set %s aside: %w", f.Path, err)
		}
	}
	return names, nil
}

// withoutMark returns a generated file's text as its generator gave it, or nearly.
func withoutMark(text []byte) []byte {
	before, after, _, _, ok := splitMark(text)
	if !ok {
		return text
	}
	return append(append([]byte{}, before...), bytes.TrimPrefix(after, []byte("\n"))...)
}
