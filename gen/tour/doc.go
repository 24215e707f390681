// Package tour writes a walk for the bench: numbered steps for somebody with
// the remote in hand and the prop before them, each with what should be seen.
// The walk takes every transition that can be taken by hand, lets routines
// and timers run, and presses the buttons that are to do nothing.
//
// It knows the states that a prop can get into, and finds a short way round:
// always on to the nearest thing that was not yet tried. Performing states that
// answer everything alike are tried once and seen all.
//
// It refuses to know whether the behaviour is sound (model/check); the steps
// are what the reference machine (model/machine) does.
//
// The walk is a breadth-first search over state, back, deferred transition and
// inputs. It takes no step whose outcome chance or a race of timers decides; at its
// end it says for each such state what may be seen, to be waited for until each has
// been. A wait whose time is drawn has its shortest and its longest time. In a
// performance there is time for one thing only.
package tour
