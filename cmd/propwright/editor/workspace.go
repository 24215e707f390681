package editor

import (
	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/editor/review"
	"propwright/model"
)

// A workspace is what all parts of the editor share: the design with what is
// worked out of it, the dialogs over the screen and the status line. It does
// not know the parts.
type workspace struct {
	navigator
	theme   theme
	desk    *desk
	grid    *grid           // of the design as it is now
	further []model.Trigger // columns that no transition needs yet
	review  review.Review
	over    pane.Dialogs // over the view

	message string // what the last action had to say
	alarm   bool   // and whether it is bad news

	// queue runs a function on the screen's goroutine and draws the screen.
	queue func(func())
}

// A navigator tells the parts of the editor that something has changed, or
// shows an element in the one for it.
type navigator interface {
	// changed is called when the design has changed.
	changed()
	// goTo puts the cursor on an element.
	goTo(at model.Elem)
	// openDetails shows an element's details, to be changed.
	openDetails(at model.Elem)
}

// say puts a message on the status line until the next key.
func (w *workspace) say(s string) { w.message, w.alarm = s, false }

// complain puts bad news on the status line until the next key.
func (w *workspace) complain(err error) { w.message, w.alarm = err.Error(), true }

// did shows a design that an edit has changed.
func (w *workspace) did(err error) error {
	if err == nil {
		w.changed()
	}
	return err
}

// try shows a changed design, or why it was not changed.
func (w *workspace) try(err error) bool {
	if w.did(err) != nil {
		w.complain(err)
		return false
	}
	return true
}

// layOut makes the grid of the design as it is now.
func (w *workspace) layOut() { w.grid = newGrid(w.desk.design(), w.further) }

// recheck has the design checked as it is now.
func (w *workspace) recheck() {
	file := ""
	if w.desk.file != nil {
		file = w.desk.file.Name()
	}
	w.review.Start(w.desk.design(), file)
}
