// Package designs holds whole designs: the one that the command builds when
// it is given none, examples to begin from, and others that tests read.
package designs

import (
	"embed"
	"io/fs"
	"path"
	"strings"
)

// suffix is how the name of a design file ends.
const suffix = ".prop.toml"

// FS holds the designs' files, NAME.prop.toml.
//
//go:embed *.prop.toml
var FS embed.FS

// HarbourHeron is the demo: a heron of printed parts that looks over a
// harbour, calls, snaps and spreads its wings.
//
//go:embed harbour-heron.prop.toml
var HarbourHeron []byte

// examples are props of different sizes and rigs, each without a finding.
//
//go:embed harbour-heron.prop.toml examples/*.prop.toml
var examples embed.FS

// Examples gives the text of every example, the demo among them, by the prop's name.
func Examples() map[string][]byte {
	all := map[string][]byte{}
	for _, pattern := range []string{"*" + suffix, "examples/*" + suffix} {
		files, err := fs.Glob(examples, pattern)
		if err != nil {
			panic(err) // the pattern is malformed
		}
		for _, file := range files {
			if all[strings.TrimSuffix(path.Base(file), suffix)], err = examples.ReadFile(file); err != nil {
				panic(err) // a file that Glob found
			}
		}
	}
	return all
}
