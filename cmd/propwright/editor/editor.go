package editor

import (
	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"propwright/model"
	"propwright/model/edit"
)

// An Editor is one run of the editor on one design file.
type Editor struct {
	app   *tview.Application
	root  *root
	theme theme
	desk  *desk

	grid    *grid           // of the design as it is now
	further []model.Trigger // columns that no transition needs yet
	review  review

	view      viewID
	before    viewID // where help was called from
	views     map[viewID]view
	panel     *panel
	inPanel   bool // the panel has the keys
	panelOnly bool // a narrow screen shows the panel in place of the view
	overlays  []overlay

	dropped  string        // what was written into a field and then left
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
	draw(p pen, here bool)
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

// An overlay is what lies over a view and has all keys.
type overlay interface {
	// draw draws a box and returns where.
	draw(p pen) pen
	scopes() []scope
	// key takes a key that is none of the scopes' actions; it reports whether
	// the key did something.
	key(ev *tcell.EventKey) bool
	paste(text string)
	click(x, y int)
	// wheel moves the cursor by lines.
	wheel(dy int)
	leave()
}

// newEditor sets an editor up on a desk. It draws nothing before Run.
func newEditor(d *desk, t theme) *Editor {
	e := &Editor{app: tview.NewApplication(), theme: t, desk: d, view: inMatrix}
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

// newViews are the views of a design that nobody has looked at yet.
func newViews(e *Editor) map[viewID]view {
	return map[viewID]view{
		inMatrix:   &matrix{e: e},
		inFindings: &findings{e: e},
		inPlay:     &play{e: e},
		inRemote:   &remote{e: e},
		inRig:      &rig{e: e},
		inRoutines: &routines{e: e},
		inGraph:    &graph{e: e},
		inHelp:     &help{e: e},
	}
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
	name := keyName(ev)
	if o := e.overlay(); o != nil {
		if a := find(name, o.scopes()...); a != nil {
			a.run(e)
		} else if !o.key(ev) {
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
		} else if isTyped(ev) {
			e.panel.typed(ev.Rune())
		}
		return
	}
	if a := find(name, e.view, inLists, anywhere); a != nil {
		a.run(e)
		e.panel.follow()
		return
	}
	if t, ok := e.current().(typist); ok && isTyped(ev) {
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
	if find("Esc", e.heard()...) != nil {
		s += ", or Esc leaves it"
	}
	e.say(s)
}

// isTyped reports whether a key is a character that a text can have.
func isTyped(ev *tcell.EventKey) bool {
	return ev.Key() == tcell.KeyRune && ev.Modifiers()&(tcell.ModAlt|tcell.ModCtrl) == 0
}

// paste takes a pasted text where one is being written.
func (e *Editor) paste(text string) {
	switch o := e.overlay(); {
	case o != nil:
		o.paste(text)
	case e.inPanel && e.panel.field != nil:
		e.panel.paste(text)
	}
}

func (e *Editor) overlay() overlay {
	if n := len(e.overlays); n > 0 {
		return e.overlays[n-1]
	}
	return nil
}

func (e *Editor) open(o overlay) { e.overlays = append(e.overlays, o) }

// close takes the topmost overlay away.
func (e *Editor) close() {
	if n := len(e.overlays); n > 0 {
		e.overlays = e.overlays[:n-1]
	}
}

// stop ends the run.
func (e *Editor) stop() {
	e.stopped = true
	e.app.Stop()
}

// chooser, prompt and question are the topmost overlay, which their keys are
// for.
func (e *Editor) chooser() *chooser   { return e.overlay().(*chooser) }
func (e *Editor) prompt() *prompt     { return e.overlay().(*prompt) }
func (e *Editor) question() *question { return e.overlay().(*question) }
