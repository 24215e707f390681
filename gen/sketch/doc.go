// Package sketch turns a design into a firmware: it fills the templates of
// templates/sketch with the design's tables.
//
// It knows how states, transitions, cues and outputs become numbers in flash,
// what the firmware's counters can hold, and which names and comments a maker
// will read. It refuses to know C beyond filling the templates, when a file
// may be overwritten (gen) and how a compiler is run (gen/avr).
//
// What is generated is compiled and run by tests, as in x/tools'
// cmd/stringer/endtoend_test.go; a golden text alone proves little.
//
// # Servos, remote and lights on one small chip
//
// Sending WS2812-class pixels takes every cycle of an 8-bit chip, and no break
// inside a strip may be longer than a few microseconds. A servo's pulse must be
// right to a microsecond, and the remote's edges come when they like. Each has its
// place:
//
//   - servos: the first 2.6 ms of each frame of 20 ms. One compare interrupt is
//     asked for 60 ticks (30 µs) ahead and waits for the exact tick.
//   - lights: after the last pulse, if the strip fits before the next frame and the
//     remote is quiet. Interrupts are off, every bit takes 20 cycles.
//   - remote: always. Each edge interrupts; while a strip is sent, the pin is read
//     once a byte.
//   - everything else: the loop. One step of the machine a pass, one servo or 8
//     pixels of work a pass.
//
// Pulses do not jitter. They start in order of their width, 10 ticks (5 µs) apart,
// so they also end in that order and at least that far apart: no end waits for
// another, however alike the widths. What can delay the interrupt is the core's own
// clock handler (94 cycles), the remote's handler (113) and the longest stretch of
// masked code (15), each plus 7 cycles to get in; then 121 of its own until it looks
// at the counter. The worst order of all of them is 379 cycles of the 480 that 60
// ticks are. TestServoInterruptIsEarlyEnough adds this up on the compiled code, by
// its longest paths and the cycles of the instruction set manual. What remains is
// the wait's own loop of 5 cycles at each end: 0.31 µs.
//
// The loop computes the servos of the next frame. If it has not done so 4 ms before
// that frame, because a hook holds it up, a second compare interrupt does. Twelve servos
// take it 1 ms, with all other interrupts enabled. So a servo neither stops dead nor
// has to catch up: speed and acceleration at the pins stay within their limits, except
// for rounding to half a microsecond (TestLimitsHoldWhateverHappens). The loop holds that
// interrupt off while it changes shared data (board_hold). A strip is sent only when the
// frame after it has been computed.
//
// No press is lost. A byte of the strip takes 160 cycles, 10 µs; in its last bit the
// receiver's port is read into the byte's own place, because the byte is no longer
// needed (pixels are painted again for every refresh). Afterwards these readings are
// the record: each change becomes an edge with its time, off by at most 10 µs. A
// frame of any protocol lasts longer than a strip (a NEC repeat longer than one of
// 390 pixels), and no strip is begun while a frame may be going on (ir_busy), so the
// edge that decides a press never falls into one. The press is handled in the next
// pass: step_if_due makes that step ahead of its millisecond. Noise does not delay a
// strip: anything but a leader ends ir_busy at once, a receiver stuck low after 12 ms.
//
// The silence of the remote, and the time for which a button is down, are measured by
// the board's clock and not in steps, as steps made up after a long strip or a stall of
// the loop take no time. So a press that begins after a stall is heard
// (TestPressAfterAStall). A frame during a stall may be lost: the record holds 31 edges,
// 17 ms or more of a NEC frame.
//
// The clock is timer 1, which never stops, and the count of its frames; a strip of
// any length loses nothing. The core's own clock misses overflows meanwhile; its
// handler is called for each of them afterwards, so that millis() is right in
// hooks.cpp.
//
// A pass of the loop takes at most 30 µs a pixel and 0.3 ms (with the longest strips
// 0.6 ms) more (TestLongestLoopPass). So a pass within 2 ms holds for some 58 pixels
// only: the chip has nothing that sends them in the background, and the strip allows
// no break. The rule update-blocks tells the maker from 167 pixels on, 5 ms, what
// waits and for how long (TestRefreshIsAsTheCheckerSays). Timers and messages wait;
// presses and servos do not.
//
// On the 32U4 the core's USB handlers come on top while a cable is plugged in; they
// are not in the sum.
//
// # Servos on expanders
//
// A PWM expander keeps up the pulses of sixteen channels by itself; the firmware
// sends a channel's new width, as steps of the expander's cycle, when it is
// another one: address, register and two bytes, 0.36 ms at 100 kHz. What the
// player asks for a frame is sent when that frame begins. The bus has an interrupt
// a byte, of 65 cycles, which is shorter than the core's own and comes after the
// servos', so the sum above holds; the loop begins each message, and nothing waits.
// At most 24 channels are driven: each takes 0.7 ms of a frame where the loop is
// busy with lights.
//
// While a strip is sent the interrupt waits and the chip holds the bus's clock
// low, for 17 ms at the most. An expander lets go of the bus after 25 ms (its data
// sheet, "Dynamic characteristics"), and a message that takes as long is a fault.
// The expander then counts as lost: the player keeps its servos where they are, to
// within a frame's way, and everything else goes on (TestDeadBus). It is set up again
// ten times a second until it answers; then its servos go on slowly, as after a reset.
// If only the expander loses its power and gets it back, the firmware cannot tell: its
// servos stay limp until the sketch restarts.
//
// Nothing is sent while the loop is held up. A servo on an expander then stops where it
// is, harder than MaxAccel allows, and later starts from there within its limits.
//
// The expander's cycle is 19.99 ms by an oscillator of its own and not in step with
// the frame, so one of its cycles may show two frames' way. Pulses are to 4.88 µs,
// as far as the oscillator is right, of which the data sheet says nothing.
//
// # A 32-bit board
//
// It has another board.cpp (portable.cpp.tmpl) with only what every core of the kind
// has. Edges come by attachInterrupt and micros, and pulses from the core's Servo
// library. A strip goes out of the SPI port, four of its bits for one of the strip's,
// so that presses are received meanwhile. It is not proven on a chip, and its header
// says so. It compiles for a core of enumerations and for one of integers. Linked with
// a stand-in for the core, the whole sketch follows the reference machine and sends the
// pulses, colours, levels and bytes of the design, by the same tests as on the simulated
// chip. In the stand-in only passes of the loop and the SPI port's bits take time, so it
// shows nothing of jitter and load.
//
// # Decisions
//
// The watchdog is on (1 s; the loop resets it), so a hook that never returns leads to a
// reset, and so to rest. A watchdog reset leaves the watchdog on, so it is stopped
// before the core's start-up; boot loaders that do not do that loop in resets (common
// practice, no published source). hook_setup comes before the prop's own set-up, and so
// before the watchdog: it may wait for a sound board to start. It is weak, so that an
// older hooks.cpp without it still links.
//
// A pulse output is held by the board's clock for at least its `hold`. Counted in steps
// it would be too short, as several steps are made at once after a long pass.
//
// Messages are never cut and wait for the line, twice as many as any routine has
// waiting at once (at least 4, at most 120); what a loop asks for beyond what the
// line takes is dropped. A UART rate more than 2.5 % off is refused (some 2 % are
// common practice, no published source; 115,200 baud are 2.1 % off at 16 MHz and in
// use everywhere).
//
// The rule firmware-limit reports everything that the firmware cannot count, time or
// address and that no other rule has reported. On the 2560, tables end at 60 KB in
// all and 32 KB of a kind: pgm_read_byte has 16 bits, and avr-gcc takes no larger
// array.
//
// The rule memory is here because it needs the firmware. What it passes fits when
// compiled: SRAM is the sum of variables whose sizes a test compares with avr-nm's,
// flash an estimate with a margin of 512 bytes. Only a build knows the size of the
// maker's own code in hooks.cpp; it judges the compiled sketch. 256 bytes of the SRAM
// are kept for the stack: the longest chain of calls and the interrupts take 168 on the
// demo (avr.Stack), the rest is for hooks.
package sketch
