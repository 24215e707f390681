package editor

import (
	"fmt"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/edit"
)

// edits is what the editor does to the design's elements, whichever view shows
// them. What only one view does stands beside that view.
type edits struct{ e *Editor }

// did shows a design that an edit has changed.
func (e *Editor) did(err error) error {
	if err == nil {
		e.renew()
	}
	return err
}

// try shows a changed design, or why it was not changed.
func (e *Editor) try(err error) bool {
	if e.did(err) != nil {
		e.complain(err)
		return false
	}
	return true
}

// setKey writes one key of an element, or its comment.
func (c edits) setKey(at model.Elem, key, text string) error {
	e := c.e
	if key == commentKey {
		return e.did(e.desk.draft.Comment(at, text))
	}
	return e.did(e.desk.draft.Set(at, key, text))
}

// here is the element that keys like rename and delete mean.
func (e *Editor) here() model.Elem {
	if e.inPanel {
		if p := e.panel; p.at >= 0 && p.at < len(p.lines) && p.lines[p.at].open != nil && p.lines[p.at].open.Sort != model.SortTransition {
			return *p.lines[p.at].open
		}
		return e.panel.elem
	}
	if m, ok := e.current().(*matrix); ok { // the line, not the cell
		if s := m.row().state; s >= 0 {
			return model.Elem{Sort: model.SortState, Index: s}
		}
	}
	return e.current().place()
}

func (c edits) undo() {
	c.went(c.e.desk.draft.Undo, "taken back: ", "there is nothing to take back")
}

func (c edits) redo() {
	c.went(c.e.desk.draft.Redo, "done again: ", "there is nothing to do again")
}

// went goes a step through the edits and says which, or that there is none.
func (c edits) went(step func() (label string, ok bool), said, none string) {
	label, ok := step()
	if !ok {
		c.e.say(none)
		return
	}
	c.e.renew()
	c.e.say(said + label)
}

// rename asks for another name.
func (c edits) rename() {
	e := c.e
	at, d := e.here(), e.desk.design()
	if d.Name(at) == "" || at.Sort == model.SortPose || at.Sort == model.SortDrift {
		e.say(d.Title(at) + " has no name")
		return
	}
	e.over.Write(&pane.Dialog{
		Title: "rename " + d.Title(at),
		Hint:  "everything that names it follows",
		Judge: func(s string) error { return edit.New(d).Rename(at, s) },
		Accept: func(s string) error {
			old := d.Name(at)
			if err := e.did(e.desk.draft.Rename(at, s)); err != nil {
				return err
			}
			e.say(fmt.Sprintf("%s is now %s, wherever it is named", old, s))
			return nil
		},
	}, d.Name(at))
}

// duplicate makes a copy of an element beside it.
func (c edits) duplicate() {
	e := c.e
	at, d := e.here(), e.desk.design()
	copied := func(made func(model.Elem) (model.Elem, error)) func() error {
		return func() error {
			c, err := made(at)
			if e.did(err) != nil {
				return err
			}
			e.goTo(c)
			e.say("a copy: " + e.desk.design().Title(c))
			return nil
		}
	}
	alone := copied(e.desk.draft.Duplicate)
	if at.Sort == model.SortRoutine && len(edit.Users(d, at)) > 0 {
		e.over.Ask(&pane.Dialog{Title: "duplicate " + d.Title(at), Text: "States play it. Their copies answer every trigger as they do, and play the copy.", Items: []pane.Item{
			{Text: "the routine alone", Run: alone},
			{Text: "with the states that play it", Run: copied(e.desk.draft.DuplicateWithUsers)},
		}})
		return
	}
	if err := alone(); err != nil {
		e.complain(err)
	}
}

