package compare

import (
	"fmt"
	"slices"
	"strings"

	"propwright/model"
	"propwright/model/check"
)

// A Comparison is what differs between two designs.
type Comparison struct {
	Old, New *check.Study // Old with the names that New has
	Changes  []Change

	effects map[effectKey]bool // cells that differ
}

// An Area says what a change is about.
type Area string

// The areas, in the order of changes.
const (
	AreaBehaviour   Area = "behaviour"   // what an event does in a state
	AreaTiming      Area = "timing"      // after how long it does it
	AreaState       Area = "state"       // what a state is and how it looks
	AreaRoutine     Area = "routine"     // cues and lengths
	AreaTrack       Area = "track"       // sounds
	AreaRemote      Area = "remote"      // buttons, codes, the stop button
	AreaInput       Area = "input"       // switches and sensors
	AreaOutput      Area = "output"      // pins and limits
	AreaProp        Area = "prop"        // board, supply, time to rest
	AreaRequirement Area = "requirement" // what is to be kept
	AreaWords       Area = "words"       // labels and notes: nothing that the prop does
)

// Areas lists the areas in order.
var Areas = []Area{
	AreaBehaviour, AreaTiming, AreaState, AreaRoutine, AreaTrack, AreaRemote, AreaInput, AreaOutput, AreaProp,
	AreaRequirement, AreaWords,
}

func (a Area) order() int { return slices.Index(Areas, a) }

// A Kind says how something differs.
type Kind string

const (
	New     Kind = "new"     // is only in the new design; of behaviour: did nothing before
	Gone    Kind = "gone"    // was only in the old design; of behaviour: does nothing now
	Changed Kind = "changed" // differs
	Renamed Kind = "renamed" // has another name
)

// A Change is one thing that differs.
type Change struct {
	Area Area   `json:"area"`
	Kind Kind   `json:"kind"`
	Name string `json:"name"`           // "press one", "state watch", "max_speed of output neck"
	In   string `json:"in,omitempty"`   // of behaviour and timing: where
	Was  string `json:"was,omitempty"`  // with Gone, Changed and Renamed
	Is   string `json:"is,omitempty"`   // with New, Changed and Renamed
	More string `json:"more,omitempty"` // what else there is to say of a new state

	States []string `json:"states,omitempty"` // of behaviour and timing: all states of In
}

// String says it on one line.
func (c Change) String() string {
	s := c.Name
	if c.In != "" {
		s += " in " + c.In
	}
	switch c.Kind {
	case New:
		s += ": " + c.Is
		if c.Area == AreaBehaviour {
			s += " (nothing before)"
		}
	case Gone:
		if c.Area == AreaBehaviour {
			s += ": nothing now (" + c.Was + " before)"
		} else if c.Was != "" {
			s += ": " + c.Was
		}
	case Changed:
		s += fmt.Sprintf(": %s (%s before)", orNothing(c.Is), orNothing(c.Was))
	case Renamed:
		s += fmt.Sprintf(": is called %s now", c.Is)
	}
	if c.More != "" {
		s += "; " + c.More
	}
	return oneLine(s)
}

// oneLine writes a newline of a note as \n.
func oneLine(s string) string { return strings.ReplaceAll(s, "\n", `\n`) }

func orNothing(s string) string {
	if s == "" {
		return "not said"
	}
	return s
}

// Same reports whether the prop does the same in both designs. Words for
// people may differ.
func (c *Comparison) Same() bool {
	return !slices.ContainsFunc(c.Changes, func(x Change) bool { return x.Area != AreaWords })
}

// Differs reports whether a trigger does something else in a state of both
// designs.
func (c *Comparison) Differs(state string, on model.Trigger) bool {
	return c.effects[effectKey{state, on.String()}]
}

// Compare compares two designs.
func Compare(old, now *model.Design) *Comparison {
	renamed, changes := rename(old, now)
	c := &Comparison{Old: check.NewStudy(renamed), New: check.NewStudy(now), Changes: changes, effects: map[effectKey]bool{}}
	c.behaviour(c.Old.Program, c.New.Program)
	c.elements()
	slices.SortStableFunc(c.Changes, func(a, b Change) int { return a.Area.order() - b.Area.order() })
	return c
}

func (c *Comparison) add(x Change) { c.Changes = append(c.Changes, x) }

// list joins names in a sentence.
func list(names []string) string { return strings.Join(names, ", ") }
