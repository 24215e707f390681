// Package machine is the reference machine: what a design does, in virtual
// time counted in whole milliseconds. The generated C and the chip agree with
// it on every sequence of events.
//
// A design is first compiled to a Program, in which names have become indices
// and precedence is resolved; a Machine runs a Program, and a Keypad turns a
// remote's frames into the Machine's events.
//
// The package knows the ten rules below. It refuses to know how an output
// moves (model/motion), whether the behaviour is sound (model/check) and what
// a frame looks like on the air (model/ir).
//
// # The ten rules
//
// Comments all over the project cite these rules by number.
//
//  1. States are flat. Power-up enters the start state: the dormant state
//     marked `start = true`, or the only dormant one. Back starts as that state.
//  2. An event goes to the current state. The candidates are the transitions
//     whose `from` and `on` match; a state's name beats `any KIND`, which beats
//     `any`. Two candidates of one rank make the design ambiguous.
//  3. Without a candidate, or where the candidate says ignore, nothing happens.
//  4. A deferred transition (out of a performing state only) is remembered, the
//     latest one wins, and it is taken when the routine ends, in place of done.
//  5. Any other transition is taken at once. One with `do` in place of `to` has
//     its orders carried out, and the state goes on, see Orders. Else leaving a
//     state that does not perform makes that state back; the memory of a deferred
//     transition is cleared; the target is entered, also where it is the current
//     state; of several targets one is chosen, see Choices. Only a performing
//     state can lead back.
//  6. Entering a state starts its routine or its drift, moves its outputs to
//     its pose, and draws the deadline of each `after`, uniform over its range
//     in whole milliseconds.
//  7. Done happens once, when a routine that does not loop has played to its
//     end.
//  8. One step handles the queued events in order of arrival, then done, then
//     the earliest `after` that is due, the first in file order on a tie. Each
//     event runs to completion. The queue holds 8 events; one more is dropped
//     and counted.
//  9. A press happens at the first frame of a button, also where a hold of the
//     button is waiting. Repeat frames lengthen it, and each is a repeat. A hold
//     fires once, when the press has lasted that long; a release comes 3.5 repeat
//     periods after the last frame, so that two lost repeats end no press, or
//     sooner where a repeat looks like a new press.
//  10. Random numbers come from xorshift32 with the shifts 13, 17 and 5
//     (G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8(14),
//     2003).
//
// # Where the rules leave room
//
// The machine makes one step for each elapsed millisecond and catches up after
// a long pass of the firmware's loop, so a deadline does not depend on how busy
// the loop was.
//
// Deadlines are drawn from the machine's random sequence, drift and flicker
// from the player's, so motion cannot change behaviour. The player's seed is
// the machine's xor 0x9E3779B9 (1 where that is 0). A draw from lo..hi is
// lo + next() % (hi-lo+1); where lo = hi nothing is drawn.
//
// A timer is spent when it fires, also when its transition is deferred. One
// step fires at most one timer; another that is due fires a millisecond later.
// An ignored `after` is not armed. Two `after` triggers with the same range are
// the same event. The clock of a state stops after 49 days, the range of 32
// bits of milliseconds, so that a spent timer is never due again.
//
// # Choices
//
// A transition with a choice of targets settles its target when it is taken,
// not when it is deferred: after the state is left, so that back is known, and
// before the deadlines of rule 6 are drawn. Back is not in a list.
//
//   - `to = { any_of = [A, B, …] }` leads to one of at least two different
//     states, each as likely as the others, but not to the one that an any_of
//     led to last. The machine remembers one such state for the whole design,
//     none at power-up; entering it in another way changes nothing. With n
//     candidates, in the list's order, the draw is from 0..n-1 (rule 10), and
//     nothing is drawn where n is 1.
//   - `to = { in_turn = [A, B, …] }` leads to the first of at least two
//     different states, to the next one each further time it is taken, and after
//     the last to the first again. The machine remembers one position for each
//     transition, whichever of its `from` and `on` it was taken for. A state may
//     be in the list more than once. Nothing is drawn.
//
// Both memories decide what can come next, so they are part of a configuration.
// Left out, the check would find runs that no machine can make, and a finding
// must have a witness that plays. Of any_of they take one of m+1 values, m the
// number of states in all lists together, and not the product over the lists:
// that is why there is one memory and not one for each transition. Every
// requirement, the stop button and rest hold for every outcome.
//
// # Orders
//
// A transition with `do` is an internal one (OMG, "Unified Modeling Language" 2.5.1,
// 2017, section 14.2.3.8): no state is left or entered, so rule 6 does nothing, the
// routine, the drift, the timers and the clock of the state go on, back and what is
// deferred stay. It is a candidate like any other (rule 2), on any trigger: on done
// it is carried out as the routine ends; a timer that fires is spent. It cannot be
// deferred. Its orders are carried out in the order of their list, in the same step.
//
// The newest order, cue, pose or idle move of an output counts: a routine or a drift
// that moves the output too does so again with its next cue or move, and entering a
// state applies its pose as ever. What a state does not name keeps what an order has
// made of it (model/motion). By how much an order moves a servo counts from where the
// servo was sent last, not from where it is, so that each of several is as large
// as the others; the servo stays within its travel and its limits. A toggle looks at
// what is so now: whether the switch is on; or whether there is a newest light over the
// first of the pixels named and its colour, of a fade the colour2, is not black.
//
// `repeat B` comes with each frame that lengthens a press of B, after the holds that
// the frame makes fire. Only orders may wait for it, so that how many frames come
// cannot change the state.
//
// # Routines, presses, inputs
//
// A state that plays a routine which does not loop gets done, whatever its
// kind.
//
// A press is lengthened by frames, not by time: `hold B for T` fires at the
// first repeat frame that comes T or more after the first frame. A press of
// another button, or a new first frame of the same one, ends the old press at
// once: first the release, then the press. A release comes whole periods after
// the step that took the last frame, in the firmware as here. A press is known
// at its frame's end, and an NEC repeat is shorter than a frame, so the first
// repeat comes 52 ms after the press and the others 108 ms apart.
//
// A remote at the edge of its range loses frames. A hold whose frame is lost fires
// at the next one. What bridges lost repeats delays the release by as much: an NEC
// button is released 378 ms after its last frame. Where a remote sends the same
// frame again, without a toggle bit, a second press that comes so soon would be
// taken for a repeat; there only as many lost repeats are bridged as leave 162 ms
// for it: two of SIRC's (157 ms in all), none of Samsung's, Kaseikyo's and most raw
// ones (one and a half periods). A button whose code the remote sends once a press
// cannot be held: it is released after 162 ms, however long it is down.
//
// `rise` is an input becoming active, `fall` inactive: with `pull = "up"` a low
// level is active, with `pull = "none"` a high one. What an input is at
// power-up is neither.
package machine
