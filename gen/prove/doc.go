// Package prove tests a firmware on a simulated chip. It acts on the chip's pins as a
// person does on the remote and the inputs, gives the reference machine the same events
// in the same millisecond, and compares what the two do.
//
// It knows what a firmware should do. It refuses to know how a chip is run (gen/bench).
package prove
