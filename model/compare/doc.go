// Package compare reports how two designs differ in what the prop
// does: what a press does now, what no longer works, codes, routines,
// times, limits, and what the rules say.
//
// It knows nothing of text: a file in another order, with other comments or
// with `any` in place of a list does not differ, unless the order decides
// something (see order.go). An element that has only another name counts as
// renamed. What chance draws with a seed is not compared.
//
// It refuses to know how a difference is shown, and where the two designs
// came from.
//
// # Decisions
//
// Each state and event that both designs have is compared by its effect, with
// precedence resolved; then every element by its name and the values that hold. An
// element that is gone and a new one that is alike but for the name, each the only
// such, are one that was renamed. The file's order is compared where it decides:
// which of two timers comes first that can be due in the same millisecond and have
// different effects (rule 8), and which of several cues comes last that ask
// the same of an output, or of the same pixels, at the same time.
//
// Tests edit the demo in eleven ways and hold the verdict against what the
// reference machine does in every state; others turn the transitions of random
// designs round and let the machine draw both timers for one millisecond.
package compare
