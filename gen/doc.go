// Package gen is what a build writes, and when it may overwrite.
//
// It knows a prop's folder: which files a build owns, how a file shows that
// no hand has changed it since (a digest of its own text, see Seal), and how
// a folder is brought up to date without ever being half written (see Write).
//
// It refuses to know what is in the files: gen/sketch, gen/harness and the
// packages beside them make their text.
package gen
