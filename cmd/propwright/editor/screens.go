package editor

import (
	"slices"

	"propwright/model"
)

// A screen is a row of the table of the editor's views. A new view is a file
// with its scope, its type and its actions, and a row here.
type screen struct {
	in      scope                 // its name, and where its keys are heard
	keys    []string              // that show it
	label   string                // what it shows, for the help
	word    string                // for the views' line
	view    func(*workspace) view // makes the view
	actions []viewAction          // its own keys
	about   []model.Sort          // elements that a finding leads to in it
	add     func(view)            // what Ctrl-N adds to it; nil: a state
}

// screens lists the screens in the order of the views' line.
var screens []screen

// viewOrder lists their scopes.
var viewOrder []viewID

func init() { // the screens' functions use the tables, so they cannot be plain variables
	screens = []screen{
		{
			inMatrix, []string{"F2", "Alt-1"}, "the state–event matrix: what each state does on a trigger", "matrix",
			func(w *workspace) view {
				return &matrix{cellEdits: cellEdits{gridCursor: gridCursor{workspace: w}}}
			}, matrixActions(), []model.Sort{model.SortState, model.SortTransition}, nil,
		},
		{
			inRemote, []string{"F3", "Alt-2"}, "the remote: its buttons and codes", "remote",
			func(w *workspace) view { return &remote{workspace: w} }, remoteActions(), []model.Sort{model.SortButton}, inView((*remote).addButton),
		},
		{
			inRig, []string{"F4", "Alt-3"}, "the rig: outputs, inputs, sounds and the chip's pins", "rig",
			func(w *workspace) view { return &rig{workspace: w} }, rigActions(),
			[]model.Sort{model.SortInput, model.SortEvent, model.SortOutput, model.SortTrack, model.SortMessage}, inView((*rig).addToRig),
		},
		{
			inRoutines, []string{"F5", "Alt-4"}, "the routines: cue sheets and their lanes in time", "routines",
			func(w *workspace) view { return &routines{workspace: w} }, routineActions(), []model.Sort{model.SortRoutine, model.SortCue}, inView((*routines).add),
		},
		{
			inGraph, []string{"F6", "Alt-5"}, "the behaviour graph", "graph",
			func(w *workspace) view { return &graph{workspace: w} }, nil, nil, nil,
		},
		{
			inFindings, []string{"F7", "Alt-6"}, "the findings of the check", "findings",
			func(w *workspace) view { return &findings{workspace: w} }, findingsActions(), nil, nil,
		},
		{
			inPlay, []string{"F8", "Alt-7"}, "the rehearsal: play the prop", "rehearse",
			func(w *workspace) view { return &play{performance: performance{workspace: w}} }, playActions(), nil, nil,
		},
		{
			inHelp, []string{"F1", "?", "Alt-0"}, "this help", "help",
			func(w *workspace) view { return &help{workspace: w} }, helpActions(), nil, nil,
		},
	}
	var own []action
	for i := range screens {
		s := &screens[i]
		viewOrder = append(viewOrder, s.in)
		actions = append(actions, action{string(s.in), s.keys, s.label, anywhere, s.word, func(e *Editor) { e.show(s.in) }})
		for i := range s.actions {
			own = append(own, s.actions[i].in(s.in))
		}
	}
	for i := range listActions {
		own = append(own, listActions[i].in(inLists))
	}
	actions = slices.Concat(actions, own, commonActions(), panelActions(), lessonActions(), trimActions(), posingActions(), propActions())
	scopes = slices.Concat([]scope{anywhere, inLists, viewOrder[0]},
		[]scope{inPanel, inField, inChooser, inPrompt, inQuestion, inAsked, inSteps, inLesson, inTrim, inPosing, inProp}, viewOrder[1:], []scope{inStart})
}

// isScreen reports whether an action's id is that of showing a screen.
func isScreen(id string) bool { return slices.Contains(viewOrder, scope(id)) }

// newViews returns the views of a design that nobody has looked at yet.
func newViews(w *workspace) map[viewID]view {
	views := map[viewID]view{}
	for i := range screens {
		views[screens[i].in] = screens[i].view(w)
	}
	return views
}
