// Package tomltree reads TOML 1.0 ("TOML v1.0.0", T. Preston-Werner, P. Gedam
// et al., 2021, toml.io) into a tree of tables and values, each with its place
// and the comments at it, and tells every syntax error in a maker's words with
// what to do. Reading goes on after a fault that is confined to one line. It
// writes single texts and keys, too.
//
// A node knows its place and prints itself, as in text/template/parse/node.go; the
// parse.go beside that ends at the first fault.
//
// The grammar is go-toml's; what that takes of a later TOML is refused here.
//
// It refuses to know what the keys mean.
package tomltree
