// Package compare tells what differs between two designs in what the prop
// does: what a press brings about now, what no longer works, codes, routines,
// times, limits, and what the rules say.
//
// It knows nothing of text: a file in another order, with other comments or
// with `any` in place of a list does not differ, unless the order decides
// something (see order.go). An element that has only another name counts as
// renamed. What chance draws with a seed is not compared.
//
// It refuses to know how a difference is shown, and where the two designs
// came from.
package compare
