// Package avr compiles a sketch folder with the AVR toolchain and says what
// it takes of the chip.
//
// It knows where the compilers and the core library are, the flags that the
// core's platform.txt gives (without link-time optimisation), and how flash
// and SRAM are counted. It refuses to know what is in the sketch.
package avr
