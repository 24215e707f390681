package editor

import (
	"errors"
	"fmt"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/edit"
	"propwright/model/ir"
)

// freeCode returns a code that no button has yet.
func freeCode(d *model.Design) string {
	c := ir.Code{Protocol: "nec", Address: 0x04, Command: 0x08}
	if n := len(d.Remote.Buttons); n > 0 {
		if last, err := ir.ParseCode(d.Remote.Buttons[n-1].Code); err == nil {
			c = last
		}
	}
	taken := map[string]bool{}
	for i := range d.Remote.Buttons {
		if have, err := ir.ParseCode(d.Remote.Buttons[i].Code); err == nil {
			taken[have.String()] = true
		}
	}
	p, _ := c.Known()
	for taken[c.String()] {
		c.Command = (c.Command + 1) & uint32(1<<p.CommandBits-1)
	}
	return c.String()
}

// askName asks for a new element's name.
func (w *workspace) askName(s model.Sort, title, hint string, accept func(name string) error) {
	d := w.desk.design()
	w.over.Write(&pane.Dialog{
		Title: title, Hint: hint,
		Judge:  func(name string) error { return newName(d, s, name) },
		Accept: accept,
	}, "")
}

// askAdd asks for a new element's name and adds it.
func (w *workspace) askAdd(s model.Sort, title string, keys func(name string) []edit.Key) {
	w.askName(s, title, "small letters, digits and -", func(name string) error {
		return w.added(w.desk.draft.Add(w.last(s), keys(name)...))
	})
}

// offerNew lets a dialog offer a new element with the name written, unless there is
// one.
func (w *workspace) offerNew(c *pane.Dialog, s model.Sort, note string, run func(name string) error) {
	c.Free = func(text string) []pane.Item {
		if _, there := w.desk.design().Find(s, text); there || text == "" {
			return nil
		}
		return []pane.Item{{Text: fmt.Sprintf("new %s “%s”", s.Noun(), text), Note: note, Run: func() error { return run(text) }}}
	}
}

// newName says what is wrong with a name for a new element.
func newName(d *model.Design, sort model.Sort, name string) error {
	if name == "" {
		return errors.New("give it a name")
	}
	if _, there := d.Find(sort, name); there {
		return fmt.Errorf("%s %s is there already; choose another name", sort.Noun(), name)
	}
	if sort == model.SortState && (name == model.Any || name == model.Back) {
		return fmt.Errorf("%q cannot be a state's name: the word has its own meaning; choose another", name)
	}
	probe := &model.Design{States: []model.State{{}}, Remote: model.Remote{Buttons: []model.Button{{}}}}
	at := model.Elem{Sort: model.SortState}
	if sort == model.SortButton || sort == model.SortMessage { // these may be numbers
		at.Sort = model.SortButton
	}
	_, err := probe.With(at, "name", name)
	return err
}
