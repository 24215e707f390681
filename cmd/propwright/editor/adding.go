package editor

import (
	"fmt"
	"strconv"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/edit"
	"propwright/model/ir"
)

// add adds what the view is about.
func (e *Editor) add() {
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
func (e *Editor) added(at model.Elem, err error) error {
	if e.did(err) != nil {
		return err
	}
	e.goTo(at)
	return nil
}

// last is where a new element of a sort goes.
func (e *Editor) last(s model.Sort) model.Elem {
	return model.Elem{Sort: s, Index: e.desk.design().Len(s, 0)}
}

// addButton asks for a button's name and code.
func (v *remote) addButton() {
	e := v.e
	d := e.desk.design()
	e.over.Write(&pane.Dialog{
		Title: "a new button: name and code",
		Hint:  "for example: hush nec:0x04:0x09; without a code it gets one to begin with",
		Accept: func(s string) error {
			name, code, _ := strings.Cut(s, " ")
			if err := newName(d, model.SortButton, name); err != nil {
				return err
			}
			if code == "" {
				code = freeCode(d)
			}
			return e.added(e.desk.draft.Add(e.last(model.SortButton), edit.Key{Key: "name", Value: name}, edit.Key{Key: "code", Value: code}))
		},
	}, "")
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

// freePin is the first of the board's pins that is free for a use.
func freePin(d *model.Design, use board.Use) string {
	b, ok := board.ByName(d.Prop.Board)
	if !ok {
		return "2"
	}
	taken := users(d)
	for _, p := range b.Pins {
		if taken[p.Number] == nil && b.Cannot(p.Number, use) == "" && (use == board.UseMessage || !p.Has(board.RXD) && !p.Has(board.TXD)) {
			return strconv.Itoa(p.Number)
		}
	}
	return strconv.Itoa(len(b.Pins) - 1)
}

// addToRig asks what is new in the rig.
func (v *rig) addToRig() {
	e := v.e
	d := e.desk.design()
	c := &pane.Dialog{Title: "what is new in the rig?", Hint: "a few letters find it"}
	for _, kind := range model.OutputKinds {
		c.Offer(string(kind), kindOfOutput[kind], func() error {
			e.askName(model.SortOutput, "a new "+string(kind)+"'s name", func(name string) []edit.Key {
				return []edit.Key{{Key: "name", Value: name}, {Key: "kind", Value: string(kind)}, {Key: "pin", Value: freePin(d, board.Use(kind))}}
			})
			return nil
		})
	}
	c.Offer("input", "a switch or a sensor", func() error {
		e.askName(model.SortInput, "a new input's name", func(name string) []edit.Key {
			return []edit.Key{{Key: "name", Value: name}, {Key: "pin", Value: freePin(d, board.UseInput)}}
		})
		return nil
	})
	for i := range d.Outputs {
		o := &d.Outputs[i]
		play := ""
		switch o.Kind {
		case model.KindPulse, model.KindSwitch:
			play = fmt.Sprintf("{ output = %q }", o.Name)
		case model.KindMessage:
			if len(o.Messages) > 0 {
				play = fmt.Sprintf("{ output = %q, value = %q }", o.Name, o.Messages[0].Name)
			}
		}
		if play == "" {
			continue
		}
		c.Offer("sound on "+o.Name, "a track", func() error {
			e.askName(model.SortTrack, "a new sound's name", func(name string) []edit.Key {
				return []edit.Key{{Key: "name", Value: name}, {Key: "length", Value: "1s"}, {Key: "play", Value: play}}
			})
			return nil
		})
	}
	e.over.Choose(c, "")
}

var kindOfOutput = map[model.OutputKind]string{
	model.KindServo:   "a joint that goes to an angle",
	model.KindSpinner: "a joint that turns on and on",
	model.KindPixels:  "a strip of lights",
	model.KindPulse:   "starts a sound or a show board",
	model.KindMessage: "sends bytes to another board",
	model.KindSwitch:  "a pin on or off",
}

// askName asks for a new element's name and adds it.
func (e *Editor) askName(s model.Sort, title string, keys func(name string) []edit.Key) {
	d := e.desk.design()
	judge := func(name string) error { return newName(d, s, name) }
	e.over.Write(&pane.Dialog{Title: title, Hint: "small letters, digits and -", Judge: judge, Accept: func(name string) error {
		if err := judge(name); err != nil {
			return err
		}
		return e.added(e.desk.draft.Add(e.last(s), keys(name)...))
	}}, "")
}

// addRoutine asks for a routine's name. A performing state of that name that
// plays nothing yet plays it.
func (v *routines) addRoutine() {
	e := v.e
	d, at := e.desk.design(), e.last(model.SortRoutine)
	judge := func(name string) error { return newName(d, model.SortRoutine, name) }
	e.over.Write(&pane.Dialog{
		Title: "a new routine's name",
		Hint:  "small letters, digits and -; a performing state of that name will play it",
		Judge: judge,
		Accept: func(name string) error {
			if err := judge(name); err != nil {
				return err
			}
			err := e.desk.draft.Together("add routine "+name, func() error {
				if _, err := e.desk.draft.Add(at, edit.Key{Key: "name", Value: name}); err != nil {
					return err
				}
				state, ok := d.Find(model.SortState, name)
				if !ok || d.States[state.Index].Kind != model.Performing || d.States[state.Index].Plays != "" {
					return nil
				}
				return e.desk.draft.Set(state, "plays", name)
			})
			return e.added(at, err)
		},
	}, "")
}

// addRequire asks for a requirement.
func (p *panel) addRequire() {
	e := p.e
	d, at := e.desk.design(), e.last(model.SortRequire)
	e.over.Write(&pane.Dialog{
		Title: "a new requirement",
		Judge: func(s string) error {
			_, err := edit.New(d).Add(at, edit.Key{Key: "that", Value: s})
			return err
		},
		Hint: "one of: " + strings.Join(forms["that"], "; "),
		Accept: func(s string) error {
			return e.added(e.desk.draft.Add(at, edit.Key{Key: "that", Value: s}))
		},
	}, "")
}
