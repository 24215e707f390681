// Package motion is what a prop's outputs do in time: every servo as the firmware
// moves it and every strip of pixels as it is sent, frame by frame, and the ideal
// course of every spinner, pulse, message and switch, from the poses, cue sheets and
// drifts of the states that a prop goes through. Tests hold the firmware against it, and
// it is what a screen without a prop can show.
//
// It knows the shapes of moves and light effects, how a servo keeps the limits of
// its mechanism (Generator), when what a state asks for has come to rest
// (Rest), and where chance leaves room: what is drawn at random
// is given as a Range, from the least to the most it can be.
//
// It refuses to know what triggers a state (model/machine), whether a move is
// wise (model/check) and how a chip makes pulses (gen/sketch).
//
// # Servos
//
// A pulse is as wide as the straight line from (Min, UsAtMin) to (Max,
// UsAtMax) says. A target outside Min..Max is moved to the nearer end. A move
// starts at its cue's time from where the servo is at that moment, p0, and is
// planned to be at p0 + (p1-p0)·E(τ/T) after τ, T being the Over asked for.
//
// The plan is not what is sent. A generator follows it, one step a frame: it goes
// on by a speed that is within MaxSpeed, that differs from the frame's before by
// what MaxAccel allows, and from which the servo can still stop at the move's end.
// So no limit is passed, whatever was interrupted, reversed or held up, and a
// plan that the mechanism cannot follow comes in late. A move without Over, or
// whose time is up, goes to its end in the shortest time that the limits allow:
// 2√(d/a), or d/v + v/a where it comes to its highest speed. The rule is that of
// nonlinear filters for smooth trajectories (R. Zanasi, C. Guarino Lo Bianco, A.
// Tonielli, "Nonlinear filters for the generation of smooth trajectories",
// Automatica 36(3), 2000), of second order and in whole frames; it is worked out
// anew from where the servo is in every frame, as T. Kröger and F. Wahl do ("Online
// Trajectory Generation", IEEE Transactions on Robotics 26(1), 2010).
//
// A cue that follows a track sends the servo somewhere else in every frame of 20 ms,
// between its place in silence and that at the loudest (Voice), each time as quickly
// as the limits let it. The next move ends that, and so does the next state.
//
// Where something holds up the firmware's loop, an interrupt has the servos on pins go
// on with the moves that have begun, a step a frame; cues come late, and nothing is
// caught up. A servo on an expander stands still meanwhile, at once: the loop sends
// its pulses. So it does on a portable board.
//
// What cannot be known: a hobby servo does not tell where it is. At power-up the
// first pulse sends it to its rest from wherever it was, as fast as it goes by
// itself. After a reset that has left the supply on (the watchdog's), the
// firmware knows where it sent each servo last, and takes it from there to its
// rest at SlowSpeed at the most. Nothing shows whether a linkage has
// followed: a hand, or what it met, may hold it.
//
// # Spinners
//
// The speed, kept within ±RevPerS, goes along a straight line from what it is
// to what is asked for within Over. The pulse is as wide as the straight line
// through (0, StopUs) and (RevPerS, FullUs) says.
//
// # Pixels
//
// Each pose or cue puts a layer over the stretch First..Last; the layer put
// last is on top, and a pixel without a layer is dark. A layer comes up within
// Over from the colour that its first pixel showed when it was put: it shows
// from + (effect-from)·min(1, τ/Over), τ being the frames that have begun since. With
// φ = τ/Period and its whole part left out, and a level of 0 meaning Colour2 and 1
// Colour:
//
//   - solid has level 1;
//   - breathe has level 3t²-2t³ with t = 2φ, and 2-2φ from the half on;
//   - chase runs a head from the first pixel on to φ·n of n pixels, round and
//     round; a pixel that lies d behind it has level 1-d/4, or 0;
//   - flicker gives every pixel a level of 0..1 at random, chosen again each Period;
//   - what follows a track has the level of its loudness, updated each frame;
//   - fade goes straight from Colour to Colour2 within Over and stays: it
//     comes up at once.
//
// Nothing changes between two frames: of a breath of one frame only its beginning shows.
// Colours are scaled for brightness and current first (see Scaled) and mixed then; the
// firmware rounds what it mixes.
//
// # The rest
//
// A pulse is active from its cue's time for Hold, a message is sent and a
// switch is set at its cue's time. A track's cue plays its track Latency
// before its time, or at the routine's start where that would be before it. A
// track that can be stopped is, when a state is left before its Latency and Length
// have gone by, rounded up to a tenth of a second.
//
// Times of moves, ramps, layers and periods count in whole frames of 20 ms,
// rounded up: the firmware changes nothing more often (see Frame).
//
// # States and outputs
//
// An output that a new state does not name keeps its value, with two exceptions:
// a spinner that neither pose, routine nor drift names is stopped, and a dormant
// state sends every output that its pose does not name to rest within `over`:
// servos to `rest`, spinners to a stop, pixels to black, switches off. A strip of
// which it names some pixels goes to black first: what its other pixels showed
// could be an effect that goes on and on.
//
// A track's length does not lengthen its routine.
package motion
