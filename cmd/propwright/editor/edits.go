package editor

import (
	"fmt"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/edit"
)

// setKey writes one key of an element, or its comment.
func (w *workspace) setKey(at model.Elem, key, text string) error {
	if key == commentKey {
		return w.did(w.desk.draft.Comment(at, text))
	}
	return w.did(w.desk.draft.Set(at, key, text))
}

func (w *workspace) undo() {
	w.went(w.desk.draft.Undo, "taken back: ", "there is nothing to take back")
}

func (w *workspace) redo() {
	w.went(w.desk.draft.Redo, "done again: ", "there is nothing to do again")
}

// went undoes or redoes an edit and says which, or that there is none.
func (w *workspace) went(step func() (label string, ok bool), said, none string) {
	label, ok := step()
	if !ok {
		w.say(none)
		return
	}
	w.changed()
	w.say(said + label)
}

// rename asks for another name.
func (w *workspace) rename(at model.Elem) {
	d := w.desk.design()
	if d.Name(at) == "" || at.Sort == model.SortPose || at.Sort == model.SortDrift || at.Sort == model.SortOrder {
		w.say(d.Title(at) + " has no name")
		return
	}
	w.over.Write(&pane.Dialog{
		Title: "rename " + d.Title(at),
		Hint:  "everything that names it follows",
		Judge: func(s string) error { return edit.New(d).Rename(at, s) },
		Accept: func(s string) error {
			old := d.Name(at)
			if err := w.did(w.desk.draft.Rename(at, s)); err != nil {
				return err
			}
			w.say(fmt.Sprintf("%s is now %s, wherever it is named", old, s))
			return nil
		},
	}, d.Name(at))
}

// duplicate makes a copy of an element beside it.
func (w *workspace) duplicate(at model.Elem) {
	d := w.desk.design()
	copied := func(made func(model.Elem) (model.Elem, error)) func() error {
		return func() error {
			c, err := made(at)
			if w.did(err) != nil {
				return err
			}
			w.goTo(c)
			w.say("a copy: " + w.desk.design().Title(c))
			return nil
		}
	}
	alone := copied(w.desk.draft.Duplicate)
	if at.Sort == model.SortRoutine && len(d.Users(at)) > 0 {
		w.over.Ask(&pane.Dialog{Title: "duplicate " + d.Title(at), Text: "States play it. Their copies answer every trigger as they do, and play the copy.", Items: []pane.Item{
			{Text: "the routine alone", Run: alone},
			{Text: "with the states that play it", Run: copied(w.desk.draft.DuplicateWithUsers)},
		}})
		return
	}
	if err := alone(); err != nil {
		w.complain(err)
	}
}

// remove deletes an element after saying what else would be deleted; then it calls then.
func (w *workspace) remove(at model.Elem, then func()) {
	d := w.desk.design()
	takes, err := edit.Takes(d, at)
	if err != nil {
		w.complain(err)
		return
	}
	gone := func() error {
		title := d.Title(at)
		if err := w.did(w.desk.draft.Delete(at)); err != nil {
			return err
		}
		then()
		w.say(title + " is deleted; Ctrl-Z brings it back")
		return nil
	}
	if len(takes) == 0 {
		if err := gone(); err != nil {
			w.complain(err)
		}
		return
	}
	w.over.Ask(&pane.Dialog{Title: "delete " + d.Title(at) + "?", Text: "With it:\n" + strings.Join(takes, "\n"), Items: []pane.Item{
		{Text: "delete all that", Run: gone},
		{Text: "keep it"},
	}})
}

// shift moves an element in its list and says where it is then.
func (w *workspace) shift(at model.Elem, by int) (moved model.Elem, ok bool) {
	parent, i := at.Place()
	if !w.try(w.desk.draft.Move(at, i+by)) {
		return at, false
	}
	d, to := w.desk.design(), at.Sort.At(parent, i+by)
	w.say(fmt.Sprintf("%s is now number %d of %d", d.Title(to), i+by+1, d.Len(to.Sort, parent)))
	return to, true
}

// last returns the place of a new element of a sort.
func (w *workspace) last(s model.Sort) model.Elem {
	return s.At(0, w.desk.design().Len(s, 0))
}

// added shows a new element.
func (w *workspace) added(at model.Elem, err error) error {
	if w.did(err) != nil {
		return err
	}
	w.goTo(at)
	return nil
}
