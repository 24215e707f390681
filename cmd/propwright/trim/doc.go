// Package trim finds out by trying which pulse widths belong to a servo's angles:
// where its linkage ends, where it rests, and where a spinner stands still.
//
// Servos whose ends are known can be taught a pose in the same way.
//
// It knows how the trim sketch is spoken to, and how far a servo may be moved: over
// ground where it has been before or one small step beyond, and never past an end that
// has been confirmed. It refuses to know who asks for a move, and how the design is
// saved.
package trim
