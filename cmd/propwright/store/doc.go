// Package store keeps designs in files. Every write to an existing design file goes
// through it: a command changes the file as it is now (Change). The editor keeps a File
// open, notices changes by other programs, and writes a recovery journal next to it,
// so that a crash loses the last moment at most.
//
// It refuses to know what an edit is and how anything is shown or asked.
//
// The journal is the whole design, written beside `.NAME.prop.toml.journal` and
// renamed over it, on the disk within 250 ms of an edit. A save first lets the journal
// say the same, so that a crash between the two offers nothing old.
//
// Two editors on one file would take each other's journal for a crash's, and a
// command's save would surprise an editor, so the file is locked by another beside it (`.NAME.prop.toml.lock`), which ends with the process.
// The library for the lock knows how each system does it.
package store
