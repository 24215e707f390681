package editor

import (
	"fmt"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/edit"
)

const inRemote scope = "remote"

// remote shows the buttons, their codes and what they do.
type remote struct {
	*workspace
	sheet
	learning *learning // going on, or nil
}

func (v *remote) renew() {
	d := v.desk.design()
	about := "stop button: " + d.Remote.Stop
	if d.Remote.Repeat == model.RepeatFrame {
		about += "; repeat: frame"
	}
	lines := []sheetLine{
		{cells: []string{"the remote"}},
		{model.Elem{Sort: model.SortRemote}, []string{"receiver", fmt.Sprintf("pin %d", d.Remote.Pin), about}},
		{cells: []string{"button", "code", "does"}},
	}
	for i := range d.Remote.Buttons {
		b := &d.Remote.Buttons[i]
		does := v.does(b.Name)
		if b.Unlearned {
			does = "code not learned; " + does
		}
		if b.Name == d.Remote.Stop {
			does = "■ stop; " + does
		}
		lines = append(lines, sheetLine{model.Elem{Sort: model.SortButton, Index: i}, []string{b.Name, b.Code, does}})
	}
	v.put(lines)
}

// does says in short what a button does.
func (v *remote) does(button string) string {
	d := v.desk.design()
	var words []string
	ignored := "nothing yet"
	for i := range d.Transitions {
		t := &d.Transitions[i]
		for _, on := range t.On {
			if on.Name != button || on.Kind.Of() != model.SortButton {
				continue
			}
			if t.Ignore {
				ignored = "nothing, on purpose"
				continue
			}
			s := list(t.From) + " → " + t.To
			if does := d.Does(t); does != "" {
				s = list(t.From) + " / " + does
			}
			if on.Kind != model.Press {
				s = on.Kind.String() + ": " + s
			}
			words = append(words, s)
		}
	}
	if words == nil {
		return ignored
	}
	return strings.Join(words, "; ")
}

func (v *remote) draw(p pane.Pen, here bool) { v.sheet.draw(p, v.workspace, here, 18, 22) }

func (v *remote) where() string {
	at, ok := v.elem()
	if !ok {
		return ""
	}
	if note := v.desk.design().Value(at, "note"); note != "" {
		return pane.OneLine(note)
	}
	if at.Sort == model.SortRemote {
		return "the receiver; Enter changes its pin and the stop button, Ctrl-N adds a button"
	}
	return v.desk.design().Title(at) + "; l learns its code, Ctrl-N adds a button"
}

// addButton asks for a button's name and code.
func (v *remote) addButton() {
	d := v.desk.design()
	v.over.Write(&pane.Dialog{
		Title: "a new button: name and code",
		Hint:  "for example: hush nec:0x04:0x09; without a code it gets one to begin with",
		Accept: func(s string) error {
			name, code, _ := strings.Cut(s, " ")
			if err := newName(d, model.SortButton, name); err != nil {
				return err
			}
			keys := []edit.Key{{Key: "name", Value: name}, {Key: "code", Value: code}}
			if code == "" {
				keys = []edit.Key{{Key: "name", Value: name}, {Key: "code", Value: freeCode(d)}, {Key: "learned", Value: "false"}}
			}
			return v.added(v.desk.draft.Add(v.last(model.SortButton), keys...))
		},
	}, "")
}
