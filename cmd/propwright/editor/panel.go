package editor

import (
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/editor/review"
	"propwright/model"
)

// panel shows one element in full, key by key, and lets each be written in
// place, in the file's own notation.
type panel struct {
	*workspace
	host  panelHost
	elem  model.Elem
	above []panelPlace // where Esc leads back to
	field *field       // being written, or nil
	panelLines
	rows  pane.Rows
	shown int // lines drawn last
}

// A panelHost gives the keys to its panel, and takes them back.
type panelHost interface {
	enterPanel()
	leavePanel()
}

// A panelPlace is a line of an element's details.
type panelPlace struct {
	elem model.Elem
	at   int
}

// show shows an element.
func (p *panel) show(elem model.Elem) {
	if elem != p.elem {
		p.at, p.rows = 0, pane.Rows{}
	}
	p.elem = elem
	p.renew()
}

// renew lists the element's keys and parts as the design has them now.
func (p *panel) renew() {
	d := p.desk.design()
	if !d.Has(p.elem) {
		p.field = nil
		p.lost(d)
	}
	p.lines = linesOf(d, p.grid, p.elem)
	p.at = min(p.at, len(p.lines)-1)
	p.settle(1)
}

// lost goes back from an element that no longer exists to the nearest that does, else to
// the view.
func (p *panel) lost(d *model.Design) {
	for n := len(p.above) - 1; n >= 0; n-- {
		if place := p.above[n]; d.Has(place.elem) {
			p.elem, p.at, p.above = place.elem, place.at, p.above[:n]
			return
		}
	}
	p.elem, p.above = model.Elem{Sort: model.SortProp}, nil
	p.host.leavePanel()
}

// point puts the cursor on the key that a finding is about, where the element
// shown has it.
func (p *panel) point(f review.Finding) {
	for i := range p.lines {
		if l := &p.lines[i]; p.elem == f.Elem && l.key != nil && l.key.Key == f.Key {
			p.at = i
		}
	}
}

// here returns the element that keys like rename and delete mean: the part on the
// cursor's line, or else the element shown.
func (p *panel) here() model.Elem {
	if l := p.line(); l.open != nil && l.open.Sort != model.SortTransition {
		return *l.open
	}
	return p.elem
}

// remove deletes an element. If the panel shows it, the panel goes back first; else it
// would show the element after it.
func (p *panel) remove(at model.Elem) {
	p.workspace.remove(at, func() {
		if p.elem == at {
			p.leave()
		}
	})
}

const keyColumn = 13

// draw draws the panel.
func (p *panel) draw(pn pane.Pen, here bool) {
	t := p.theme
	d := p.desk.design()
	title := t.Strong
	if here {
		title = t.Cursor
	}
	in := pn.Frame(t.Box, title, d.Title(p.elem))
	p.shown = in.H
	above, below := p.rows.Draw(in, p.layout(in.W), p.at, t.CursorOf(here && p.field == nil), keyColumn)
	pn.Part(0, 0, pn.W-3, pn.H).More(t.Strong, above, below)
}

// layout breaks the panel's lines for the screen.
func (p *panel) layout(w int) []pane.Row {
	t := p.theme
	var rows []pane.Row
	about := p.review.About(p.elem)
	for i := range p.lines {
		l := &p.lines[i]
		put := func(style tcell.Style, head bool, s string) {
			rows = append(rows, pane.Row{Of: i, Style: style, Text: s, Head: head})
		}
		tell := func(of func(key string) bool) {
			for j := range about {
				if of(about[j].Key) {
					p.tell(&about[j], i == p.at, w, put)
				}
			}
		}
		if i == 0 {
			tell(func(key string) bool {
				return !slices.ContainsFunc(p.lines, func(l panelLine) bool { return l.key != nil && l.key.Key == key })
			})
		}
		switch {
		case l.head:
			put(t.Head, false, l.text)
		case l.key != nil && p.field != nil && i == p.at:
			rows = append(rows, pane.Row{Of: i, Style: t.Strong, Text: l.key.Key, Head: true, Field: p.field.input})
			p.field.below(w-2, put)
		case l.key != nil:
			p.keyLines(l.key, w, i == p.at, put)
			tell(func(key string) bool { return key == l.key.Key })
		case l.add != "":
			put(t.Dim, true, " + "+l.text)
		case l.open != nil:
			put(t.Plain, true, " "+l.text)
		default:
			for _, s := range pane.Wrap(l.text, w-1) {
				put(t.Plain, false, " "+s)
			}
		}
	}
	return rows
}

// keyLines are a key with its value: in full where the cursor is.
func (p *panel) keyLines(kv *model.KeyValue, w int, full bool, put func(tcell.Style, bool, string)) {
	t := p.theme
	style, value := t.Plain, kv.Value
	if value == "" {
		style, value = t.Dim, "not set"
		if kv.Default != "" {
			value += " (" + kv.Default + ")"
		}
		if kv.Need {
			value = "to be said"
		}
	}
	if !hasLines(kv.Key) {
		value = flat(kv.Key, value)
	}
	lines := pane.Wrap(value, w-keyColumn)
	if !full && len(lines) > 1 {
		lines = []string{pane.Fit(lines[0]+" …", w-keyColumn)}
	}
	put(style, true, pane.Pad(kv.Key, keyColumn-1)+" "+lines[0])
	for _, s := range lines[1:] {
		put(style, false, strings.Repeat(" ", keyColumn)+s)
	}
}

