// Package edit changes a design step by step, so that every step can be
// undone: one key of an element, an element added, deleted, copied, moved
// or renamed, a cell of the state–event matrix filled.
//
// A rename reaches every mention, and a deletion also deletes what cannot exist
// without the element. A value is read the way the file's own reader reads it,
// with its units and its errors.
//
// It refuses to know files (model.Load and the editor do), whether a design
// is finished or sound (model.Read and model/check), and screens.
//
// # Decisions
//
// A draft's designs never change once they are out: every edit makes a new one
// that shares what stayed, so checks and journals can read it from any goroutine.
//
// Filling a cell of the matrix is the least change of the list of transitions. A
// transition of that cell alone is changed where it is; one that stands for other
// cells too is split; a new cell joins a transition with the same outcome and no
// note if they share the trigger or the source.
//
// An edit refuses what can never be right (a name that does not exist, a wrong
// unit), not what another edit may still put right (a transition back from a state
// that was performing and is ambient now). That is a fault in the findings, and an
// unfinished design can be saved and opened again.
//
// Undo keeps what differs between two designs, not the designs: an edit copies
// its list, which at 8,000 transitions of 168 bytes is 1.3 MB a step, and
// what differs is some 2 kB.
package edit
