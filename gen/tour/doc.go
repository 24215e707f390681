// Package tour writes a walk for the bench: numbered steps for somebody with
// the remote in hand and the prop before them, each with what should be seen.
// The walk takes every transition that can be taken by hand, lets routines
// and timers run, and presses the buttons that are to do nothing.
//
// It knows the states that a prop can get into, and finds a shortest closed walk
// that tries all (postman.go): back at its start, the prop is at rest. Performing
// states that answer everything alike are tried once and seen all; the stop button
// is pressed in every state. Given an older version of the design it tries only
// what differs.
//
// It refuses to know whether the behaviour is sound (model/check); the steps
// are what the reference machine (model/machine) does.
//
// A vertex of the graph is a state with the state to go back to, the deferred transition,
// the inputs and what choices have led to. An arc is what a hand can do there. Each thing
// is tried at the first place where it can be. That is the only choice that is not
// optimal: the walk is the shortest through the arcs so chosen, counted in time.
//
// No step has an outcome that a race of timers decides. The walk ends with what may be
// seen in each such state, to be waited for until all of it has been. A step whose outcome
// is chosen at random is repeated until the outcome is the one that the walk goes on from.
// A wait whose time is drawn has its shortest and its longest time. In a performance there
// is time for one thing only. A hold that looks the same as letting go too early tests
// nothing and is left out.
package tour
