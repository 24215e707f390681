package editor

import (
	"fmt"
	"slices"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

// root is the one primitive that tview knows: it lays out the lines, the view
// and the panel, and hands on keys and mouse.
type root struct {
	*tview.Box
	e         *Editor
	viewAt    pane.Pen // where the view and the panel were drawn last
	panelAt   pane.Pen
	overlayAt pane.Pen
	spots     []spot // of the key line
	tabs      []tab  // of the views' line
	pressed   point  // where the left button went down last, and before
	before    point
	opens     bool // there is something to open where it went down
}

type point struct{ x, y int }

// A spot is where the key line shows an action.
type spot struct {
	x, y, w int
	action  *action
}

// A tab is where the views' line names a view.
type tab struct {
	from, to int
	view     viewID
}

const (
	wide       = 120 // columns from which the panel stands beside the view
	panelWidth = 46
)

// Draw draws everything.
func (r *root) Draw(screen tcell.Screen) {
	e := r.e
	p := pane.NewPen(screen)
	w, h := p.W, p.H
	e.width = w
	p.Clear(e.theme.Plain)
	screen.HideCursor()
	if w < 40 || h < 10 {
		p.Text(0, 0, e.theme.Plain, fmt.Sprintf("%d × %d is too small; 80 × 24 is enough", w, h))
		return
	}
	body := p.Part(0, 2, w, h-4)
	if e.desk.file == nil {
		r.drawWelcome(p, r.drawOver(body))
		r.drawStatus(p.Part(0, 0, w, h-1))
		r.drawKeyLine(p.Part(0, h-1, w, 1))
		return
	}
	r.drawTop(p.Part(0, 0, w, 2))
	r.viewAt, r.panelAt = body, pane.Pen{}
	switch {
	case w >= wide && e.view != inHelp:
		r.viewAt = body.Part(0, 0, w-panelWidth, body.H)
		r.panelAt = body.Part(w-panelWidth, 0, panelWidth, body.H)
	case e.panelOnly:
		r.viewAt, r.panelAt = pane.Pen{}, body
	}
	if r.viewAt.W > 0 {
		if e.message == "" { // what is found stays as long as the cursor does
			r.viewAt = r.viewAt.Part(0, 0, r.viewAt.W, r.viewAt.H+1-len(r.status(w)))
		}
		e.current().draw(r.viewAt, !e.inPanel && e.over.Top() == nil)
	}
	if r.panelAt.W > 0 {
		r.drawPanel()
	}
	r.drawOver(body)
	r.drawStatus(p.Part(0, 0, w, h-1))
	r.drawKeyLine(p.Part(0, h-1, w, 1))
}

// drawPanel draws the details; below those of a cell's transition, where there
// is room, the state of its line.
func (r *root) drawPanel() {
	e := r.e
	here := e.inPanel && e.over.Top() == nil
	row := e.matrixView().row()
	if e.view != inMatrix || e.inPanel || row.state < 0 || e.panel.elem.Sort != model.SortTransition || r.panelAt.H < 30 {
		e.panel.draw(r.panelAt, here)
		return
	}
	const upper = 14
	below := panel{workspace: e.workspace, host: e}
	below.show(model.Elem{Sort: model.SortState, Index: row.state})
	below.at = -1 // no cursor
	below.draw(r.panelAt.Part(0, upper, r.panelAt.W, r.panelAt.H-upper), false)
	r.panelAt = r.panelAt.Part(0, 0, r.panelAt.W, upper)
	e.panel.draw(r.panelAt, here)
}

// drawOver draws what lies over a view, and returns the line below it.
func (r *root) drawOver(body pane.Pen) int {
	o := r.e.over.Top()
	if o == nil {
		return 0
	}
	r.overlayAt = body
	box := o.Draw(body)
	return box.Y + box.H
}

// drawTop draws the prop's line and the views' line.
func (r *root) drawTop(p pane.Pen) {
	e := r.e
	t := e.theme
	p.Fill(0, 0, p.W, t.Bar)
	d := e.desk.design()
	name := d.Prop.Label
	if name == "" {
		name = d.Prop.Name
	}
	right := e.review.Summary() + " "
	p.Text(p.W-pane.Width(right), 0, t.Bar, right)
	left := p.Part(0, 0, p.W-pane.Width(right)-1, 1)
	x := left.Text(1, 0, t.BarKey, name)
	x = left.Text(x+2, 0, t.Bar, e.desk.title())
	if e.desk.changed() {
		x = left.Text(x+2, 0, t.BarKey, "not saved")
	}
	if e.desk.told != "" {
		left.Text(x+2, 0, t.BarKey, e.desk.told)
	}
	r.drawTabs(p.Part(0, 1, p.W, 1))
}

// drawTabs draws the views' line: each view with its key, or without where there
// is no room.
func (r *root) drawTabs(p pane.Pen) {
	e, t := r.e, r.e.theme
	room := p.W
	for i := range screens {
		if s := &screens[i]; s.in != inHelp {
			room -= pane.Width(s.keys[0]) + pane.Width(s.word) + 2
		}
	}
	x := 1
	r.tabs = r.tabs[:0]
	for i := range screens {
		s := &screens[i]
		if s.in == inHelp { // the key line has it
			continue
		}
		from := x
		if room > 0 {
			x = p.Text(x, 0, t.Dim, s.keys[0])
		}
		x++
		word := " " + s.word + " "
		style := t.Plain
		if s.in == e.view {
			word, style = "["+s.word+"]", t.Strong
		}
		x = p.Text(x-1, 0, style, word)
		r.tabs = append(r.tabs, tab{from, x, s.in})
		if p.W >= 100 {
			x++
		}
	}
}

// mostStatus is how many lines a message may take: what does not fit into one
// covers the view until the next key.
const mostStatus = 4

// status returns the message, or else where the cursor is, for a screen of so many
// columns.
func (r *root) status(w int) []string {
	told := func(s string) []string {
		lines := pane.Wrap(s, w-2)
		return lines[:min(len(lines), mostStatus)]
	}
	if r.e.message != "" {
		return told(r.e.message)
	}
	lines := told(r.where())
	if found := r.found(); found != "" {
		lines = append(lines, told(found)...)
	}
	return lines
}

// drawStatus draws it on the last line of p and, if need be, those above it.
func (r *root) drawStatus(p pane.Pen) {
	e := r.e
	lines, style := r.status(p.W), e.theme.Plain
	if e.alarm {
		style = e.theme.Errs
	}
	for i, s := range lines {
		y := p.H - len(lines) + i
		p.Fill(0, y, p.W, e.theme.Plain)
		p.Text(1, y, style, s)
	}
}

// found returns the finding about the element under the cursor or, in the matrix, about
// its line's state, if neither the view nor the details show it.
func (r *root) found() string {
	e := r.e
	if e.desk.file == nil || e.over.Top() != nil || e.view == inFindings || r.panelAt.W > 0 {
		return ""
	}
	about := e.review.About(e.current().place())
	if len(about) == 0 {
		about = e.review.About(e.here())
	}
	if len(about) == 0 {
		return ""
	}
	return "▸ " + about[0].Message + ". " + whatToDo(&about[0])
}

// where says where the cursor is.
func (r *root) where() string {
	e := r.e
	if e.inPanel {
		return e.panel.where()
	}
	if v, ok := e.current().(interface{ where() string }); ok && e.desk.file != nil {
		return v.where()
	}
	return ""
}

// drawKeyLine draws the keys that do something here.
func (r *root) drawKeyLine(p pane.Pen) {
	t := r.e.theme
	p.Fill(0, 0, p.W, t.Bar)
	r.spots = r.spots[:0]
	show := func(a *action, x int) (end int) {
		end = p.Text(p.Text(x, 0, t.BarKey, a.keys[0])+1, 0, t.Bar, a.line)
		r.spots = append(r.spots, spot{p.X + x, p.Y, end - x, a})
		return end
	}
	if slices.Contains(r.heard(), anywhere) { // the two that lead to all the others
		for _, key := range []string{"F1", "Ctrl-P"} {
			a := find(key, anywhere)
			x := p.W - pane.Width(a.keys[0]) - pane.Width(a.line) - 2
			show(a, x)
			p = p.Part(0, 0, x-1, 1)
		}
	}
	x := 1
	taken := map[string]scope{} // the first scope that has a key
	for _, s := range r.heard() {
		for i := range actions {
			a := &actions[i]
			if a.in != s {
				continue
			}
			first := true
			for n, k := range a.keys {
				if other, ok := taken[k]; ok && other != s {
					first = first && n > 0
				} else {
					taken[k] = s
				}
			}
			switch {
			case !first || a.line == "" || s == anywhere && (isScreen(a.id) || a.id == "palette"):
				continue
			case x+pane.Width(a.keys[0])+1+pane.Width(a.line) > p.W-1:
				return
			}
			x = show(a, x) + 2
		}
	}
}

// heard lists the scopes whose keys are active now.
func (r *root) heard() []scope {
	e := r.e
	switch o := e.over.Top(); {
	case o != nil:
		return o.Scopes()
	case e.inPanel && e.panel.field != nil:
		return []scope{inField}
	case e.inPanel:
		return []scope{inPanel, anywhere}
	}
	return e.viewScopes()
}

// InputHandler hands every key to the editor.
func (r *root) InputHandler() func(*tcell.EventKey, func(tview.Primitive)) {
	return func(ev *tcell.EventKey, _ func(tview.Primitive)) { r.e.key(ev) }
}

// PasteHandler hands a pasted text to the editor.
func (r *root) PasteHandler() func(string, func(tview.Primitive)) {
	return func(text string, _ func(tview.Primitive)) { r.e.paste(text) }
}

// MouseHandler hands clicks and the wheel to what lies under the mouse.
func (r *root) MouseHandler() func(tview.MouseAction, *tcell.EventMouse, func(tview.Primitive)) (bool, tview.Primitive) {
	return func(action tview.MouseAction, ev *tcell.EventMouse, _ func(tview.Primitive)) (bool, tview.Primitive) {
		x, y := ev.Position()
		switch action {
		case tview.MouseLeftDown:
			r.before, r.pressed = r.pressed, point{x, y}
			r.click(x, y)
		case tview.MouseLeftDoubleClick: // two clicks are one for tview, wherever they are
			if r.opens && r.before == r.pressed {
				r.e.press("Enter")
			}
		case tview.MouseScrollUp:
			r.wheel(x, y, -3)
		case tview.MouseScrollDown:
			r.wheel(x, y, 3)
		default:
			return false, nil
		}
		return true, nil
	}
}

// click does what a click of the left button does.
func (r *root) click(x, y int) {
	e := r.e
	r.opens = false
	for _, s := range r.spots {
		if y == s.y && x >= s.x && x < s.x+s.w {
			e.say("")
			s.action.run(e)
			e.follow()
			return
		}
	}
	if o := e.over.Top(); o != nil {
		if _, py, ok := r.overlayAt.In(x, y); ok {
			o.Click(py)
		}
		return
	}
	e.say("")
	if px, py, ok := r.panelAt.In(x, y); ok {
		e.panel.click(px, py)
		return
	}
	if e.panel.field != nil {
		e.panel.field.abandon()
	}
	if y == 1 {
		r.clickTab(x)
		return
	}
	if px, py, ok := r.viewAt.In(x, y); ok {
		e.leavePanel()
		r.opens = e.current().click(px, py)
		e.follow()
	}
}

// clickTab changes to the view whose name was clicked.
func (r *root) clickTab(x int) {
	for _, t := range r.tabs {
		if x >= t.from && x < t.to {
			r.e.show(t.view)
		}
	}
}

// wheel moves what lies under the mouse by lines.
func (r *root) wheel(x, y, dy int) {
	e := r.e
	if o := e.over.Top(); o != nil {
		o.Move(dy)
		return
	}
	if _, _, ok := r.panelAt.In(x, y); ok {
		if e.panel.field == nil {
			e.panel.move(dy)
		}
		return
	}
	if _, _, ok := r.viewAt.In(x, y); ok {
		e.current().Move(0, dy)
		e.follow()
	}
}
