package editor

import "propwright/model"

// actions is the key table: the actions of the screens, of every view, of the details
// and of the dialogs. init fills it, since the actions' functions use it.
var actions []action

// commonActions returns the actions that belong to no screen.
func commonActions() []action {
	return []action{
		{"add", []string{"Ctrl-N", "Ins"}, "add what the view is about: a state, button, output …", anywhere, "add", func(e *Editor) { e.add() }},
		{"save", []string{"Ctrl-S"}, "save the design", anywhere, "save", func(e *Editor) { e.files.save() }},
		{"undo", []string{"Ctrl-Z"}, "take back the last edit, and the one before, without limit", anywhere, "undo", func(e *Editor) { e.undo() }},
		{"redo", []string{"Ctrl-Y"}, "do again what was taken back", anywhere, "redo", func(e *Editor) { e.redo() }},
		{"fix", []string{"Ctrl-T"}, "write the value that ends the finding about what the cursor is on", anywhere, "", (*Editor).fix},
		{"palette", []string{"Ctrl-P", "F9"}, "find any action by a few letters of what it does", anywhere, "actions", (*Editor).palette},
		{"search", []string{"Ctrl-F"}, "search all that has a name, a label or a note, and go there", anywhere, "search", (*Editor).search},
		{"rename", []string{"Ctrl-R"}, "rename the element, everywhere it is named", anywhere, "rename", func(e *Editor) { e.rename(e.here()) }},
		{"duplicate", []string{"Ctrl-D"}, "duplicate: a state with its transitions, a routine with its cues", anywhere, "duplicate", func(e *Editor) { e.duplicate(e.here()) }},
		{"delete", []string{"Ctrl-X"}, "delete the element, after saying what else goes", anywhere, "delete", func(e *Editor) { e.panel.remove(e.here()) }},
		{"up-list", []string{"Ctrl-U"}, "move the element up in its list", anywhere, "", func(e *Editor) { e.shiftHere(-1) }},
		{"down-list", []string{"Ctrl-L"}, "move the element down in its list", anywhere, "", func(e *Editor) { e.shiftHere(1) }},
		{"prop", []string{"Ctrl-O"}, "the prop itself: its name, board, supply and requirements", anywhere, "prop", func(e *Editor) { e.openDetails(model.Elem{Sort: model.SortProp}) }},
		{"save-as", []string{"Ctrl-W"}, "save the design under another name", anywhere, "", func(e *Editor) { e.files.askSaveAs() }},
		{"quit", []string{"Ctrl-Q", "Ctrl-C"}, "leave the editor; with changes it asks", anywhere, "quit", func(e *Editor) { e.files.quit() }},

		{"details", []string{"Enter", "Tab"}, "the details of what is under the cursor, to be changed", inLists, "details", (*Editor).enterPanel},

		{"chooser-up", []string{"Up"}, "the line above", inChooser, "", func(e *Editor) { e.over.Top().Move(-1) }},
		{"chooser-down", []string{"Down"}, "the line below", inChooser, "next", func(e *Editor) { e.over.Top().Move(1) }},
		{"chooser-page-up", []string{"PgUp"}, "ten lines up", inChooser, "", func(e *Editor) { e.over.Top().Move(-10) }},
		{"chooser-page-down", []string{"PgDn"}, "ten lines down", inChooser, "", func(e *Editor) { e.over.Top().Move(10) }},
		{"chooser-take", []string{"Enter"}, "take it", inChooser, "take it", func(e *Editor) { e.over.Top().Take() }},

		{"demo", []string{"Ctrl-D"}, "open the demo, the harbour heron, to play with", inStart, "demo", func(e *Editor) { e.files.takeDemo() }},
		{"start-leave", []string{"Ctrl-Q", "Ctrl-C"}, "leave", inStart, "leave", (*Editor).stop},

		{"prompt-take", []string{"Enter"}, "take the text", inPrompt, "take it", func(e *Editor) { e.over.Top().Take() }},
		{"prompt-recall", []string{"Ctrl-O"}, "bring back what was written and then left", inPrompt, "bring back", func(e *Editor) { e.over.Top().Recall() }},

		{"quit-asked", []string{"Ctrl-C"}, "leave the editor; with changes it asks", inAsked, "", func(e *Editor) { e.files.quit() }},
		{"quit-steps", []string{"Ctrl-C"}, "leave the editor", inSteps, "", func(e *Editor) { e.files.quit() }},
		{"leave", []string{"Esc"}, "change nothing", inAsked, "change nothing", func(e *Editor) { e.over.Top().Leave() }},

		{"step-back", []string{"Esc"}, "back to what was asked before", inSteps, "back", func(e *Editor) { e.over.Top().Leave() }},

		{"answer-up", []string{"Up"}, "the answer above", inQuestion, "", func(e *Editor) { e.over.Top().Move(-1) }},
		{"answer-down", []string{"Down"}, "the answer below", inQuestion, "next", func(e *Editor) { e.over.Top().Move(1) }},
		{"answer-take", []string{"Enter"}, "this answer", inQuestion, "this answer", func(e *Editor) { e.over.Top().Take() }},
	}
}

// listActions move the cursor of every view.
var listActions = []viewAction{
	{"left", []string{"Left"}, "to the left", "", func(v view) { v.Move(-1, 0) }},
	{"right", []string{"Right"}, "to the right", "", func(v view) { v.Move(1, 0) }},
	{"up", []string{"Up"}, "up", "", func(v view) { v.Move(0, -1) }},
	{"down", []string{"Down"}, "down", "", func(v view) { v.Move(0, 1) }},
	{"page-up", []string{"PgUp"}, "a screen up", "", func(v view) { v.Page(-1) }},
	{"page-down", []string{"PgDn"}, "a screen down", "", func(v view) { v.Page(1) }},
	{"line-start", []string{"Home"}, "to the first column or line", "", func(v view) { v.End(-1) }},
	{"line-end", []string{"End"}, "to the last column or line", "", func(v view) { v.End(1) }},
	{"top", []string{"Ctrl-Home", "Alt-Up"}, "to the first line", "", func(v view) { v.Far(-1) }},
	{"bottom", []string{"Ctrl-End", "Alt-Down"}, "to the last line", "", func(v view) { v.Far(1) }},
}
