// Package templates holds the sources that generation fills in, one folder
// for each kind of output. It knows nothing of what they are filled with.
package templates

import "embed"

// Sketch holds the firmware's files, sketch/NAME.tmpl (text/template).
//
//go:embed sketch/*.tmpl
var Sketch embed.FS

// Capture holds the sketch that shows what a remote sends,
// capture/NAME.tmpl (text/template; it uses Sketch's decoders).
//
//go:embed capture/*.tmpl
var Capture embed.FS

// Trim holds the sketch that moves a servo by hand, trim/NAME.tmpl (text/template).
//
//go:embed trim/*.tmpl
var Trim embed.FS

// Harness holds the files of the Go module that tests the firmware,
// harness/NAME.tmpl (text/template).
//
//go:embed harness/*.tmpl
var Harness embed.FS

// Chart holds the state–event matrix for people, chart/NAME.tmpl
// (html/template).
//
//go:embed chart/*.tmpl
var Chart embed.FS

// Card holds the operator's card, card/NAME.tmpl (html/template).
//
//go:embed card/*.tmpl
var Card embed.FS

// Tour holds the walk for the bench, tour/NAME.tmpl (html/template).
//
//go:embed tour/*.tmpl
var Tour embed.FS
