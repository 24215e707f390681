// Package bench is a chip on a test bench: it compiles a sketch folder, runs
// it on a simulated chip (libsimavr, cycle by cycle), plays infrared frames
// and switches into its pins, and records every edge, every byte on the UART
// and every change of chosen variables, each with its cycle. Recorded traces
// can be read by sigrok's decoders, which know nothing of this project.
//
// It needs the Debian packages gcc-avr, avr-libc, arduino-core-avr, gcc,
// libsimavr-dev, libelf-dev and, for the decoders, sigrok-cli. Without them
// a test is skipped, or fails where the environment says CI=true.
//
// A sketch for a portable board, whose chip is not known, is compiled for this
// computer together with a stand-in for its core, and runs on the same leash.
// That shows what the board file asks of the core, not what a chip makes of it.
//
// Cycles count from power-up at 16 MHz: 16 are a microsecond. simavr dates an
// edge that the program makes at the start of its instruction, and one that a
// timer or the outside makes at the end of the instruction it falls into, so
// that is up to 3 cycles late (4 where an interrupt begins).
package bench
