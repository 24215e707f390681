// Package editor is the terminal editor: a maker shapes a prop's whole
// behaviour from the keyboard, sees every finding as it arises, and plays the
// prop before any solder.
//
// It knows how a design looks on a terminal of 80 × 24 and more, which key
// does what, and when to save and to ask. It refuses to know what an edit does
// to a design (model/edit), what a value may be (model), whether a design is
// sound (model/check), what the prop does (model/rehearsal, model/machine,
// model/motion) and what is generated. What a screen is made of, without props, is
// the package pane below it.
//
// # Layout
//
// The screen has four parts, from the top:
//
//	the prop, its file, whether it is saved          what the check says
//	the views, each with its key; the one shown stands in [brackets]
//	the view; beside it, from 120 columns on, the details of what is under
//	the cursor, else in its place once Enter asks for them
//	a line for what was done, what is wrong or where the cursor is
//	a line for the keys that do something now
//
// The views: the matrix (states down by kind, triggers across, what is said
// for a kind or for any state on lines of their own), the remote, the rig with
// the chip's pins, the routines with their lanes in time, the behaviour graph,
// the findings, the rehearsal. The help page takes the whole screen.
//
// # Keys
//
// There is one key table, the slice actions: the help page, the key line and
// the palette are made from it, so they cannot disagree with what the keys do.
// It is put together from the table of screens, from each view's own keys, which
// stand beside the view, and from those that all share.
// Function keys change the view, Ctrl with a letter acts everywhere the same,
// a plain character belongs to the view. Letters in the matrix begin the name
// of a target.
//
// # What is not said by colour
//
// Every style comes from a theme, for no colour, for the terminal's sixteen
// and for more. A kind has a mark and a word, an inherited cell is in parentheses,
// a deferred target has », an ignored event is ·, a finding has ▸, the cursor is
// reversed. So a screen can be read without colour.
//
// # What is never lost
//
// Edits can be undone without limit; a text that was left comes back with
// Ctrl-O; a journal beside the file holds what is not saved; a file that
// another program has changed, or of which a part could not be read, is not
// overwritten without asking.
//
// A file with faults can be opened. What could not be read is not in the design, and a
// save would lose it. store.File.Unread lists it: the faults that are not found again in
// the canonical text. They are reported on opening and stay in the findings, and a save
// asks. A rehearsal beside the file that no longer fits the design is a finding too,
// since it stops a build; a rename does not change those files, because undo could not.
//
// # Decisions
//
// An inherited cell is overridden in its row; the general row is never changed from
// there. A text left with Esc comes back with Ctrl-O.
//
// The check runs beside the screen, 120 ms after the last edit; the result of an older
// one is dropped.
//
// When learning, a goroutine waits in presses.Source.Next and queues each press to the
// screen's goroutine, where the open lesson takes it; without an open lesson it is
// dropped. An ir.Course compares the presses of one button with the other buttons' codes
// and says when the code is certain; edit.Teach writes it, one edit a button. Leaving
// closes the line, which ends the waiting.
//
// Comments above an element are a line of its details. Those at a single key or inside
// a list are kept, and can be written in the file only: a form with a place for them at
// every key would be twice as long.
//
// An unknown TERM is replaced by its shorter name (xterm-16color by xterm). Delays in a
// terminal's description are left out: with vt100 each key took two seconds. Ctrl-C
// would end tview; it is made a key like any other.
package editor
