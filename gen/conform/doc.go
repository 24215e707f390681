// Package conform makes suites that test whether a finite state machine, seen from
// outside only, is the one that is specified.
//
// It knows machines of states, inputs and outputs by number. It refuses to know what
// they stand for, and time. The firmware's harness gets this package's source (Source)
// and works out its suite from its own tables, so the suite takes no room in it.
package conform

import _ "embed"

// Source is the text of the file that makes suites.
//
//go:embed suite.go
var Source string
