// Package large holds a design of sixty states, for what must stay readable.
package large

import "embed"

// FS holds the design's file, pier-parade.prop.toml.
//
//go:embed *.prop.toml
var FS embed.FS
