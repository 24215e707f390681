// Package ir implements infrared remote control: the protocols that buttons are sent
// in, as codes, as mark and space times, and back; and what can be learned of
// a remote from its times.
//
// It knows how a code is written (protocol:address:command), what its frame
// looks like on the air, how a held button repeats, and which measured times
// still count as which symbol. Everything follows from what a Wave says: what
// the air carries, and the protocols that say what its bits mean. Each wave is
// a value in its own file, nec.go and so on; to add one, write a file and list
// it in waves.
//
// To learn a button, feed a Learner with times; it gives a Lesson of each
// press, and a Course says whether that will do: it takes into account how
// sure the lesson is and which other buttons the code may be taken for.
// ParseTimes reads times that were saved, ParseKeymap the codes of a keymap.
//
// It refuses to know what a button does, and how a chip measures a time.
//
// # Decisions
//
// The tables give the Go codec, the firmware's decoders and those of the capture
// sketch. A wave that a design's codes use becomes one decoder in ir.c with its
// limits as constants. It follows one edge after the other beside the other
// decoders and keeps only bits. The button is found by comparing the whole frame,
// its check bits included, with the codes', so a frame that matches no code belongs
// to no button.
//
// Frames that another protocol's frames begin like need silence after them (JVC,
// SIRC, RC-5, RC-6: 5 ms from edge to edge, or 8 ms where no edge comes; raw 10 and
// 13 ms); their presses come that much later. RC-5 and Samsung need silence before
// them too, which keeps false codes of protocols with a check at none under noise
// and with two remotes at once (TestNoise).
//
// A held button is told by protocol: NEC by its repeat mark; JVC by the frame
// without a leader; Samsung, SIRC, Kaseikyo and raw by the same frame while the
// button still counts as down (Code.Lasting); RC-5 and RC-6 by that and the same
// toggle bit. Each button has its own protocol's period. A whole NEC frame is always
// a new press.
//
// A raw code is a repeat period and a fingerprint: a CRC-32 of which times are
// longer or shorter than the ones before. Period 0 means that the remote sends its
// frame once; then a hold is an error. A CRC is linear, so a frame with any fingerprint can be made for
// tests.
//
// A frame of the NEC wave with a wrong bit is an nec32 frame, which has no check.
// The decoder for learning reports it; a firmware without that very code does not
// hear it.
//
// Learning takes a code that is not certain only when it comes twice: one frame of
// a protocol without a check, one fingerprint, times far off. Two codes in one
// press, or a code that another button sends, are never taken.
package ir
