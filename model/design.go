package model

import (
	"time"

	"propwright/model/ir"
)

// FormatVersion is the design-file format this package reads and writes.
const FormatVersion = 1

// A Design is one prop: everything its design file says, in file order.
//
// Read makes one from a file and Format writes it back. Elements refer to
// each other by name, as the file does; a Design that Read returned without
// faults has no dangling name.
type Design struct {
	File        string // the file's name as the user gave it, for messages; not written
	Prop        Prop
	Remote      Remote
	Supply      Supply
	Inputs      []Input
	Events      []Event
	Outputs     []Output
	Tracks      []Track
	Routines    []Routine
	States      []State
	Transitions []Transition
	Requires    []Require
	Head        []string // comment lines at the top of the file, above `format`
	Tail        []string // comment lines after the last element
}

// Prop is the [prop] table.
type Prop struct {
	Source
	Name       string // slug: [a-z][a-z0-9-]{0,23}
	Label      string // free text
	Board      string // a name known to model/board
	RestWithin time.Duration
	Seed       uint32 // 0: drawn at power-up
	Live       bool   // it tells over its serial line what goes on, and takes events from there
	Note       string
}

// Remote is the [remote] table with its buttons.
type Remote struct {
	Source
	Pin     int    // the infrared receiver's output
	Stop    string // the button that must always bring the prop to rest
	Repeat  Repeat // "protocol" unless said otherwise
	Buttons []Button
	Note    string
}

// Repeat is what a remote sends while a button is down.
type Repeat string

const (
	RepeatProtocol Repeat = "protocol" // what the code's protocol has for that
	RepeatFrame    Repeat = "frame"    // the whole frame again, whatever the protocol has
)

// Sends is the code of a button as this remote sends it. The error is that of
// ir.ParseCode.
func (m *Remote) Sends(b *Button) (ir.Code, error) {
	c, err := ir.ParseCode(b.Code)
	c.Resent = err == nil && m.Repeat == RepeatFrame
	return c, err
}

// Button is one button of the remote.
type Button struct {
	Source
	Name string
	Code string // protocol:address:command, see model/ir
	// Unlearned is whether the code was made up, to begin with: `learned = false`.
	Unlearned bool
	Note      string
}

// Supply is the [supply] table: what powers the servos and lights.
type Supply struct {
	Source
	Volts float64
	MaxMA int // milliampere; 0: not said
	Note  string
}

// Pull says how an input's pin is held while nothing drives it.
type Pull string

const (
	PullUp   Pull = "up"   // the chip's own pull-up: active low
	PullNone Pull = "none" // driven from outside: active high
)

// Input is a switch or sensor on a pin.
type Input struct {
	Source
	Name     string
	Pin      int
	Pull     Pull          // "up" unless said otherwise
	Debounce time.Duration // 20 ms unless said otherwise
	Note     string
}

// Event is something that the maker's own code tells the prop.
type Event struct {
	Source
	Name string
	Note string
}

// OutputKind says what an output is: each is named in a file of its own, kind_servo.go and so on.
type OutputKind string

// Output is one thing the prop can do. Which of the fields below Kind are
// meaningful depends on Kind; the others are zero.
type Output struct {
	Source
	Name string
	Kind OutputKind
	Pin  int // of the board, where Bus is 0
	Note string

	// servo, spinner and switch
	Bus     Bus // the PWM expander that drives it in place of a pin
	Channel int // of the expander

	// servo
	Min, Max, Rest   Degrees // the linkage's safe travel, and where it rests
	UsAtMin, UsAtMax int     // pulse width in microseconds at Min and at Max
	MaxSpeed         DegPerS // what the mechanism stands
	MaxAccel         DegPerS2
	StallMA          int // servo and spinner, milliampere

	// spinner
	StopUs, FullUs int // pulse width in microseconds at rest and at full speed forward
	RevPerS        RevPerS
	WiresPass      bool    // a cable runs through the joint
	MaxTurns       float64 // revolutions either way from where it started; 0: not said

	// pixels
	Count      int
	Order      string  // the order of the colours on the wire: "grb" unless said otherwise
	MaxMA      int     // milliampere for the whole strip; 0: no limit
	Brightness Percent // 100 % unless said otherwise

	// pulse and switch
	Active Level         // the level that means active: "high" unless said otherwise
	Hold   time.Duration // pulse, and a sound board's trigger pins

	// message
	Baud     int
	Messages []Message

	// sound
	Chip    SoundChip
	Pins    []int // with trigger pins, in place of Pin: of track 1 first
	Volume  int   // with which each track begins; 0: not said
	BusyPin int   // low while the board plays; 0: not connected
}

// Level is a pin's level.
type Level string

const (
	High Level = "high"
	Low  Level = "low"
)

// Message is a named byte string that a message output can send.
type Message struct {
	Source
	Name  string
	Bytes []byte
	Note  string
}

// Track is a sound on a sound board.
type Track struct {
	Source
	Name    string
	File    string
	Length  time.Duration
	Play    Play
	Stop    Play          // see Silencer
	Latency time.Duration // from the trigger to the first sound
	// Loudness, in place of the file's: a hexadecimal digit for each LevelTime.
	Loudness string
	Note     string
}

// Silencer is what the file says silences a track that Play has started, zero
// where it says nothing; Wired adds what a sound board does. A Stop without an output is
// for the output that plays the track.
func (t *Track) Silencer() Play {
	if t.Stop.Output == "" && t.Stop.Value != "" {
		return Play{Output: t.Play.Output, Value: t.Stop.Value}
	}
	return t.Stop
}

