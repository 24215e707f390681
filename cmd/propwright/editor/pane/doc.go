// Package pane is what the editor's screens are made of: a pen for a rectangle
// of the terminal, the styles of a theme, the names of keys, a field to write
// in, and the dialog that lies over a screen.
//
// It knows terminals: columns and graphemes, how many colours there are, what
// a key is called, how a list scrolls, what of many texts fits a few letters.
// It refuses to know props, files, and what a key is to do: a dialog hands its
// answer to a function, and names the scopes whose keys it hears.
package pane
