package editor

import (
	"slices"
	"strings"

	"propwright/cmd/propwright/editor/pane"
)

// A scope says where an action's keys are heard: it is a view's name, or else the
// heading of its keys on the help page.
type scope = pane.Scope

const (
	anywhere   scope = "Everywhere"
	inLists    scope = "Moving about, in every view" // but not in a text field
	inPanel    scope = "In the details"              // the panel beside a view
	inField    scope = "While you write a value"
	inChooser        = pane.InChooser
	inPrompt         = pane.InPrompt
	inQuestion       = pane.InQuestion
	inAsked          = pane.InAsked
	inSteps          = pane.InSteps
	inLesson   scope = "While a button is learned"
	inTrim     scope = "While a servo is moved by hand"
	inPosing   scope = "While a pose is taught"
	inProp     scope = "While the prop itself is listened to"
	inStart    scope = "While you begin"
)

// scopes lists the scopes in the help page's order.
var scopes []scope

// An action is one thing that a key does. The help page, the key line and the
// palette are made from the actions and from nothing else.
type action struct {
	id    string
	keys  []string // as keyName writes them; "a…z" stands for every letter
	label string
	in    scope
	// line is the word for the key line; "": not shown there.
	line string
	run  func(*Editor)
}

// A viewAction is an action of a view: do does it to the view that hears the
// key, which is of the type that the action is for.
type viewAction struct {
	id    string
	keys  []string
	label string
	line  string
	do    func(view)
}

// in returns the action as one of the key table, heard in a scope.
func (a *viewAction) in(s scope) action {
	return action{a.id, a.keys, a.label, s, a.line, func(e *Editor) { a.do(e.current()) }}
}

// inView returns what an action does to views of a type.
func inView[V view](do func(V)) func(view) {
	return func(v view) { do(v.(V)) }
}

// find returns the action of a key in the first of the scopes that has one.
func find(name string, in ...scope) *action {
	for _, s := range in {
		for i := range actions {
			if a := &actions[i]; a.in == s && slices.Contains(a.keys, name) {
				return a
			}
		}
	}
	return nil
}

// keyText returns an action's keys as people read them.
func (a *action) keyText() string { return strings.Join(a.keys, " or ") }
