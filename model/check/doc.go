// Package check looks for what is wrong with a design: each Rule is a value
// with a name, a line of documentation, a severity and a function, in the
// manner of golang.org/x/tools/go/analysis.
//
// It knows which situations a prop can get into. A situation is a state with
// everything else that decides what happens next: the state that back leads
// to, the deferred transition, the timers that have fired, the button that is
// held and for how long. All situations that can come about are explored, in
// the order of how few happenings lead to them, so a finding about behaviour
// carries a shortest witness: what to do to a prop, from power-up, to see it.
// A witness can be played in model/machine, and Finding.Replay does.
//
// What the exploration takes for granted: two acts never meet in one
// millisecond; a button kept down sends its frames at its code's period, none
// is lost; an input may become active, or inactive, at any time; where one of
// two timers that are due in the same millisecond is deferred, the other goes
// off in that millisecond too (in the machine it is a millisecond late); a
// press that has lasted longer than a tap, or than its last hold, is released
// at any time (a remote ends a press a whole number of frames later).
//
// It refuses to know how findings are shown, and how an output moves
// (model/motion).
//
// The rules of behaviour follow M. Jaffe, N. Leveson, M. Heimdahl, B. Melhart,
// "Software requirements analysis for real-time process-control systems", IEEE
// Transactions on Software Engineering 17(3), 1991: reachability,
// completeness, determinism, timeouts and paths back.
package check