// remove deletes an element after saying what goes with it.
func (c edits) remove() {
	e := c.e
	at, d := e.here(), e.desk.design()
	takes, err := edit.Takes(d, at)
	if err != nil {
		e.complain(err)
		return
	}
	gone := func() error {
		title := d.Title(at)
		if err := e.did(e.desk.draft.Delete(at)); err != nil {
			return err
		}
		if e.inPanel && e.panel.elem == at { // it shows the one that came after
			e.panel.leave()
		}
		e.say(title + " is deleted; Ctrl-Z brings it back")
		return nil
	}
	if len(takes) == 0 {
		if err := gone(); err != nil {
			e.complain(err)
		}
		return
	}
	e.over.Ask(&pane.Dialog{Title: "delete " + d.Title(at) + "?", Text: "With it:\n" + strings.Join(takes, "\n"), Items: []pane.Item{
		{Text: "delete all that", Run: gone},
		{Text: "keep it"},
	}})
}

// shift moves an element in its list.
func (c edits) shift(by int) {
	e := c.e
	at, p := e.here(), e.panel
	was := at
	i := &at.Index
	if at.Sort.Parent() != "" {
		i = &at.Part
	}
	*i += by
	if !e.try(e.desk.draft.Move(was, *i)) {
		return
	}
	switch {
	case e.inPanel && p.elem == was:
		p.elem = at
		p.renew()
	case e.inPanel: // it is a line of what the panel shows
		p.move(by)
	default:
		e.goTo(at)
	}
	d := e.desk.design()
	e.say(fmt.Sprintf("%s is now number %d of %d", d.Title(at), *i+1, d.Len(at.Sort, at.Index)))
}

// addPart adds a pose, drift, cue or message to an element.
func (p *panel) addPart(to model.Elem, sort model.Sort) {
	e := p.e
	d := e.desk.design()
	added := func(keys ...edit.Key) error {
		at, err := e.desk.draft.Add(model.Elem{Sort: sort, Index: to.Index, Part: d.Len(sort, to.Index)}, keys...)
		if e.did(err) != nil {
			return err
		}
		e.panel.ascend(to)
		e.panel.descend(at)
		e.inPanel, e.panelOnly = true, e.width < wide
		return nil
	}
	if sort == model.SortMessage {
		e.over.Write(&pane.Dialog{Title: "a new message's name", Hint: "its bytes can be written next", Accept: func(s string) error {
			return added(edit.Key{Key: "name", Value: s}, edit.Key{Key: "bytes", Value: "00"})
		}}, "")
		return
	}
	c := &pane.Dialog{Title: "a new " + sort.Noun() + ": of which output?", Hint: "a few letters find it"}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		c.Offer(o.Name, string(o.Kind), func() error { return added(p.cueKeys(to, sort, "output", o.Name)...) })
	}
	if sort == model.SortCue {
		for i := range d.Tracks {
			t := &d.Tracks[i]
			c.Offer(t.Name, "sound", func() error { return added(p.cueKeys(to, sort, "track", t.Name)...) })
		}
	}
	if len(c.Items) == 0 {
		e.say("there is no output yet; F4 shows the rig, where Ctrl-N adds one")
		return
	}
	e.over.Choose(c, "")
}

// cueKeys are the keys that a part begins with: a cue comes when its routine
// has ended so far.
func (p *panel) cueKeys(to model.Elem, sort model.Sort, key, name string) []edit.Key {
	keys := []edit.Key{{Key: key, Value: name}}
	if sort == model.SortCue {
		d := p.e.desk.design()
		at := d.RoutineLength(&d.Routines[to.Index])
		keys = append(keys, edit.Key{Key: "at", Value: model.FormatDuration(at)})
	}
	return keys
}

// clearLine takes a key of the panel away, or a part.
func (p *panel) clearLine() {
	e := p.e
	if p.at < 0 || p.at >= len(p.lines) {
		return
	}
	switch l := &p.lines[p.at]; {
	case l.key != nil && l.key.Value == "":
		e.say(l.key.Key + " is not said")
	case l.key != nil:
		if err := e.edits.setKey(p.elem, l.key.Key, ""); err != nil {
			e.complain(err)
		}
	case l.open != nil && (l.open.Sort.Parent() != "" || l.open.Sort == model.SortRequire):
		e.edits.remove()
	default:
		e.say("Enter opens it")
	}
}

// recall brings back into a field what was written and then left.
func (p *panel) recall() {
	e := p.e
	if e.over.Recall(e.panel.field.input) {
		e.panel.look()
	}
}
