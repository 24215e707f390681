package scxml

import (
	"fmt"
	"strings"
	"time"

	"propwright/model"
	"propwright/model/machine"
)

// Namespaces.
const (
	namespace = "http://www.w3.org/2005/07/scxml"
	ours      = "urn:propwright:design" // of attributes that only this package reads
)

// The ids of the states that hold the design's. No design's state has a
// capital letter in its name.
const (
	anyID     = "Any"
	idleID    = "NotPerforming"
	backID    = "Back"
	deferName = "waiting" // the datum that keeps a deferred transition's target

	chosenName   = "Chosen"  // the datum that keeps the state that was chosen at random last
	choicePrefix = "Choice." // of what stands for a choice's target while it is deferred
)

// turnName is the datum that keeps which state a transition leads to next in turn.
func turnName(transition int) string { return fmt.Sprintf("Turn%d", transition) }

var kindIDs = map[model.StateKind]string{
	model.Dormant: "Dormant", model.Ambient: "Ambient", model.Performing: "Performing",
}

// doneEvent is the event of a routine's end. Names that begin with "done."
// are the interpreter's own.
const doneEvent = "routine.end"

// eventName is a trigger's event: "press.wake", "hold.wake.800",
// "after.20000.40000" with times in milliseconds.
func eventName(t model.Trigger) string {
	switch t.Kind {
	case model.Done:
		return doneEvent
	case model.Hold:
		return fmt.Sprintf("hold.%s.%d", t.Name, machine.Millis(t.For))
	case model.After:
		return fmt.Sprintf("after.%d.%d", machine.Millis(t.After.Lo), machine.Millis(t.After.Hi))
	}
	return t.Kind.String() + "." + t.Name
}

// triggerOf is the trigger that an event of eventName stands for.
func triggerOf(event string) (model.Trigger, bool) {
	if event == doneEvent {
		return model.Trigger{Kind: model.Done}, true
	}
	words := strings.Split(event, ".")
	ms := func(s string) (time.Duration, bool) {
		d, err := model.ParseDuration(s + "ms")
		return d, err == nil
	}
	switch {
	case len(words) == 2 && model.IsPrintedName(words[1]):
		for _, k := range []model.TriggerKind{model.Press, model.Repeated, model.Release, model.Rise, model.Fall, model.Posted} {
			// The name of an input and an event begins with a letter.
			if words[0] == k.String() && (k.Of() == model.SortButton || model.IsName(words[1])) {
				return model.Trigger{Kind: k, Name: words[1]}, true
			}
		}
	case len(words) == 3 && words[0] == "hold" && model.IsPrintedName(words[1]):
		if d, ok := ms(words[2]); ok {
			return model.Trigger{Kind: model.Hold, Name: words[1], For: d}, true
		}
	case len(words) == 3 && words[0] == "after":
		lo, ok := ms(words[1])
		hi, ok2 := ms(words[2])
		if ok && ok2 && lo <= hi {
			return model.Trigger{Kind: model.After, After: model.Span{Lo: lo, Hi: hi}}, true
		}
	}
	return model.Trigger{}, false
}
