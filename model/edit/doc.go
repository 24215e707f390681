// Package edit changes a design step by step, so that every step can be
// undone: one key of an element, an element added, taken away, doubled, moved
// or renamed, a cell of the state–event matrix filled.
//
// It knows which elements name which, so that a rename reaches every mention
// and a deletion takes along what cannot stand without it. A value is read
// the way the file's own reader reads it, with its units and its errors.
//
// It refuses to know files (model.Load and the editor do), whether a design
// is finished or sound (model.Read and model/check), and screens.
package edit