// click puts the cursor on a line; a click on the cursor's line opens it.
func (p *panel) click(x, y int) {
	if p.field != nil {
		return
	}
	p.host.enterPanel()
	i, ok := p.rows.Item(y - 1)
	if !ok || !p.lines[i].selectable() {
		return
	}
	if i == p.at {
		p.enter()
		return
	}
	p.at = i
}

// enter opens the cursor's line: a key to be written, a part to be seen.
func (p *panel) enter() {
	switch l := p.line(); {
	case l.key != nil:
		p.write(l.key.Value)
	case l.open != nil:
		p.descend(*l.open)
	case l.add != "":
		p.addPart(p.elem, l.add)
	}
}

// descend shows an element; leave leads back to where the cursor is now.
func (p *panel) descend(to model.Elem) {
	p.above = append(p.above, panelPlace{p.elem, p.at})
	p.show(to)
}

// ascend shows the element that the one shown is part of.
func (p *panel) ascend(to model.Elem) {
	if n := len(p.above); n > 0 && p.above[n-1].elem == to {
		p.leave()
		return
	}
	p.show(to)
}

// leave goes back to the element above, or to the view.
func (p *panel) leave() {
	if n := len(p.above); n > 0 {
		place := p.above[n-1]
		p.above = p.above[:n-1]
		p.show(place.elem)
		p.at = min(place.at, len(p.lines)-1)
		p.settle(-1)
		return
	}
	p.host.leavePanel()
}

// enterPanel gives the keys to the panel.
func (e *Editor) enterPanel() {
	if e.view == inHelp {
		return
	}
	e.inPanel = true
	e.panelOnly = e.width < wide
}

// leavePanel gives them back to the view.
func (e *Editor) leavePanel() {
	if !e.inPanel {
		return
	}
	e.inPanel, e.panelOnly = false, false
	e.panel.field = nil
	e.follow()
}

// follow shows the element under the view's cursor in the panel, unless the panel is in
// use.
func (e *Editor) follow() {
	if v := e.current(); v != nil && !e.inPanel {
		e.panel.show(v.place())
		e.panel.above = nil
	}
}

// panelActions returns the keys of the details, and of a field in them.
func panelActions() []action {
	return []action{
		{"panel-up", []string{"Up"}, "the line above", inPanel, "", func(e *Editor) { e.panel.move(-1) }},
		{"panel-down", []string{"Down"}, "the line below", inPanel, "", func(e *Editor) { e.panel.move(1) }},
		{"panel-page-up", []string{"PgUp"}, "a screen up", inPanel, "", func(e *Editor) { e.panel.move(-max(e.panel.shown-1, 1)) }},
		{"panel-page-down", []string{"PgDn"}, "a screen down", inPanel, "", func(e *Editor) { e.panel.move(max(e.panel.shown-1, 1)) }},
		{"panel-top", []string{"Home"}, "the first line", inPanel, "", func(e *Editor) { e.panel.move(-len(e.panel.lines)) }},
		{"panel-bottom", []string{"End"}, "the last line", inPanel, "", func(e *Editor) { e.panel.move(len(e.panel.lines)) }},
		{"panel-type", []string{"a character"}, "write another value in place of this one", inPanel, "", func(e *Editor) { e.panel.enter() }},
		{"panel-open", []string{"Enter"}, "write the value, open the part, or add one", inPanel, "write", func(e *Editor) { e.panel.enter() }},
		{"panel-clear", []string{"Del", "Backspace"}, "say nothing for this key any more; on a part: delete it", inPanel, "clear", func(e *Editor) { e.panel.clearLine() }},
		{"panel-leave", []string{"Esc", "Left", "Tab"}, "back", inPanel, "back", func(e *Editor) { e.panel.leave() }},

		{"accept", []string{"Enter"}, "take the value", inField, "take it", func(e *Editor) { e.panel.field.accept() }},
		{"quit-field", []string{"Ctrl-C"}, "leave the editor; with changes it asks", inField, "", func(e *Editor) { e.files.quit() }},
		{"abandon", []string{"Esc"}, "leave the value as it was", inField, "leave it", func(e *Editor) { e.panel.field.abandon() }},
		{"choice-up", []string{"Up"}, "the choice above", inField, "", func(e *Editor) { e.panel.field.choose(-1) }},
		{"choice-down", []string{"Down"}, "the choice below", inField, "choose", func(e *Editor) { e.panel.field.choose(1) }},
		{"new-line", []string{"Ctrl-J"}, "begin another line, in a note or a comment: ¶ stands for it", inField, "", func(e *Editor) { e.panel.field.newLine() }},
		{"fix-field", []string{"Ctrl-T"}, "write the value that ends the finding about what is written", inField, "", func(e *Editor) { e.panel.field.fix() }},
		{"recall", []string{"Ctrl-O"}, "bring back what was written and then left", inField, "bring back", func(e *Editor) { e.panel.field.recall() }},
	}
}
