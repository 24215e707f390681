package editor

import (
	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/edit"
)

// An Editor is one run of the editor on one design file.
type Editor struct {
	app   *tview.Application
	root  *root
	theme theme
	desk  *desk
	edits edits
	files files

	grid    *grid           // of the design as it is now
	further []model.Trigger // columns that no transition needs yet
	review  review

	view      viewID
	before    viewID // where help was called from
	views     map[viewID]view
	panel     *panel
	inPanel   bool         // the panel has the keys
	panelOnly bool         // a narrow screen shows the panel in place of the view
	over      pane.Dialogs // over the view

	learning *learning     // going on, or nil
	filled   *edit.Outcome // how a cell of the matrix was filled last

	message string // what the last action had to say
	alarm   bool   // and whether it is bad news
	width   int    // of the screen when it was last drawn
	stopped bool
}

// A viewID names a view; it is also the scope of the view's keys.
type viewID = scope

// A view is one of the editor's pictures of the design. Places on the screen
// count from the view's own corner.
type view interface {
	draw(p pane.Pen, here bool)
	// move moves the cursor by columns and lines.
	move(dx, dy int)
	// page moves it by screens, end to the first (-1) or last (1) place of
	// a line, far to the first or last line.
	page(dy int)
	end(dx int)
	far(dy int)
	// place is the element under the cursor, for the details beside it.
	place() model.Elem
	// click puts the cursor under the mouse; it reports whether there is
	// something to open.
	click(x, y int) bool
	// renew is called when the design has changed.
	renew()
}

// A typist is a view that does something with a character that is no action's.
type typist interface{ typed(r rune) }

// newEditor sets an editor up on a desk. It draws nothing before Run.
func newEditor(d *desk, t theme) *Editor {
	e := &Editor{app: tview.NewApplication(), theme: t, desk: d, view: inMatrix}
	e.edits, e.files = edits{e}, files{e}
	e.over = pane.Dialogs{Theme: t.Theme, Say: e.say}
	e.root = &root{Box: tview.NewBox(), e: e}
	e.panel = &panel{e: e}
	e.views = newViews(e)
	e.app.SetRoot(e.root, true).EnableMouse(true).EnablePaste(true).SetInputCapture(keepCtrlC)
	e.renew()
	return e
}

// keepCtrlC makes Ctrl-C a key like any other: tview would end the program.
func keepCtrlC(ev *tcell.EventKey) *tcell.EventKey {
	if ev.Key() == tcell.KeyCtrlC {
		return tcell.NewEventKey(tcell.KeyCtrlC, 0, tcell.ModCtrl)
	}
	return ev
}

// renew works everything out anew that depends on the design.
func (e *Editor) renew() {
	e.grid = newGrid(e.desk.design(), e.further)
	for _, id := range viewOrder {
		if v := e.views[id]; v != nil {
			v.renew()
		}
	}
	e.panel.renew()
	e.desk.record()
	e.review.start(e)
}

// current is the view on the screen.
func (e *Editor) current() view { return e.views[e.view] }

// show changes to a view.
func (e *Editor) show(id viewID) {
	if id == inHelp && e.view != inHelp {
		e.before = e.view
	}
	e.view, e.inPanel, e.panelOnly = id, false, false
	e.panel.follow()
}

// say puts a message on the status line until the next key.
func (e *Editor) say(s string) { e.message, e.alarm = s, false }

// complain puts bad news on the status line until the next key.
func (e *Editor) complain(err error) { e.message, e.alarm = err.Error(), true }

// key does what a key says.
func (e *Editor) key(ev *tcell.EventKey) {
	e.say("")
	name := pane.KeyName(ev)
	if o := e.over.Top(); o != nil {
		if a := find(name, o.Scopes()...); a != nil {
			a.run(e)
		} else if !o.Key(ev) {
			e.refuse(name)
		}
		return
	}
	if e.inPanel {
		if e.panel.field != nil {
			if a := find(name, inField); a != nil {
				a.run(e)
			} else if !e.panel.key(ev) {
				e.refuse(name)
			}
			return
		}
		if a := find(name, inPanel, anywhere); a != nil {
			a.run(e)
			e.panel.follow()
		} else if pane.IsTyped(ev) {
			e.panel.typed(ev.Rune())
		}
		return
	}
	if a := find(name, e.view, inLists, anywhere); a != nil {
		a.run(e)
		e.panel.follow()
		return
	}
	if t, ok := e.current().(typist); ok && pane.IsTyped(ev) {
		t.typed(ev.Rune())
		e.panel.follow()
	}
}

// refuse says why a key of another place does nothing here.
func (e *Editor) refuse(name string) {
	if find(name, anywhere) == nil || e.message != "" {
		return
	}
	s := name + " does nothing here: first Enter takes this"
	if find("Esc", e.root.heard()...) != nil {
		s += ", or Esc leaves it"
	}
	e.say(s)
}

// paste takes a pasted text where one is being written.
func (e *Editor) paste(text string) {
	switch o := e.over.Top(); {
	case o != nil:
		o.Paste(text)
	case e.inPanel && e.panel.field != nil:
		e.panel.paste(text)
	}
}

// stop ends the run.
func (e *Editor) stop() {
	e.stopped = true
	e.app.Stop()
}
