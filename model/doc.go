// Package model is a prop's design: the types a maker's words become, their
// names and units, the design file (format 1) that holds them, and nothing
// else.
//
// It knows what may be written and what a value means; it reads a file
// strictly (every fault with its place, what is wrong and the nearest valid
// spelling), keeps the comments a hand wrote, and writes the canonical form.
//
// It refuses to know what the prop does in time (model/machine), whether the
// behaviour is sound (model/check), what a chip can do (model/board) and what
// is generated from a design (gen).
package model
