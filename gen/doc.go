// Package gen is what a build writes, and when it may overwrite.
//
// It knows a prop's folder: which files a build owns, how a file shows that
// no hand has changed it since (a digest of its own text, see Seal), and how
// a folder is brought up to date without ever being half written (see Write).
//
// It refuses to know what is in the files: gen/sketch, gen/harness and the
// packages beside them make their text.
//
// A file's mark names the file's own path, so a copy under another name is the
// maker's. hooks.cpp has a mark too: it follows the design until the maker edits it,
// so that a renamed state does not leave it behind. Carriage returns are not an edit. Files of an earlier build are
// known by their marks; there is no list of them. A file that was edited is shown
// as a difference from what this build would write; where the design has changed
// too, both changes are in it, because earlier builds are not kept.
package gen
