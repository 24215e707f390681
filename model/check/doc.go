// Package check looks for what is wrong with a design: each Rule is a value
// with a name, a line of documentation, a severity and a function, in the
// manner of golang.org/x/tools/go/analysis: in its analysis.go a driver decides what
// runs and how findings look, by its validate.go one test says what each rule must have.
//
// A Study holds a design with all that is computed from it, each once: what rules
// have found, the exploration (model/timed), and what other packages make of it (the
// firmware).
//
// Rules ask model/timed what can happen and when; they say what of that is wrong,
// where, and what to do. So a finding about behaviour has a shortest witness: what
// to do to a prop, from power-up, to see it. Finding.Replay plays a witness in
// model/machine.
//
// A fault of many states is one finding: its message and its witness are about one of
// them, the first in the file, or the worst; Finding.States has all.
//
// The package refuses to know how findings are shown, how clocks are kept
// (model/timed), and how an output moves (model/motion).
//
// The rules of behaviour follow M. Jaffe, N. Leveson, M. Heimdahl, B. Melhart,
// "Software requirements analysis for real-time process-control systems", IEEE
// Transactions on Software Engineering 17(3), 1991: reachability,
// completeness, determinism, timeouts and paths back.
//
// # The rig
//
// too-fast judges a routine's cues of a servo by the plan as written: each cue in its
// own time, from where the previous one has brought the servo by then. An ease's peak
// speed and acceleration are multiples of way/time (smooth 15/8, in and
// out 2, linear 1) and of way/time² (10/√3, 2, 2, none): the derivatives of its shape.
// The jumps of speed at both ends of linear, at the end of in and at the start of
// out have no acceleration that could be named, so linear is judged by its speed
// alone. The servo's place at a routine's start is unknown, unless every state that
// plays it poses that servo. The firmware keeps every move to max_speed and max_accel,
// so moves into a routine, into a pose and to a place that a drift draws only take
// longer. A cue is therefore at fault only if it cannot be followed from any place
// where the servo can be then; a loop's first cue is judged from where the previous
// round has left the servo. A cue without `over` takes the time it needs and is never
// too fast; the next one is judged from where the servo is by then. A move that cannot
// be followed breaks nothing, but ends late, after what was meant to happen with it. So
// does a move that begins while the servo is turning away from its end, or too fast for
// it: the servo has to brake first. Where the servo's place is known, the firmware's
// generator (motion.Generator) is run to see when the move ends, and the finding says
// how late that is.
//
// late-start judges a routine's first move as too-fast does the others, from where the
// servo is if the prop comes to the routine by the shortest way, without interruption.
// It only warns: another way may find the servo nearer, and a maker may want a first
// move to take the time it needs. It is silent where the servo's place is unknown: after
// a drift, after a routine that loops, or where a state is left before its pose is reached.
//
// wind-up counts turns as areas under the speed that model/motion plays, with every
// state played to its end. A joint with wires must stop by itself, turn back in every
// round of a loop, and come back over every sequence of states: if the prop can be in
// one configuration with the joint at two angles, going around winds it up. A timer of
// the state that ends a routine before it has turned back counts like the routine's
// end. max_turns also bounds how far it gets in between; without it only endless winding
// is found. Interruption by a press does not count: a spinner has no sensor, and any
// turn there and back can be interrupted in the middle.
//
// over-current counts a servo that moves with its stall current, which it draws for a
// moment whenever it starts, and one that stands still with a fifth of it; a pixel
// with 1 mA and 20 mA for each channel that is fully on, after `brightness` and
// `max_ma`. All of that is common practice, no published source. Whatever a pose, a
// first cue or coming to rest may move counts as moving for the longest time it can
// take; drifts can coincide; a strip that a state does not name is as bright as it ever
// gets. Moves left over from the state before are not added: entering a dormant state
// moves everything anyway. The sum is computed at the starts of moves and lights, since
// it grows only there. The chip, sound boards and whatever switches turn on are left out.
//
// timer-clash has no code. Servos and spinners share timer 1, which is the firmware's
// clock too; pixels are timed by counted cycles, the remote by timer 1's count,
// messages by the UART's own divider; the core's timer 0 is left alone. No pin needs
// a timer's output, so no design can want a timer that is taken. (Code of the maker's
// own in hooks.cpp can: analogWrite on timer 1's pins is not for a sketch like this.)
//
// No rule warns that a servo on an expander stops dead while the maker's own code holds
// up the loop. The design does not say whether there is such code, so every design with
// such a servo would have the finding for ever. hooks.h, which that code includes, says
// it instead.
//
// # Requirements
//
// A [[require]] has one of four forms (model.ParseRequirement). They are checked over
// all reachable configurations, and exactly in time. If more than 131,072 configurations
// can follow an event, the finding says that the requirement cannot be checked.
//
//   - EVENT happens; then nobody does anything more. A button that is down is let go
//     after its last frame. EVENT may happen whenever it can: a press at any moment of
//     a state, `done` unless a deferred transition replaces it, `after` when that very
//     timer goes off. An event other than a press and `done` must be one that a
//     transition waits for, else the requirement is broken: the event could never have
//     an effect.
//   - `never X within T`: X is not entered from the event until T, inclusive, whatever
//     the timers draw. Staying in X is not a breach: `never dormant within 1m after rise
//     tail` does not wake a prop.
//   - `X within T`: the prop is in X after the event, or enters it until T, inclusive,
//     whatever the timers draw. If the prop can avoid X in a circle, the requirement is
//     broken. `dormant within T` asks for rest, see the next section.
//   - `from S press A, B ends in X`: in every configuration in S in which the prop can
//     stay, the buttons are tapped one after the other; in between only what takes no
//     time happens (a routine of no length, an `after` that can be 0s). Each press
//     releases the last one. So a timer that goes off in the same millisecond as a press
//     does not count; nobody who writes such a requirement means that.
//   - A word `dormant`, `ambient` or `performing` is a kind, also where a state has
//     that name (but for `reachable` and `from … ends in`, which take no kind).
//
// In the harness each requirement that can be played is a case, where it is hardest to
// keep (Cases): the slowest outcome of `… within`, the quickest of `never … within`;
// timers are set to what they must draw for that.
//
// # Stop and rest
//
// A prop is at rest in a dormant state in which it can stay: what leads out of it by
// itself comes later than its outputs need to settle. A timer may wake the prop after
// five minutes; a state that is left in the step that entered it is not rest.
//
// Outputs have settled when nothing moves, no light changes, no pulse is held, no message
// is on the line and no sound plays. A sound with a stop counts until the board has been
// told. One without a stop goes on after its routine was left, and counts to its end by
// the track's length (lingering). The exploration has no clock for it, so the sound is
// assumed to have begun as late as any way into the dormant state allows: the times of
// such a design are an upper bound, all others are exact.
//
// The stop button must have an effect: a state that would rest by itself some day but
// ignores stop breaks no-stop; so does a stop that is deferred to an end which is past
// or never comes. A press ends any other press; if the release of that changes the
// state, stop is heard in the new state. A stop that leads to idle states which end by
// themselves does lead to rest, only slowly: slow-stop reports that, as SPIN agrees.
//
// The time from an event to rest counts to the first rest or, if the release of a button
// that is still down leads out of rest, to the next one. Until the release the prop may
// go from one state of rest to another, and a timer may wake it.
//
// From the stop button (no-stop, slow-stop): stop is tapped in any configuration, at any
// time of it, and nobody does anything more; every timer draws what makes it worst. That
// is what the requirement `dormant within T after press STOP` asks for.
//
// Left alone (never-rests): from any configuration in which no button is down, whatever
// the timers draw. Letting a button go is still something that somebody does, so the time
// begins after it. Errors that other rules report are left out: traps and dead ends,
// performances without an end, instant loops.
//
// # Independent witnesses
//
//   - SPIN (spin_test.go). promela_test.go writes a design from the ten rules,
//     millisecond by millisecond, for 200 random designs with times of a few
//     milliseconds; states reached, dead ends, traps, states that stop fails in and
//     instant loops are the same, design by design. That a dormant state stays within
//     reach is not a formula of linear time, so for traps SPIN gives the steps and gonum's
//     Tarjan the components.
//   - Brute force (brute_test.go). testdata/oracle/oracle.py tries every behaviour of
//     small random designs, from the ten rules alone: verdicts, numbers and the
//     lengths of witnesses are the same, and it plays random scripts as model/machine
//     does, to the millisecond.
//   - model/machine, in which every witness is played.
//
// # Completeness criteria
//
// The criteria of Jaffe, Leveson, Heimdahl and Melhart, from memory and in the
// paper's terms as far as recalled, and what stands for each here:
//
//   - Start-up, the state after power-up is defined: the file must name one dormant
//     start state (model.Read refuses it else).
//   - Every state answers every input: unhandled-button; `ignore = true` says that
//     silence is meant.
//   - Every input that comes from outside is used: unused-button; an input that nothing
//     waits for does nothing.
//   - Every output is produced by something, every value specified is used:
//     unused-output, unused-routine, unused-track, unused-message, silent-state.
//   - Behaviour where an expected input does not come: never-rests,
//     unfinished-performance; `after` triggers.
//   - Timers can go off at all: shadowed-timer.
//   - Determinism, at most one transition for an event in a state: ambiguous-trigger;
//     rank decides all else; output-contest for outputs.
//   - Inputs can be told apart, their assumed values are checked: code-clash,
//     alias-clash, code-not-learned, toggle-press, hold-without-repeat; frames that
//     fail their protocol's check are dropped.
//   - Load, most inputs in a time: no rule needed. The queue holds 8 events, drops and
//     counts one more (rule 8); a remote sends one frame in some 100 ms.
//   - Least time between inputs of one kind: `debounce`; a press is told from a repeat
//     by the protocol.
//   - Outputs do not exceed what the environment can take: over-travel, too-fast,
//     wind-up, over-current, sound-overrun, sound-file, voice-missing, voice-cut,
//     voice-silent, voice-lags.
//   - Time from a trigger to its output is bounded: slow-stop, requirement,
//     update-blocks; a step each millisecond.
//   - Data age: does not apply. No measured value is used, only events.
//   - Feedback, responsiveness and spontaneity: do not apply. Hobby servos, lights and
//     sound boards tell nothing back.
//   - Graceful degradation, self-tests of sensors: do not apply. The watchdog restarts
//     into the dormant state.
//   - Reachability: unreachable-state, requirement (`reachable`).
//   - Recurrent behaviour, states come again and do not go around for ever in no time:
//     trap, instant-loop.
//   - Reversibility, what was started can be undone: dead-end, trap, no-stop.
//   - Preemption, what a second request does to one going on: unhandled-button in
//     performing states; `defer`, `ignore` and the stop button say it.
//   - Path robustness, no single lost input keeps the prop from a safe state: no-stop
//     from every configuration, so pressing again helps; never-rests without any input;
//     where one lost press matters elsewhere, only a [[require]] can say it.
//   - Safety constraints hold on all paths: requirement (`never … within`,
//     `… within`).
//   - Human operator, order and age of what is shown: does not apply. There is no
//     display; the operator's card is made from the design.
package check
