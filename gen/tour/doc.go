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
// The graph's vertices are state, state to go back to, deferred transition, inputs and
// what choices have led to; its arcs are what a hand can do there. Each thing is tried at the first
// place where it can be. That is the only choice that is not the best: the walk is
// the shortest through the arcs so chosen, counted in time. There is no step whose
// outcome a race of timers decides; at its end the walk says for each such
// state what may be seen, to be waited for until each has been. A step of which chance
// chooses the outcome is done again until it is the one that the walk goes on from. A wait whose time is
// drawn has its shortest and its longest time. In a performance there is time for
// one thing only. A hold that looks the same as letting go too early tests
// nothing, and is none of the steps.
package tour
