// Package model holds a prop's design: the types a maker's words become, their
// names and units, the design file (format 1) that holds them, and nothing
// else.
//
// It knows what may be written and what a value means; it reads a file
// strictly (every fault with its place, what is wrong and the nearest valid
// spelling), keeps the comments a hand wrote, and writes the canonical form. It
// knows which elements mention which.
//
// The file's form is kept apart from its meaning, as in age's internal/format/format.go:
// the form is model/tomltree.
//
// It refuses to know what the prop does in time (model/machine), whether the
// behaviour is sound (model/check), what a chip can do (model/board) and what
// is generated from a design (gen).
//
// # Decisions
//
// Names are slugs everywhere ([a-z][a-z0-9-]{0,23}). Those of buttons and messages
// may begin with a digit, as the keys of remotes and the sounds of boards do; `any`
// and `back` cannot be the name of a state. Labels and notes are free text.
//
// Reading goes on after a fault that is confined to one line. Comments stay with
// the element or the key above or beside which they were written; those inside a
// list move above its key. Blank lines between comments are not kept. An unknown
// key, or a value that cannot be read, is lost on writing, so a file with such
// faults is not saved over without asking.
package model
