package check

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/timed"
)

// Severity says what a finding means for a build.
type Severity uint8

const (
	Error   Severity = iota + 1 // stops a build
	Warning                     // the prop works, but probably not as intended
	Note                        // worth a look
)

var severities = [...]string{Error: "error", Warning: "warning", Note: "note"}

func (s Severity) String() string {
	if int(s) < len(severities) && s > 0 {
		return severities[s]
	}
	return fmt.Sprintf("Severity(%d)", uint8(s))
}

// MarshalText writes s as String does.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// A Finding is a fault that a rule found.
type Finding struct {
	Rule     string
	Severity Severity
	Pos      model.Pos
	State    string // the state that it is about, or ""

	// States lists, in file order, all states that the finding is about, State
	// among them, if they are more than the message names.
	States []string

	Message string // what is wrong
	Advice  string // what to do
	Fix     Fix    // set if writing one value is enough

	// Witness says what to do from power-up to see the fault. No other run takes
	// fewer steps to enter State or, where the rule is about more than a state, to
	// the point at which
	//   - nothing leads out of the trap, or the prop is in a circle;
	//   - stop is pressed where it fails or, for slow-stop, where it takes longest;
	//   - the requirement's event, or the first of its presses, occurs;
	//   - a state is left whose track sounds on.
	// What follows that point is the worst outcome. Each step occurs as early as
	// possible, but a run with more steps may take less time. There is
	// no witness if State can only be passed through.
	//
	// Draws are the numbers to draw for deadlines, see machine.NewDrawing; after
	// them each draw is the greatest of its range. Chosen are the states that
	// chance chooses, in order.
	Witness []machine.Act
	Draws   []uint32
	Chosen  []string
	Claim   Claim

	said string // the message before other states are added
}

// A Fix is a value to write for a key; the zero Fix is no fix.
type Fix struct {
	Key   string `json:"key"`
	Value string `json:"value"` // as a person types it, without quotes

	// Line and Column are the place of the value in the finding's file, or of the
	// element if the file does not state the key.
	Line   int `json:"line,omitempty"`
	Column int `json:"column,omitempty"`
}

// fix returns the fix that writes a value into an element.
func fix(s *model.Source, key, value string) Fix {
	pos := s.At(key)
	return Fix{key, value, pos.Line, pos.Column}
}

// A Claim says what can be seen once a witness has been played. A finding without a
// witness has the zero Claim.
type Claim struct {
	// State is the state of the prop at the end, or one that is entered and left
	// in the last millisecond.
	State string `json:"state,omitempty"`

	// Still means that nothing more happens by itself, and that the prop has not
	// been at rest since the last press.
	Still bool `json:"still,omitempty"`

	// Lap, if not 0, is the number of acts at the end that form a circle: the prop
	// was in State before them too, and has not been at rest since the last press.
	Lap int `json:"lap,omitempty"`

	// Alone means that no press is needed: with Still the state is not one of rest,
	// with Lap the prop is not at rest in the circle. What came before does not count.
	Alone bool `json:"alone,omitempty"`

	// Took, if not 0, is the time from the last press until the prop is at rest
	// in State. A rest that the release of that press ended does not count.
	Took time.Duration `json:"took,omitempty"`

	// Sounds, if not empty, is a track that sounds on after the end, though the
	// routine that plays it has been left.
	Sounds string `json:"sounds,omitempty"`

	// Breaks, if not empty, is the requirement that the witness breaks. Event is
	// the time of its event, or of the first of its presses, in milliseconds since
	// power-up.
	Breaks string `json:"breaks,omitempty"`
	Event  uint32 `json:"event_ms,omitempty"`
}

// MarshalJSON writes a finding as one flat object. Its acts are texts that
// machine.ParseAct reads.
func (f Finding) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Rule     string        `json:"rule"`
		Severity Severity      `json:"severity"`
		File     string        `json:"file"`
		Line     int           `json:"line,omitempty"`
		Column   int           `json:"column,omitempty"`
		State    string        `json:"state,omitempty"`
		States   []string      `json:"states,omitempty"`
		Message  string        `json:"message"`
		Advice   string        `json:"advice"`
		Fix      Fix           `json:"fix,omitzero"`
		Witness  []machine.Act `json:"witness,omitempty"`
		Draws    []uint32      `json:"draws,omitempty"`
		Chosen   []string      `json:"chosen,omitempty"`
		Claim    Claim         `json:"claim,omitzero"`
	}{f.Rule, f.Severity, f.Pos.File, f.Pos.Line, f.Pos.Column, f.State, f.States, f.Message, f.Advice, f.Fix, f.Witness, f.Draws, f.Chosen, f.Claim})
}

// shows sets the witness and claim of a finding, if the run has a witness.
func (f *Finding) shows(r timed.Run, c Claim) {
	if w, ok := r.Witness(); ok {
		f.Claim = c
		f.Claim.Lap = w.Lap
		f.plays(r, w)
	}
}

// plays sets the witness of a finding.
func (f *Finding) plays(r timed.Run, w timed.Witness) {
	f.Witness, f.Draws, f.Chosen = w.Acts, w.Draws, nil
	for _, s := range w.Chosen {
		f.Chosen = append(f.Chosen, r.Name(s))
	}
}

// Seen says how to see the fault; it is "" without a witness.
func (f *Finding) Seen() string {
	text := machine.Tell(f.Witness)
	if len(f.Chosen) > 0 {
		text += "; chance chooses " + strings.Join(f.Chosen, ", then ")
	}
	return text
}

// reach makes a run to State the witness.
func (f *Finding) reach(r timed.Run) { f.shows(r, Claim{State: f.State}) }

// Findings are what the rules found, in file order.
type Findings []Finding

// Count returns the number of findings of a severity.
func (fs Findings) Count(s Severity) (n int) {
	for i := range fs {
		if fs[i].Severity == s {
			n++
		}
	}
	return n
}
