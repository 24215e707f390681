package sketch

import (
	"bytes"
	"strings"
	"sync"
	"text/template"

	"propwright/gen"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/check"
	"propwright/model/machine"
	"propwright/templates"
)

var texts = sync.OnceValue(func() *template.Template {
	t := template.New("")
	t.Funcs(template.FuncMap{"parts": func(place string, f *firmware) (string, error) { return parts(t, place, f) }})
	return template.Must(t.ParseFS(templates.Sketch, "sketch/*.tmpl"))
})

// parts returns what the players add to the C at a place: their templates "NAME PLACE".
func parts(t *template.Template, place string, f *firmware) (string, error) {
	var b strings.Builder
	for _, name := range players {
		if part := t.Lookup(name + " " + place); part != nil {
			if err := part.Execute(&b, f); err != nil {
				return "", err
			}
		}
	}
	return b.String(), nil
}

// Files returns the sketch of a design that has no faults. The error, a
// model.Faults, says what the firmware's counters cannot hold.
func Files(s *check.Study) ([]gen.File, error) {
	f, err := firmwareOf.Of(s)
	if err != nil {
		return nil, err
	}
	var files []gen.File
	for _, name := range []string{
		"machine.h", "machine.c", "tables.h", "tables.c", "ir.h", "ir.c",
		"player.h", "player.c", "board.h", "board.cpp", "hooks.h", "hooks.cpp", "live.h", "live.c",
	} {
		if f.Live == 0 && strings.HasPrefix(name, "live.") {
			continue
		}
		text := name
		if name == "board.cpp" && f.Portable {
			text = "portable.cpp"
		}
		files = append(files, gen.File{Path: name, Text: fill(text, f), Yours: name == "hooks.cpp", Gate: name == "tables.h"})
	}
	return append(files, gen.File{Path: Folder(s.Design) + ".ino", Text: fill("sketch.ino", f)}), nil
}

// Folder returns the name of a design's sketch and of its folder: the prop's
// name with _ for -.
func Folder(d *model.Design) string { return strings.ReplaceAll(d.Prop.Name, "-", "_") }

func fill(name string, f *firmware) []byte {
	var b bytes.Buffer
	if err := texts().ExecuteTemplate(&b, name+".tmpl", f); err != nil {
		panic(err) // a template names a field that firmware does not have
	}
	return b.Bytes()
}

// A firmware is all that the templates need. Numbers are as
// in tables.h: times of the machine in milliseconds, times of moves and
// lights in frames of 20 ms, pulse widths in half microseconds.
type firmware struct {
	Label    string
	Notes    []string
	Board    string
	Portable bool // the board is a portable one
	Seed     uint32
	Wiring   []string
	UART     int // the number of the hardware UART
	Noise    board.Noise

	States    []state
	Start     string
	Events    []event
	Example   string // of an event
	Rows      []row
	RuleCount int
	Timers    []timer
	MaxTimers int

	Choices      []choice
	ChoiceStates int  // in all of them
	AtRandom     bool // one is not in turn
	Turns        int  // those that are

	IR         receiver
	ReleaseMS  int64
	Buttons    []button
	Presses    []pressEvent
	HasHolds   bool
	HasRepeats bool
	Inputs     []input

	Expanders []expander
	Channels  []*channel // those of servos first

	Cues      []cue
	Orders    []int // the first cue of those of each transition that has some
	OrdersEnd int   // the cue behind all of them
	Loops     bool  // a routine
	Drifts    []drift
	MaxDrifts int
	rig

	Follows     []follow
	Followers   int    // outputs that ever follow
	Loudness    []byte // of all tracks that are followed
	VoiceServos bool   // a servo follows
	VoiceLights bool

	Stops   int // ways in which sounds are stopped
	StopCue int // the cue of the first of them

	Live uint16 // LiveMark, where the prop tells what goes on; else 0

	Setup []string
	decoders
}

type builder struct {
	*firmware
	d      *model.Design
	p      *machine.Program
	board  *board.Board
	faults model.Faults

	numberOf  map[string]int // by output name, counted by kind of table
	messageOf map[string]int // by message name
	routineAt map[string]int
	ordersOf  map[int]int // by transition
	layerOf   map[layer]int
	lightOf   map[light]int

	loudnessOf map[string]int // by track
	followerOf map[string]int // by output, as a follow has it
}

// firmwareOf is a design's firmware. The error is a model.Faults.
var firmwareOf = check.NewPart(newFirmware)

func newFirmware(s *check.Study) (*firmware, error) {
	d := s.Design
	b := &builder{
		firmware: &firmware{}, d: d, p: s.Program,
		numberOf: map[string]int{}, messageOf: map[string]int{}, routineAt: map[string]int{},
		ordersOf: map[int]int{}, layerOf: map[layer]int{}, lightOf: map[light]int{}, loudnessOf: map[string]int{}, followerOf: map[string]int{},
	}
	var ok bool
	if b.board, ok = board.ByName(d.Prop.Board); !ok {
		b.fault(d.Prop.At("board"), "choose one of "+strings.Join(board.Names(), ", "), "no board %q", d.Prop.Board)
		return nil, b.faults
	}
	b.prop()
	b.matrix()
	b.remote()
	b.inputs()
	b.rig()
	b.live()
	if b.faults != nil {
		return nil, b.faults // an output without its pin has no place that the score could name
	}
	b.score()
	b.Outbox = Outbox(d)
	b.limits()
	if b.faults != nil {
		return nil, b.faults
	}
	return b.firmware, nil
}
