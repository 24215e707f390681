package editor

import (
	"fmt"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/edit"
)

// addHere adds a part to what the panel shows, or one like it beside it.
func (p *panel) addHere() {
	to, d := p.elem, p.desk.design()
	sorts := partsOf(d, to)
	if parent := to.Sort.Parent(); parent != "" {
		sorts, to = []model.Sort{to.Sort}, model.Elem{Sort: parent, Index: to.Index}
	}
	switch len(sorts) {
	case 0:
		p.say("nothing can be added to " + d.Title(to))
	case 1:
		p.addPart(to, sorts[0])
	default:
		c := &pane.Dialog{Title: "add to " + d.Title(to)}
		for _, s := range sorts {
			c.Offer(one(s.Noun()), "", func() error { p.addPart(to, s); return nil })
		}
		p.over.Choose(c, "")
	}
}

// addPart adds a pose, drift, cue or message to an element, or a requirement.
func (p *panel) addPart(to model.Elem, sort model.Sort) {
	if sort == model.SortRequire {
		p.addRequire()
		return
	}
	d := p.desk.design()
	added := func(keys ...edit.Key) error {
		at, err := p.desk.draft.Add(sort.At(to.Index, d.Len(sort, to.Index)), keys...)
		if p.did(err) != nil {
			return err
		}
		p.ascend(to)
		p.pointPart(at)
		p.descend(at)
		p.host.enterPanel()
		return nil
	}
	if sort == model.SortMessage {
		p.over.Write(&pane.Dialog{Title: "a new message's name", Hint: "its bytes can be written next", Accept: func(s string) error {
			return added(edit.Key{Key: "name", Value: s}, edit.Key{Key: "bytes", Value: "00"})
		}}, "")
		return
	}
	p.askOutput(sort, func(key, name string) error {
		keys := []edit.Key{{Key: key, Value: name}}
		if sort == model.SortCue { // it comes when the routine has ended so far
			keys = append(keys, edit.Key{Key: "at", Value: model.FormatDuration(d.RoutineLength(&d.Routines[to.Index]))})
		}
		return added(keys...)
	})
}

// askOutput asks for the output, or for a cue the track, of a new part; then
// gets the key that names it and its name.
func (w *workspace) askOutput(sort model.Sort, then func(key, name string) error) {
	d := w.desk.design()
	c := &pane.Dialog{Title: "a new " + sort.Noun() + ": of which output?", Hint: "a few letters find it"}
	for i := range d.Outputs {
		o := &d.Outputs[i]
		c.Offer(o.Name, string(o.Kind), func() error { return then("output", o.Name) })
	}
	if sort == model.SortCue {
		for i := range d.Tracks {
			t := &d.Tracks[i]
			c.Offer(t.Name, "sound", func() error { return then("track", t.Name) })
		}
	}
	if len(c.Items) == 0 {
		w.say("there is no output yet; F4 shows the rig, where Ctrl-N adds one")
		return
	}
	w.over.Choose(c, "")
}

// addRequire asks for a requirement.
func (p *panel) addRequire() {
	d, at := p.desk.design(), p.last(model.SortRequire)
	p.over.Write(&pane.Dialog{
		Title: "a new requirement",
		Judge: func(s string) error {
			_, err := edit.New(d).Add(at, edit.Key{Key: "that", Value: s})
			return err
		},
		Hint: "one of: " + strings.Join(model.RequireForms, "; "),
		Accept: func(s string) error {
			return p.added(p.desk.draft.Add(at, edit.Key{Key: "that", Value: s}))
		},
	}, "")
}

// clearLine takes a key of the panel away, or a part.
func (p *panel) clearLine() {
	switch l := p.line(); {
	case !l.selectable():
	case l.key != nil && l.key.Value == "":
		p.say(l.key.Key + " is not said")
	case l.key != nil:
		if err := p.setKey(p.elem, l.key.Key, ""); err != nil {
			p.complain(err)
		}
	case l.open != nil && (l.open.Sort.Parent() != "" || l.open.Sort == model.SortRequire):
		p.remove(*l.open)
	default:
		p.say("Enter opens it")
	}
}

// explain returns what a key is for, on one line of the least screen.
func explain(kv *model.KeyValue) string {
	text := kv.Key + ": " + kv.Meaning
	if kv.List && kv.Choices != nil {
		text += "; with commas between"
	}
	if kv.Need {
		text += "; needed"
	}
	return text
}

// where says what the line under the panel's cursor is for.
func (p *panel) where() string {
	if p.at < 0 || p.at >= len(p.lines) {
		return ""
	}
	switch l := &p.lines[p.at]; {
	case l.key != nil:
		return explain(l.key)
	case l.add != "":
		return "Enter adds one"
	case l.open != nil && l.open.Sort.Parent() != "":
		return fmt.Sprintf("Enter opens the %s, Del deletes it, Ctrl-D doubles it", strings.TrimPrefix(l.open.Sort.Noun(), "the "))
	}
	return "Enter opens it"
}
