// Package ir is infrared remote control: the protocols that buttons are sent
// in, as codes, as mark and space times, and back; and what can be learned of
// a remote from its times.
//
// It knows how a code is written (protocol:address:command), what its frame
// looks like on the air, how a held button repeats, and which measured times
// still count as which symbol. Everything follows from two tables: waves
// (what the air carries) and protocols (what the bits of a wave mean). A
// further protocol is a row in each, or in the second only where its wave is
// there already.
//
// To learn a button, feed a Learner with times; it gives a Lesson of each
// press, and a Course says whether that will do: it takes into account how
// sure the lesson is and which other buttons the code may be taken for.
// ParseTimes reads times that were saved, ParseKeymap the codes of a keymap.
//
// It refuses to know what a button does, when a press ends, and how a chip
// measures a time.
package ir
