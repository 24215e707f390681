// Package board describes what a chip and the board around it offer: pins with their
// port, bit and interrupt, timers, memory, clock.
//
// It knows the facts of the chip's data sheet, the pin numbers of the core
// that a sketch is compiled against, and which use a pin can be put to.
//
// It refuses to know what is connected to a pin, whether two things want the
// same one (model/check) and how a sketch drives it (gen/sketch).
package board
