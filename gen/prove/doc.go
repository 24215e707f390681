// Package prove tries a firmware on a chip: it does at the chip's pins what a hand does at
// the remote and the inputs, has the reference machine hear of the same in the same
// millisecond, and compares what the two do.
//
// It knows what a firmware should do. It refuses to know how a chip is run (gen/bench).
package prove
