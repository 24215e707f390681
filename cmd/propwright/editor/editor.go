package editor

import (
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

// An Editor is one run of the editor on one design file.
type Editor struct {
	*workspace
	app   *tview.Application
	root  *root
	files files

	view      viewID
	before    viewID // where help was called from
	views     map[viewID]view
	panel     *panel
	inPanel   bool // the panel has the keys
	panelOnly bool // a narrow screen shows the panel in place of the view

	width   int // of the screen when it was last drawn
	stopped bool
}

// A viewID names a view; it is also the scope of the view's keys.
type viewID = scope

// A view is one of the editor's pictures of the design. Places on the screen
// count from the view's own corner.
type view interface {
	draw(p pane.Pen, here bool)
	// Move moves the cursor by columns and lines.
	Move(dx, dy int)
	// Page moves it by screens, End to the first (-1) or last (1) place of
	// a line, Far to the first or last line.
	Page(dy int)
	End(dx int)
	Far(dy int)
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
	e := &Editor{app: tview.NewApplication(), view: inMatrix}
	e.workspace = newWorkspace(e, d, t, func(do func()) { e.app.QueueUpdateDraw(do) }, e.judged)
	e.files = files{e.workspace, e}
	e.root = &root{Box: tview.NewBox(), e: e}
	e.panel = &panel{workspace: e.workspace, host: e}
	e.views = newViews(e.workspace)
	e.app.SetRoot(e.root, true).EnableMouse(true).EnablePaste(true).SetInputCapture(keepCtrlC)
	e.changed()
	return e
}

// keepCtrlC makes Ctrl-C a key like any other: tview would end the program.
func keepCtrlC(ev *tcell.EventKey) *tcell.EventKey {
	if ev.Key() == tcell.KeyCtrlC {
		return tcell.NewEventKey(tcell.KeyCtrlC, 0, tcell.ModCtrl)
	}
	return ev
}

// changed updates everything that depends on the design.
func (e *Editor) changed() {
	e.layOut()
	for _, id := range viewOrder {
		if v := e.views[id]; v != nil {
			v.renew()
		}
	}
	e.panel.renew()
	e.desk.record()
	e.recheck()
}

// judged shows what a check has found.
func (e *Editor) judged() {
	e.desk.look()
	e.views[inFindings].renew()
	e.follow()
}

// sit changes to another desk.
func (e *Editor) sit(d *desk) {
	e.stopClocks()
	e.desk, e.further, e.views = d, nil, newViews(e.workspace)
	e.show(inMatrix)
	e.changed()
	e.follow()
}

// current returns the view on the screen.
func (e *Editor) current() view { return e.views[e.view] }

// playView returns the rehearsal.
func (e *Editor) playView() *play { return e.views[inPlay].(*play) }

// stopClocks stops what is being played.
func (e *Editor) stopClocks() {
	e.playView().clock.stop()
	e.views[inRoutines].(*routines).through.clock.stop()
}

// matrixView returns the matrix, with the cursor's row and column.
func (e *Editor) matrixView() *matrix { return e.views[inMatrix].(*matrix) }

// show switches to a view.
func (e *Editor) show(id viewID) {
	if h, ok := e.views[id].(*help); ok && e.view != inHelp {
		e.before, h.about = e.view, e.root.heard()[0]
	}
	if id != e.view { // nobody would see what happens
		e.stopClocks()
	}
	e.view, e.inPanel, e.panelOnly = id, false, false
	e.follow()
}

// key handles a key.
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
		if f := e.panel.field; f != nil {
			if a := find(name, inField); a != nil {
				a.run(e)
			} else if !f.takes(ev) {
				e.refuse(name)
			}
			return
		}
		if a := find(name, inPanel, anywhere); a != nil {
			a.run(e)
			e.follow()
		} else if pane.IsTyped(ev) {
			e.panel.typed(ev.Rune())
		}
		return
	}
	if e.press(name) {
		return
	}
	if t, ok := e.current().(typist); ok && pane.IsTyped(ev) {
		t.typed(ev.Rune())
		e.follow()
	}
}

// press handles a key in the view; it reports whether the key has an action there.
func (e *Editor) press(name string) bool {
	a := find(name, e.viewScopes()...)
	if a == nil {
		return false
	}
	a.run(e)
	e.follow()
	return true
}

// viewScopes lists the scopes whose keys are active in the view.
func (e *Editor) viewScopes() []scope {
	if e.view == inPlay && e.prop != nil {
		return []scope{inProp, inLists, anywhere}
	}
	return []scope{e.view, inLists, anywhere}
}

// refuse says why a key that has an action elsewhere does nothing here.
func (e *Editor) refuse(name string) {
	if find(name, anywhere) == nil || e.message != "" {
		return
	}
	var ways []string
	for _, way := range []struct{ key, does string }{{"Enter", " takes this"}, {"Esc", " leaves it"}} {
		if find(way.key, e.root.heard()...) != nil {
			ways = append(ways, way.key+way.does)
		}
	}
	e.say(name + " does nothing here: first " + strings.Join(ways, ", or "))
}

// paste takes a pasted text where one is being written.
func (e *Editor) paste(text string) {
	switch o := e.over.Top(); {
	case o != nil:
		o.Paste(text)
	case e.inPanel && e.panel.field != nil:
		e.panel.field.paste(text)
	}
}

// here returns the element that keys like rename and delete mean.
func (e *Editor) here() model.Elem {
	if e.inPanel {
		return e.panel.here()
	}
	if m, ok := e.current().(*matrix); ok { // the line, not the cell
		if s := m.row().state; s >= 0 {
			return model.Elem{Sort: model.SortState, Index: s}
		}
	}
	return e.current().place()
}

// add adds an element of the view's sort.
func (e *Editor) add() {
	if e.inPanel {
		e.panel.addHere()
		return
	}
	if h, ok := e.current().(*help); ok {
		h.leaveHelp()
	}
	for i := range screens {
		if s := &screens[i]; s.in == e.view && s.add != nil {
			s.add(e.current())
			return
		}
	}
	e.matrixView().askState(func(name string) error {
		at, _ := e.desk.design().Find(model.SortState, name)
		e.show(inMatrix)
		e.goTo(at)
		return nil
	})
}

// shiftHere moves an element in its list.
func (e *Editor) shiftHere(by int) {
	at := e.here()
	switch to, ok := e.shift(at, by); {
	case !ok:
	case e.inPanel && e.panel.elem == at:
		e.panel.elem = to
		e.panel.renew()
	case e.inPanel: // it is a line of what the panel shows
		e.panel.move(by)
	default:
		e.goTo(to)
	}
}

// writing reports whether a text has been written and not taken, or some of the
// questions that follow one another been answered.
func (e *Editor) writing() bool {
	if o := e.over.Top(); o != nil && (o.Written() || slices.Contains(o.Scopes(), inSteps)) {
		return true
	}
	return e.panel.field != nil && e.panel.field.text() != e.panel.field.was
}

// stop ends the run.
func (e *Editor) stop() {
	e.stopped = true
	e.app.Stop()
}
