// Package machine is the reference machine: what a design does, in virtual
// time counted in whole milliseconds. The generated C and the chip agree with
// it on every sequence of events.
//
// It knows the ten rules of the semantics: which transition an event takes,
// back, defer, done, deadlines, the queue, presses and holds, the random
// sequence. A design is first compiled to a Program, in which names have
// become indices and precedence is resolved; a Machine runs a Program, and a
// Keypad turns a remote's frames into the Machine's events.
//
// It refuses to know how an output moves (model/motion), whether the
// behaviour is sound (model/check) and what a frame looks like on the air
// (model/ir).
package machine
