// Package store keeps an editor's design in files: it reads and saves the
// design file, notices when another hand has changed it in the meantime, and
// writes a recovery journal next to it, so that a crash loses the last moment
// at most.
//
// It refuses to know what an edit is and how anything is shown or asked.
package store