// Play says how a track is started or stopped: on a pulse output by a pulse, on
// a message output by the named message. A switch output is set, or cleared
// where the value is "off". A sound board plays a track by its number, and is
// stopped by none.
type Play struct {
	Output string
	Value  string
	Track  int // counted from 1; 0: none
}

// Action is what a play asks of its output.
func (p Play) Action() Action { return Action{Fire: true, Send: p.Value, Set: p.Value != "off"} }

// Routine is a cue sheet.
type Routine struct {
	Source
	Name   string
	Loop   bool
	Length time.Duration // 0: ends with its last cue
	Cues   []Cue
	Note   string
}

// Cue asks one output (or one track) to do something at a time of the routine.
type Cue struct {
	Source
	At     time.Duration
	Output string // or
	Track  string
	Action
	Follow Follow
	Note   string
}

// Ease is the shape of a servo's move in time.
type Ease string

const (
	EaseLinear Ease = "linear" // constant speed
	EaseSmooth Ease = "smooth" // starts and ends at rest, with minimum jerk: 10t³-15t⁴+6t⁵
	EaseIn     Ease = "in"     // starts at rest: t²
	EaseOut    Ease = "out"    // ends at rest: 1-(1-t)²
)

// Eases lists the eases in the order the documentation gives them.
var Eases = []Ease{EaseLinear, EaseSmooth, EaseIn, EaseOut}

// Effect is what a stretch of pixels does.
type Effect string

const (
	EffectSolid   Effect = "solid"   // to colour within over, and stay
	EffectFade    Effect = "fade"    // from colour to colour2 within over, and stay
	EffectBreathe Effect = "breathe" // between colour2 and colour, once per period
	EffectChase   Effect = "chase"   // a spot of colour runs over colour2, once per period
	EffectFlicker Effect = "flicker" // each pixel at random between colour2 and colour, chosen again every period
)

// Effects lists the effects in the order the documentation gives them.
var Effects = []Effect{EffectSolid, EffectFade, EffectBreathe, EffectChase, EffectFlicker}

// Cycles reports whether an effect goes on changing, once per period.
func (e Effect) Cycles() bool { return e == EffectBreathe || e == EffectChase || e == EffectFlicker }

// Action is what a cue or a pose asks of an output. Which fields are
// meaningful depends on the output's kind.
type Action struct {
	To   Degrees       // servo
	Over time.Duration // servo, spinner, pixels: within this time
	Ease Ease          // servo: "smooth" unless said otherwise

	Speed RevPerS // spinner

	Effect  Effect // pixels: "solid" unless said otherwise
	Colour  Colour
	Colour2 Colour // black unless said otherwise
	Period  time.Duration
	First   int // first and last pixel, from 0; Last -1: the strip's end
	Last    int

	Fire bool   // pulse
	Send string // message: the message's name
	Set  bool   // switch

	Volume int  // sound: 0: not said
	Stop   bool // sound

	// Of an Order only.
	By     Degrees // servo: further from where it was sent last, in place of To
	Toggle bool    // pixels, switch: off where it is on
	Louder int     // sound: by so many steps; softer where it is less than 0
}

// StateKind says what a state is for.
type StateKind string

const (
	Dormant    StateKind = "dormant"
	Ambient    StateKind = "ambient"
	Performing StateKind = "performing"
)

// StateKinds lists the kinds in the order the documentation gives them.
var StateKinds = []StateKind{Dormant, Ambient, Performing}

// State is one state of the prop.
type State struct {
	Source
	Name  string
	Kind  StateKind
	Label string
	Start bool   // the state that power-up enters
	Plays string // a routine's name, or ""
	Drift []Drift
	Pose  []Pose
	Over  time.Duration // within this time the pose is reached
	Note  string
}

// Drift moves one output now and then to a random place: a state's idle life.
// For a servo Between holds degrees, for a spinner revolutions per second.
type Drift struct {
	Source
	Output  string
	Between [2]float64
	Every   Span
	Over    Span
}

// Pose gives one output its value in a state.
type Pose struct {
	Source
	Output string
	Action
	// Table is whether the file gives the value as an inline table; else it
	// is a bare value.
	Table bool
}

// Any as a From.State matches every state, or every state of From.Kind.
const Any = "any"

// Back as a Transition.To is the state that was current when the performance began.
const Back = "back"

// From is one source of a transition: a state's name, or Any with or
// without a kind.
type From struct {
	Source
	State string
	Kind  StateKind // with Any only; "": all kinds
}

// TriggerKind says what kind of event a trigger waits for.
type TriggerKind uint8

const (
	Press    TriggerKind = iota + 1 // the first frame of a button
	Hold                            // a press that has lasted Trigger.For
	Release                         // so long after the last frame that no repeat comes any more
	After                           // a time in the state
	Done                            // the routine has played to its end
	Rise                            // an input becomes active
	Fall                            // an input becomes inactive
	Posted                          // the maker's code posts an event
	Repeated                        // each frame that repeats a button's first one
)

// Trigger is what a transition waits for.
type Trigger struct {
	Source
	Kind  TriggerKind
	Name  string        // the button's or the input's; "" for After and Done
	For   time.Duration // Hold
	After Span          // After
}

// Transition leads from states, on triggers, to a state; or else it asks something of
// outputs and the state goes on, or nothing happens.
type Transition struct {
	Source
	From   []From
	On     []Trigger
	To     string  // a state, Back, or a Choice in words; "" with Do and Ignore
	Do     []Order // in place of To
	Ignore bool    // silence is meant
	Defer  bool    // taken when the routine ends
	Note   string
}

// Require is what the maker wants kept as the prop grows.
type Require struct {
	Source
	That string
	Note string
}
