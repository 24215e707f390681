package editor

import (
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/edit"
	"propwright/model/ir"
)

// add adds what the view is about.
func (c edits) add() {
	e := c.e
	if e.inPanel {
		e.panel.addHere(e.panel.elem)
		return
	}
	for i := range screens {
		if s := &screens[i]; s.in == e.view && s.add != nil {
			s.add(e)
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

// addHere adds a part to what the panel shows.
func (p *panel) addHere(to model.Elem) {
	e := p.e
	sorts := map[model.Sort][]model.Sort{
		model.SortState:   {model.SortPose, model.SortDrift},
		model.SortRoutine: {model.SortCue},
		model.SortCue:     {model.SortCue},
		model.SortMessage: {model.SortMessage},
		model.SortPose:    {model.SortPose},
		model.SortDrift:   {model.SortDrift},
	}[to.Sort]
	d := e.desk.design()
	if to.Sort == model.SortOutput && d.Outputs[to.Index].Kind == model.KindMessage {
		sorts = []model.Sort{model.SortMessage}
	}
	if to.Sort == model.SortProp {
		p.addRequire()
		return
	}
	to.Part = 0
	switch len(sorts) {
	case 0:
		e.say("nothing can be added to " + d.Title(to))
	case 1:
		if p := sorts[0].Parent(); p != "" {
			to.Sort = p
		}
		p.addPart(to, sorts[0])
	default:
		c := &pane.Dialog{Title: "add to " + d.Title(to)}
		for _, s := range sorts {
			c.Offer("a "+s.Noun(), "", func() error { p.addPart(to, s); return nil })
		}
		e.over.Choose(c, "")
	}
}

// added shows a new element.
func (c edits) added(at model.Elem, err error) error {
	if c.e.did(err) != nil {
		return err
	}
	c.e.goTo(at)
	return nil
}

// last is where a new element of a sort goes.
func (c edits) last(s model.Sort) model.Elem {
	return model.Elem{Sort: s, Index: c.e.desk.design().Len(s, 0)}
}

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
func (c edits) askName(s model.Sort, title string, keys func(name string) []edit.Key) {
	e := c.e
	d := e.desk.design()
	judge := func(name string) error { return newName(d, s, name) }
	e.over.Write(&pane.Dialog{Title: title, Hint: "small letters, digits and -", Judge: judge, Accept: func(name string) error {
		return c.added(e.desk.draft.Add(c.last(s), keys(name)...))
	}}, "")
}

// addRequire asks for a requirement.
func (p *panel) addRequire() {
	e := p.e
	d, at := e.desk.design(), e.edits.last(model.SortRequire)
	e.over.Write(&pane.Dialog{
		Title: "a new requirement",
		Judge: func(s string) error {
			_, err := edit.New(d).Add(at, edit.Key{Key: "that", Value: s})
			return err
		},
		Hint: "one of: " + strings.Join(forms["that"], "; "),
		Accept: func(s string) error {
			return e.edits.added(e.desk.draft.Add(at, edit.Key{Key: "that", Value: s}))
		},
	}, "")
}
