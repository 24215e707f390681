package editor

import (
	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/edit"
	"propwright/model/ir"
)

// freeCode is a code that no button has yet.
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

// askName asks for a new element's name and adds it.
func (w *workspace) askName(s model.Sort, title string, keys func(name string) []edit.Key) {
	d := w.desk.design()
	judge := func(name string) error { return newName(d, s, name) }
	w.over.Write(&pane.Dialog{Title: title, Hint: "small letters, digits and -", Judge: judge, Accept: func(name string) error {
		return w.added(w.desk.draft.Add(w.last(s), keys(name)...))
	}}, "")
}
