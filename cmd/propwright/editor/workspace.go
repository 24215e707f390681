package editor

import (
	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/editor/review"
	"propwright/model"
)

// A workspace is what all parts of the editor share: the design with all that is
// computed from it, the dialogs over the screen and the status line. It does not know
// the parts.
type workspace struct {
	navigator
	theme   theme
	desk    *desk
	grid    *grid           // of the design as it is now
	further []model.Trigger // columns that no transition needs yet
	review  review.Review
	over    pane.Dialogs // over the view
	prop    *listening   // the prop itself, while it is listened to

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
	// follow shows the details of what is under the cursor now.
	follow()
	// goTo puts the cursor on an element.
	goTo(at model.Elem)
	// openDetails shows an element's details, to be changed.
	openDetails(at model.Elem)
	// openFinding shows where a finding is about.
	openFinding(review.Finding)
	// playWitness has the rehearsal ready to play a finding's witness.
	playWitness(review.Finding)
	// leaveHelp goes back to the view that help was called from.
	leaveHelp()
}

// newWorkspace returns a workspace for a design. What is found in the design is shown
// on the goroutine that queue runs functions on.
func newWorkspace(n navigator, d *desk, t theme, queue func(func()), judged func()) *workspace {
	w := &workspace{navigator: n, theme: t, desk: d, queue: queue}
	w.over = pane.Dialogs{Theme: t.Theme, Say: w.say}
	w.review.Queue, w.review.Inspect, w.review.Done = queue, review.Inspect, judged
	w.review.Unread = func() model.Faults { return w.desk.unread() }
	w.layOut()
	return w
}

// say shows a message on the status line until the next key.
func (w *workspace) say(s string) { w.message, w.alarm = s, false }

// complain shows an error on the status line until the next key.
func (w *workspace) complain(err error) { w.message, w.alarm = err.Error(), true }

// did shows the design after an edit.
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

// recheck starts a check of the present design.
func (w *workspace) recheck() {
	file := ""
	if w.desk.file != nil {
		file = w.desk.file.Name()
	}
	w.review.Start(w.desk.design(), file)
}
