package editor

import (
	"errors"
	"slices"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/editor/review"
	"propwright/model"
)

// An arriver is a view that can put its cursor on an element.
type arriver interface {
	// arrive reports whether the view shows the element.
	arrive(at model.Elem) bool
}

// goTo puts the cursor on an element: in this view if it shows it, else in the first
// that does, else in the panel alone.
func (e *Editor) goTo(at model.Elem) {
	shown := false
	for _, id := range append([]viewID{e.view}, viewOrder...) {
		if v, ok := e.views[id].(arriver); ok && v.arrive(at) {
			if e.view != id {
				e.show(id)
			}
			shown = true
			break
		}
	}
	if !shown || e.inPanel || e.current().place() != at {
		e.openDetails(at)
		return
	}
	e.follow()
}

// openFinding puts the cursor on the element that a finding is about, and the
// details' on its key.
func (e *Editor) openFinding(f review.Finding) {
	for i := range screens {
		if slices.Contains(screens[i].about, f.Elem.Sort) {
			e.show(screens[i].in)
		}
	}
	e.goTo(f.Elem)
	e.panel.point(f)
}

// playWitness changes to the rehearsal, powered up for a finding's witness.
func (e *Editor) playWitness(f review.Finding) {
	p := e.playView()
	if p.prop != nil {
		p.leaveProp(errors.New("a finding is shown"))
	}
	p.powerDrawing(append([]uint32{}, f.Draws...))
	p.steps, p.told = f.Witness, strings.TrimSuffix(f.Message, ".")
	e.show(inPlay)
}

// openDetails shows an element in the panel and gives it the keys.
func (e *Editor) openDetails(at model.Elem) {
	if e.view == inHelp {
		e.leaveHelp()
	}
	e.enterPanel()
	e.panel.above = nil
	e.panel.show(at)
}

func (e *Editor) leaveHelp() { e.show(e.before) }

// search finds everything by name, label or note.
func (e *Editor) search() {
	d := e.desk.design()
	c := &pane.Dialog{Title: "search", Hint: "Enter goes there"}
	for _, sort := range []model.Sort{model.SortState, model.SortButton, model.SortInput, model.SortEvent, model.SortOutput, model.SortRoutine, model.SortTrack, model.SortTransition, model.SortRequire} {
		for i := range d.Len(sort, 0) {
			at := model.Elem{Sort: sort, Index: i}
			text := d.Title(at)
			for _, key := range []string{"label", "note"} {
				if v := d.Value(at, key); v != "" {
					text += " — " + pane.OneLine(v)
				}
			}
			c.Offer(text, "", func() error { e.goTo(at); return nil })
		}
	}
	e.over.Choose(c, "")
}

// also holds further words by which the palette finds an action, beside those of the key
// line.
var also = map[string]string{
	"add":       "new create insert",
	"delete":    "remove erase cut",
	"demo":      "example",
	"duplicate": "copy clone",
	"fix":       "fix mend apply advice",
	"quit":      "exit close end",
	"rehearsal": "play simulate test try",
	"rig":       "pins outputs wiring",
	"routines":  "cues timeline animation sequence",
	"save":      "write store",
	"save-as":   "copy export",
	"search":    "find",
	"undo":      "revert back",
}

// palette finds every action by its label, those of other views last. Such a one only leads
// there: what the cursor is on in that view cannot be seen from here.
func (e *Editor) palette() {
	offers := func(in scope, keys string, run func(*action)) (items []pane.Item) {
		for i := range actions {
			if a := &actions[i]; a.in == in && a.id != "palette" {
				words := strings.Join([]string{a.id, a.line, also[a.id]}, " ")
				items = append(items, pane.Item{Text: a.label, Note: keys + a.keyText(), Also: words, Run: func() error { run(a); return nil }})
			}
		}
		return items
	}
	c := &pane.Dialog{Title: "actions", Hint: "a few letters of what you want to do"}
	own := e.viewScopes()[0]
	for _, s := range []scope{own, anywhere, inLists} {
		c.Items = append(c.Items, offers(s, "", func(a *action) { a.run(e) })...)
	}
	var others []pane.Item
	for i := range screens {
		if s := &screens[i]; s.in != e.view && s.in != inHelp {
			others = append(others, offers(s.in, s.keys[0]+" ", func(a *action) {
				e.show(s.in)
				e.say(a.keyText() + ": " + a.label)
			})...)
		}
	}
	c.Free = func(text string) (found []pane.Item) {
		index, whole := pane.MatchIndex(text, len(others), func(i int) (text, also string) { return others[i].Text, others[i].Also })
		for _, i := range index[:whole] {
			found = append(found, others[i])
		}
		return found
	}
	e.over.Choose(c, "")
}
