package editor

// actions is the key table.
var actions []action

func init() { // the actions' functions use the table, so it cannot be a plain variable
	actions = []action{
		{"matrix", []string{"F2", "Alt-1"}, "the state–event matrix: what every state does on every trigger", anywhere, "matrix", (*Editor).showMatrix},
		{"remote", []string{"F3", "Alt-2"}, "the remote: its buttons and codes", anywhere, "remote", func(e *Editor) { e.show(inRemote) }},
		{"rig", []string{"F4", "Alt-3"}, "the rig: outputs, inputs, sounds and the chip's pins", anywhere, "rig", func(e *Editor) { e.show(inRig) }},
		{"routines", []string{"F5", "Alt-4"}, "the routines: cue sheets and their lanes in time", anywhere, "routines", func(e *Editor) { e.show(inRoutines) }},
		{"graph", []string{"F6", "Alt-5"}, "the behaviour graph", anywhere, "graph", func(e *Editor) { e.show(inGraph) }},
		{"findings", []string{"F7", "Alt-6"}, "the findings of the check", anywhere, "findings", func(e *Editor) { e.show(inFindings) }},
		{"rehearsal", []string{"F8", "Alt-7"}, "the rehearsal: play the prop", anywhere, "rehearse", func(e *Editor) { e.show(inPlay) }},
		{"help", []string{"F1", "Alt-0"}, "this help", anywhere, "help", func(e *Editor) { e.show(inHelp) }},
		{"add", []string{"Ctrl-N", "Ins"}, "add what the view is about: a state, button, output, routine …", anywhere, "add", (*Editor).add},
		{"save", []string{"Ctrl-S"}, "save the design", anywhere, "save", (*Editor).save},
		{"undo", []string{"Ctrl-Z"}, "take back the last edit, and the one before, without limit", anywhere, "undo", (*Editor).undo},
		{"redo", []string{"Ctrl-Y"}, "do again what was taken back", anywhere, "redo", (*Editor).redo},
		{"palette", []string{"Ctrl-P", "F9"}, "find any action by a few letters of what it does", anywhere, "actions", (*Editor).palette},
		{"search", []string{"Ctrl-F"}, "search everything that has a name, a label or a note, and go there", anywhere, "search", (*Editor).search},
		{"rename", []string{"Ctrl-R"}, "rename the element, everywhere it is named", anywhere, "rename", (*Editor).rename},
		{"duplicate", []string{"Ctrl-D"}, "duplicate the element; a state with its transitions, a routine with its cues", anywhere, "duplicate", (*Editor).duplicate},
		{"delete", []string{"Ctrl-X"}, "delete the element, after saying what else goes", anywhere, "delete", (*Editor).remove},
		{"up-list", []string{"Ctrl-U"}, "move the element up in its list", anywhere, "", func(e *Editor) { e.shift(-1) }},
		{"down-list", []string{"Ctrl-L"}, "move the element down in its list", anywhere, "", func(e *Editor) { e.shift(1) }},
		{"prop", []string{"Ctrl-O"}, "the prop itself: its name, board, supply and requirements", anywhere, "prop", (*Editor).openProp},
		{"save-as", []string{"Ctrl-W"}, "save the design under another name", anywhere, "", (*Editor).askSaveAs},
		{"quit", []string{"Ctrl-Q", "Ctrl-C"}, "leave the editor; with changes it asks", anywhere, "quit", (*Editor).quit},

		{"left", []string{"Left"}, "to the left", inLists, "", func(e *Editor) { e.current().move(-1, 0) }},
		{"right", []string{"Right"}, "to the right", inLists, "", func(e *Editor) { e.current().move(1, 0) }},
		{"up", []string{"Up"}, "up", inLists, "", func(e *Editor) { e.current().move(0, -1) }},
		{"down", []string{"Down"}, "down", inLists, "", func(e *Editor) { e.current().move(0, 1) }},
		{"page-up", []string{"PgUp"}, "a screen up", inLists, "", func(e *Editor) { e.current().page(-1) }},
		{"page-down", []string{"PgDn"}, "a screen down", inLists, "", func(e *Editor) { e.current().page(1) }},
		{"line-start", []string{"Home"}, "to the first column or line", inLists, "", func(e *Editor) { e.current().end(-1) }},
		{"line-end", []string{"End"}, "to the last column or line", inLists, "", func(e *Editor) { e.current().end(1) }},
		{"top", []string{"Ctrl-Home", "Alt-Up"}, "to the first line", inLists, "", func(e *Editor) { e.current().far(-1) }},
		{"bottom", []string{"Ctrl-End", "Alt-Down"}, "to the last line", inLists, "", func(e *Editor) { e.current().far(1) }},
		{"details", []string{"Enter", "Tab"}, "the details of what is under the cursor, to be changed", inLists, "details", (*Editor).enterPanel},

		{"fill", []string{"a…z"}, "letters of a state's name: the trigger leads there; a new name makes a new state", inMatrix, "target", func(e *Editor) { e.askTarget("") }},
		{"ignore", []string{"."}, "nothing is to happen here, and that is meant", inMatrix, "ignore", (*Editor).ignoreCell},
		{"defer", []string{">"}, "go there only when the routine has ended, or at once again", inMatrix, "at end", (*Editor).deferCell},
		{"unsay", []string{"Del", "Backspace"}, "say nothing here any more", inMatrix, "empty", (*Editor).emptyCell},
		{"trigger", []string{"@"}, "another trigger as a column: a timer, a hold, a release", inMatrix, "trigger", (*Editor).askTrigger},
		{"row", []string{"Space"}, "the details of the line's state", inMatrix, "state", (*Editor).openRow},
		{"again", []string{"="}, "fill this cell like the last one", inMatrix, "again", (*Editor).fillAgain},
		{"new-state", []string{"+"}, "a new state, and the trigger leads there", inMatrix, "new state", (*Editor).newStateHere},

		{"panel-up", []string{"Up"}, "the line above", inPanel, "", func(e *Editor) { e.panel.move(-1) }},
		{"panel-down", []string{"Down"}, "the line below", inPanel, "", func(e *Editor) { e.panel.move(1) }},
		{"panel-page-up", []string{"PgUp"}, "a screen up", inPanel, "", func(e *Editor) { e.panel.move(-max(e.panel.shown-1, 1)) }},
		{"panel-page-down", []string{"PgDn"}, "a screen down", inPanel, "", func(e *Editor) { e.panel.move(max(e.panel.shown-1, 1)) }},
		{"panel-top", []string{"Home"}, "the first line", inPanel, "", func(e *Editor) { e.panel.move(-len(e.panel.lines)) }},
		{"panel-bottom", []string{"End"}, "the last line", inPanel, "", func(e *Editor) { e.panel.move(len(e.panel.lines)) }},
		{"panel-type", []string{"a character"}, "write another value in place of this one", inPanel, "", func(e *Editor) { e.panel.enter() }},
		{"panel-open", []string{"Enter"}, "write the value, open the part, or add one", inPanel, "write", func(e *Editor) { e.panel.enter() }},
		{"panel-clear", []string{"Del", "Backspace"}, "say nothing for this key any more; on a part: delete it", inPanel, "clear", (*Editor).clearLine},
		{"panel-leave", []string{"Esc", "Left", "Tab"}, "back", inPanel, "back", func(e *Editor) { e.panel.leave() }},

		{"accept", []string{"Enter"}, "take the value", inField, "take it", func(e *Editor) { e.panel.accept() }},
		{"abandon", []string{"Esc"}, "leave the value as it was", inField, "leave it", func(e *Editor) { e.panel.abandon() }},
		{"choice-up", []string{"Up"}, "the choice above", inField, "", func(e *Editor) { e.panel.field.choose(-1) }},
		{"choice-down", []string{"Down"}, "the choice below", inField, "choose", func(e *Editor) { e.panel.field.choose(1) }},
		{"new-line", []string{"Ctrl-J"}, "begin another line, in a note or a comment: ¶ stands for it", inField, "", (*Editor).newLine},
		{"recall", []string{"Ctrl-O"}, "bring back what was written and then left", inField, "bring back", (*Editor).recall},

		{"chooser-up", []string{"Up"}, "the line above", inChooser, "", func(e *Editor) { e.over.Top().Move(-1) }},
		{"chooser-down", []string{"Down"}, "the line below", inChooser, "next", func(e *Editor) { e.over.Top().Move(1) }},
		{"chooser-page-up", []string{"PgUp"}, "ten lines up", inChooser, "", func(e *Editor) { e.over.Top().Move(-10) }},
		{"chooser-page-down", []string{"PgDn"}, "ten lines down", inChooser, "", func(e *Editor) { e.over.Top().Move(10) }},
		{"chooser-take", []string{"Enter"}, "take it", inChooser, "take it", func(e *Editor) { e.over.Top().Take() }},

		{"demo", []string{"Ctrl-D"}, "open the demo, the harbour heron, to play with", inStart, "demo", (*Editor).takeDemo},
		{"start-leave", []string{"Ctrl-Q", "Ctrl-C"}, "leave", inStart, "leave", (*Editor).stop},

		{"prompt-take", []string{"Enter"}, "take the text", inPrompt, "take it", func(e *Editor) { e.over.Top().Take() }},
		{"prompt-recall", []string{"Ctrl-O"}, "bring back what was written and then left", inPrompt, "bring back", func(e *Editor) { e.over.Top().Recall() }},

		{"leave", []string{"Esc"}, "change nothing", inAsked, "change nothing", func(e *Editor) { e.over.Top().Leave() }},
		{"step-back", []string{"Esc"}, "back to what was asked before", inSteps, "back", func(e *Editor) { e.over.Top().Leave() }},

		{"answer-up", []string{"Up"}, "the answer above", inQuestion, "", func(e *Editor) { e.over.Top().Move(-1) }},
		{"answer-down", []string{"Down"}, "the answer below", inQuestion, "next", func(e *Editor) { e.over.Top().Move(1) }},
		{"answer-take", []string{"Enter"}, "this answer", inQuestion, "this answer", func(e *Editor) { e.over.Top().Take() }},

		{"learn", []string{"l"}, "learn codes: from a board that listens, saved times or a keymap", inRemote, "learn", (*Editor).askLearn},
		{"lesson-take", []string{"Enter"}, "give the button the code that was understood, and go on to the next", inLesson, "take it", (*Editor).takeLesson},
		{"lesson-again", []string{"r"}, "forget what was understood, and listen again", inLesson, "again", (*Editor).repeatLesson},
		{"lesson-leave", []string{"Esc"}, "leave the button as it is", inLesson, "leave it", (*Editor).leaveLesson},

		{"finding-go", []string{"Enter"}, "go to the place that the finding is about", inFindings, "go there", (*Editor).goToFinding},

		{"witness", []string{"p"}, "play what shows the finding, step by step, in rehearsal", inFindings, "play it", (*Editor).showWitness},

		{"play-press", []string{"Enter"}, "press the button under the cursor, or turn the input over", inPlay, "press", (*Editor).playPress},
		{"play-digit", []string{"1…9"}, "press the button, or turn the input over, that stands beside the digit", inPlay, "press that", func(e *Editor) { e.say("press a digit from 1 to 9") }},
		{"play-hold", []string{"h"}, "keep the button down, or let it go", inPlay, "hold", (*Editor).playHold},
		{"play-run", []string{"Space"}, "let the clock run, or stop it", inPlay, "run", (*Editor).playRun},
		{"play-next", []string{"n"}, "let time pass until something happens by itself; or the next step of what shows a finding", inPlay, "next", (*Editor).playNext},
		{"play-frame", []string{"."}, "let 20 ms pass", inPlay, "20 ms", (*Editor).playFrame},
		{"play-faster", []string{"+"}, "let the clock run faster", inPlay, "faster", (*Editor).playFaster},
		{"play-slower", []string{"-"}, "let the clock run slower", inPlay, "slower", (*Editor).playSlower},
		{"play-anew", []string{"r"}, "power the prop up anew", inPlay, "power up", (*Editor).playAnew},
		{"play-expect", []string{"e"}, "note for the script that the prop is to be in its present state", inPlay, "expect", (*Editor).playExpect},
		{"play-save", []string{"s"}, "save what was done as a script beside the design; it becomes a test", inPlay, "script", (*Editor).playSave},

		{"help-leave", []string{"Esc", "Enter"}, "back to the view before", inHelp, "back", (*Editor).leaveHelp},
	}
}

// isView reports whether an action's id is a view's name that the top line
// shows.
func isView(id string) bool {
	switch scope(id) {
	case inMatrix, inRemote, inRig, inRoutines, inGraph, inFindings, inPlay:
		return true
	}
	return false
}

// viewOrder lists the views.
var viewOrder = []viewID{inMatrix, inRemote, inRig, inRoutines, inGraph, inFindings, inPlay, inHelp}
