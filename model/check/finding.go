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
	Warning                     // the prop works, but hardly as it was meant
	Note                        // worth a look
)

var severities = [...]string{Error: "error", Warning: "warning", Note: "note"}

func (s Severity) String() string {
	if int(s) < len(severities) && s > 0 {
		return severities[s]
	}
	return fmt.Sprintf("Severity(%d)", uint8(s))
}

// MarshalText is String.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// A Finding is one thing that a rule found.
type Finding struct {
	Rule     string
	Severity Severity
	Pos      model.Pos
	State    string // the state that it is about, or ""

	// States are all states that it is about, in file order and State among
	// them, where these are more than the message names.
	States []string

	Message string // what is wrong
	Advice  string // what to do
	Fix     Fix    // where writing one value does it

	// Witness is what to do from power-up to see it. No other way has fewer steps
	// until the prop is in State at the end of one; or, as the rule speaks of more than
	// a state, until
	//   - nothing leads out of a trap any more, or the prop is in a circle;
	//   - stop is pressed where it fails or, of slow-stop, where it takes longest;
	//   - the requirement's event comes, or the first of its presses;
	//   - a state is left whose track sounds on.
	// What follows is the worst that comes of that. The steps of the way come as
	// early as they can; another way of as many steps may be over earlier. There is
	// no witness where steps only lead by State.
	//
	// Draws are the numbers to draw for deadlines on the way, see
	// machine.NewDrawing; every further one is the greatest of its range. Chosen are
	// the states that chance chooses on the way, in order.
	Witness []machine.Act
	Draws   []uint32
	Chosen  []string
	Claim   Claim

	said string // the message about State alone
}

// A Fix is a value to be written for a key; the zero Fix is none.
type Fix struct {
	Key   string `json:"key"`
	Value string `json:"value"` // as a person types it, without quotes

	// Line and Column are the place of the value in the finding's file, or of the
	// element where the file does not state the key.
	Line   int `json:"line,omitempty"`
	Column int `json:"column,omitempty"`
}

// fix is the fix that writes a value into an element.
func fix(s *model.Source, key, value string) Fix {
	pos := s.At(key)
	return Fix{key, value, pos.Line, pos.Column}
}

// A Claim says what is to be seen when a witness has been played; the zero
// Claim of a finding without a witness says nothing.
type Claim struct {
	// State is the state that the prop is in at the end. A state that takes no
	// time is entered in the last millisecond.
	State string `json:"state,omitempty"`

	// Still: from the end on, nothing happens by itself any more, and since
	// the last press the prop was not at rest.
	Still bool `json:"still,omitempty"`

	// Lap, if not 0, is the number of acts at the end that lead in a circle:
	// the prop was in State before them too, and since the last press it was
	// not at rest.
	Lap int `json:"lap,omitempty"`

	// Alone: no press is needed. With Still the state is not one of rest, with
	// Lap the prop is not at rest in the circle; what was before does not count.
	Alone bool `json:"alone,omitempty"`

	// Took, if not 0, is the time from the last press until the prop is at rest
	// in State. A rest that the press's own release ended does not count.
	Took time.Duration `json:"took,omitempty"`

	// Sounds, if not empty, is a track that goes on to sound after the end, though
	// the routine that plays it has been left.
	Sounds string `json:"sounds,omitempty"`

	// Breaks, if not empty, is the requirement that what is played breaks. Event
	// is when its event happens, or the first of its presses, in milliseconds
	// since power-up.
	Breaks string `json:"breaks,omitempty"`
	Event  uint32 `json:"event_ms,omitempty"`
}

// MarshalJSON writes a finding flat, with its acts as text, each by itself as
// machine.ParseAct reads it, and all its states.
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

// shows gives the finding the witness of a run and a claim about it. It leaves it
// without them where the run has no witness.
func (f *Finding) shows(r timed.Run, c Claim) {
	if w, ok := r.Witness(); ok {
		f.Claim = c
		f.Claim.Lap = w.Lap
		f.plays(r, w)
	}
}

// plays gives the finding what a run's witness does.
func (f *Finding) plays(r timed.Run, w timed.Witness) {
	f.Witness, f.Draws, f.Chosen = w.Acts, w.Draws, nil
	for _, s := range w.Chosen {
		f.Chosen = append(f.Chosen, r.Name(s))
	}
}

// Seen says how to see what the finding says; "" where it has no witness.
func (f *Finding) Seen() string {
	text := machine.Tell(f.Witness)
	if len(f.Chosen) > 0 {
		text += "; chance chooses " + strings.Join(f.Chosen, ", then ")
	}
	return text
}

// reach gives the finding a run to its State as a witness.
func (f *Finding) reach(r timed.Run) { f.shows(r, Claim{State: f.State}) }

// Findings are what the rules found, in file order.
type Findings []Finding

// Count is the number of findings of a severity.
func (fs Findings) Count(s Severity) (n int) {
	for i := range fs {
		if fs[i].Severity == s {
			n++
		}
	}
	return n
}
