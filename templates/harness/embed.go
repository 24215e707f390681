// Package harness holds the text of the Go module that tests a prop's
// firmware; gen/harness fills it in.
package harness

import "embed"

// FS holds the templates: NAME.tmpl becomes harness/NAME.
//
//go:embed *.tmpl
var FS embed.FS
