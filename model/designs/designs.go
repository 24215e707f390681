// Package designs holds whole designs: the one that the command builds when
// it is given none, and others that tests read.
package designs

import (
	"embed"
	"io/fs"
)

// FS holds the designs' files, NAME.prop.toml.
//
//go:embed *.prop.toml
var FS embed.FS

// HarbourHeron is the demo: a heron of printed parts that looks over a
// harbour, calls, snaps and spreads its wings.
//
//go:embed harbour-heron.prop.toml
var HarbourHeron []byte

// Names lists the files of FS in alphabetical order.
func Names() []string {
	names, err := fs.Glob(FS, "*.prop.toml")
	if err != nil {
		panic(err) // the pattern is malformed
	}
	return names
}
