package editor

import (
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"
)

// A scope says where an action's keys are heard.
type scope string

const (
	anywhere   scope = "anywhere"
	inLists    scope = "moving about" // in every view but not in a text field
	inMatrix   scope = "matrix"
	inRemote   scope = "remote"
	inRig      scope = "rig"
	inRoutines scope = "routines"
	inGraph    scope = "graph"
	inFindings scope = "findings"
	inPlay     scope = "rehearsal"
	inHelp     scope = "help"
	inPanel    scope = "details" // the panel beside a view
	inField    scope = "you write a value"
	inChooser  scope = "you choose"
	inPrompt   scope = "you are asked for a text"
	inQuestion scope = "you are asked for an answer"
	inAsked    scope = "you are asked anything"
	inSteps    scope = "one question follows another"
	inLesson   scope = "a button is learned"
	inStart    scope = "you begin"
)

// scopes lists the scopes in the help page's order.
var scopes = []scope{anywhere, inLists, inMatrix, inPanel, inField, inChooser, inPrompt, inQuestion, inAsked, inSteps, inLesson, inRemote, inRig, inRoutines, inGraph, inFindings, inPlay, inHelp, inStart}

// leaving is the scope of the key that leaves an overlay: it leads to the one
// before where there is one.
func leaving(back func()) scope {
	if back != nil {
		return inSteps
	}
	return inAsked
}

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

// keyName is what the key table calls a key: "F2", "Ctrl-S", "Alt-1", "Up",
// "Enter", "+".
func keyName(ev *tcell.EventKey) string {
	k, mod := ev.Key(), ev.Modifiers()
	name := ""
	switch {
	case k == tcell.KeyRune:
		name = string(ev.Rune())
		if ev.Rune() == ' ' {
			name = "Space"
		}
		mod &= tcell.ModAlt // a shifted letter is another letter
	case k == tcell.KeyBackspace || k == tcell.KeyBackspace2:
		return "Backspace"
	case k == tcell.KeyTab:
		name = "Tab"
	case k == tcell.KeyBacktab:
		return "Shift-Tab"
	case k == tcell.KeyEnter:
		name = "Enter"
		mod &= tcell.ModAlt
	case k == tcell.KeyEscape:
		return "Esc"
	case k == tcell.KeyDelete:
		name = "Del"
	case k == tcell.KeyInsert:
		name = "Ins"
	case k == tcell.KeyCtrlSpace:
		return "Ctrl-Space"
	case k >= tcell.KeyCtrlA && k <= tcell.KeyCtrlZ:
		return "Ctrl-" + string(rune('A'+k-tcell.KeyCtrlA))
	default:
		name = strings.TrimSpace(tcell.KeyNames[k])
	}
	switch {
	case mod&tcell.ModCtrl != 0:
		name = "Ctrl-" + name
	case mod&tcell.ModAlt != 0:
		name = "Alt-" + name
	case mod&tcell.ModShift != 0:
		name = "Shift-" + name
	}
	return name
}

// find is the action of a key in the first of the scopes that has one.
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

// keyText is an action's keys as people read them.
func (a *action) keyText() string { return strings.Join(a.keys, " or ") }
