// Package timed explores what can happen when a machine.Program runs, and when:
// which states can be reached, what to do to reach them, and how long it takes from
// an event to a state.
//
// A prop is a timed automaton, in the words of R. Alur, D. L. Dill, "A theory of
// timed automata", Theoretical Computer Science 126(2), 1994. A location is a state
// with what else decides what happens next, but for time: the state that back leads
// to, the deferred transition, the timers that have fired, the button that is held,
// what choices have led to. A
// zone is a set of readings of the clocks, kept as the bounds of their differences (D.
// L. Dill, "Timing assumptions and verification of finite-state concurrent systems",
// Automatic Verification Methods for Finite State Systems, LNCS 407, 1989). A
// configuration is a location with a zone. A step leads from one configuration to the
// next, under a guard, bounds of single clocks; a run is a sequence of steps from power-up;
// a delay bound is the least and the most time between two steps. Times are in
// milliseconds.
//
// Explore finds all configurations, in the order of how few steps lead to them, so
// the run to a configuration (Space.To) is a shortest one. Its witness is what to do
// to a prop, from power-up, to see it.
//
// # Questions
//
//   - Can a state be reached, be left, and how: Reaches, First, To, Leaves.
//   - Where can the prop never leave a set of states, or go around in no time: Traps,
//     InstantLoops.
//   - How long does it take from an event to a state or to rest, at the least and at
//     the most: Delays. That the stop button leads to rest in some time is the question
//     for that button's press; Lost shows how it need not.
//   - How long does it take to rest if the prop is left alone: Alone.
//   - What do buttons pressed one after the other lead to: Press.
//
// What follows an event is one graph for all that ask. Its zones stay whole, and entering
// a state when no release is to come starts the event clock again, since what was before
// does not matter: so the most time is the longest path and the least the shortest.
//
// # What is taken for granted
//
// Two acts never meet in one millisecond; a button kept down sends its frames at its
// code's period, none is lost; an input may change at any time, its edges by turns
// (see levels); a press that has lasted longer than a tap, or than its last hold, is
// released at any time (a remote ends a press a whole number of frames later).
//
// The package refuses to know what of all this is wrong with a design, how that is
// said, and how long outputs move: it is told after what time in a state the prop
// rests (Options.Rest).
//
// # Independent witnesses
//
//   - gonum (oracle_test.go): shortest paths and components on a graph of every
//     millisecond; runs are as long as its shortest paths. delay_oracle_test.go asks the
//     same graph for the times from an event.
//   - A stopwatch (rest_test.go): every millisecond with every deadline that can be
//     drawn, for times to rest.
//   - SPIN, brute force and model/machine, through the findings of model/check.
package timed
