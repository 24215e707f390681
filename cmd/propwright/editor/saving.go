package editor

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/store"
)

const designSuffix = ".prop.toml"

// files opens, saves and leaves designs, and asks if something would be lost.
type files struct {
	*workspace
	seat seat
}

// A seat is the editor as files know it.
type seat interface {
	sit(*desk)     // works on another design
	writing() bool // a text has been written and not taken
	stop()         // ends the run
}

// save saves the design; it asks if another program changed the file.
func (f files) save() { f.saveThen(nil) }

// saveThen saves and, if that worked, calls then.
func (f files) saveThen(then func()) {
	if f.desk.file == nil {
		f.say("there is no design yet")
		return
	}
	first := f.desk.fresh
	save := func() error {
		f.saved(f.desk.save(false), then)
		if first && !f.desk.fresh {
			f.say(fmt.Sprintf("%s is saved; `propwright build %[1]s` writes its sketch", f.desk.file.Name()))
		}
		return nil
	}
	if f.desk.unread() == nil {
		save()
		return
	}
	f.over.Ask(&pane.Dialog{Title: "a save here would lose something", Text: "This cannot be read, so it would not be in the file any more:\n" + f.desk.unreadText(), Items: []pane.Item{
		{Text: "save under another name", Run: func() error { f.askFile(then); return nil }},
		{Text: "save here, without it", Run: save},
		{Text: "do nothing"},
	}})
}

func (f files) saved(err error, then func()) {
	var other *store.ChangedError
	switch {
	case errors.As(err, &other):
		f.askChanged(err, then)
	case err != nil:
		f.complain(err)
	default:
		f.desk.look()
		f.recheck() // what the file says has changed
		f.say(f.desk.file.Name() + " is saved")
		if then != nil {
			then()
		}
	}
}

// askChanged asks what to do with a file that another program has changed.
func (f files) askChanged(err error, then func()) {
	other := pane.Item{Text: "save under another name", Run: func() error { f.askFile(then); return nil }}
	take := pane.Item{Text: "take the file from disk (undo brings yours back)", Run: func() error {
		if err := f.did(f.desk.reload()); err != nil {
			return err
		}
		f.say("this is the file as it is on disk; Ctrl-Z brings back what was here")
		f.tellUnread()
		return nil
	}}
	answers := []pane.Item{other, take}
	if !f.desk.changed() {
		answers = []pane.Item{take, other}
	}
	f.over.Ask(&pane.Dialog{Title: "the file has changed on disk", Text: err.Error() + ".", Items: append(answers,
		pane.Item{Text: "overwrite it with what is on the screen", Run: func() error { f.saved(f.desk.save(true), then); return nil }},
		pane.Item{Text: "do nothing"})})
}

func (f files) askSaveAs() {
	if f.desk.file == nil {
		f.say("there is no design yet")
		return
	}
	f.askFile(nil)
}

// askFile asks for the name of a file to save to.
func (f files) askFile(then func()) {
	f.over.Write(&pane.Dialog{
		Title: "save as",
		Hint:  "the file's name; it ends in " + designSuffix,
		Accept: func(s string) error {
			if s == "" {
				return errors.New("give the file a name")
			}
			if !strings.HasSuffix(s, designSuffix) {
				s += designSuffix
			}
			if err := f.desk.saveAs(s); err != nil {
				return err
			}
			f.saved(nil, then)
			return nil
		},
	}, filepath.Join(filepath.Dir(f.desk.file.Name()), f.desk.design().Prop.Name+designSuffix))
}

const leaveTitle = "leave?"

// quit leaves; with changes it asks first.
func (f files) quit() {
	if o := f.over.Top(); o != nil && o.Title == leaveTitle {
		return // it has been asked
	}
	stay := pane.Item{Text: "stay here"}
	leave := pane.Item{Text: "leave without saving them", Run: func() error { f.seat.stop(); return nil }}
	answers := []pane.Item{{Text: "save them and leave", Run: func() error { f.saveThen(f.seat.stop); return nil }}, stay, leave}
	text := "There are changes that are not saved."
	switch {
	case f.desk.gone():
		text = "The file is gone; what is on the screen is in no file."
	case f.desk.changed():
	case f.seat.writing():
		text, leave.Text = "What you are writing is in no file yet.", "leave without it"
		answers = []pane.Item{stay, leave}
	default:
		f.seat.stop()
		return
	}
	f.over.Ask(&pane.Dialog{Title: leaveTitle, Text: text, Items: answers})
}

// unreadText lists what a save would lose.
func (k *desk) unreadText() string {
	var lines []string
	for _, f := range k.unread() {
		lines = append(lines, fmt.Sprintf("line %d: %s", f.Pos.Line, f.Wrong))
	}
	return strings.Join(lines, "\n")
}

// tellUnread reports what could not be read of the file.
func (f files) tellUnread() {
	if f.desk.unread() == nil {
		return
	}
	f.over.Ask(&pane.Dialog{Title: "a part of the file cannot be read", Text: f.desk.unreadText() + "\nThe file keeps it until you save. F7 says what to do.", Items: []pane.Item{
		{Text: "look at the rest; a save asks first"},
		{Text: "leave, and mend the file in a text editor", Run: func() error { f.quit(); return nil }},
	}})
}
