// Package conform makes suites that test whether a finite state machine, seen from
// outside only, is the one that is specified.
//
// It knows machines whose states, inputs and outputs are numbers. It refuses to know
// what these stand for, and time. The firmware's harness holds a copy of this package
// (Source) and makes the suite from its own tables, so that no suite is stored.
package conform

import _ "embed"

// Source is the text of the file that makes suites.
//
//go:embed suite.go
var Source string
