package pane

import (
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"
)

// A Dialog asks for something. Dialogs.Choose, Write and Ask say in which form;
// what a dialog leaves out, its form has no need of.
type Dialog struct {
	Title string
	Text  string // what a question is about
	Hint  string // below a field
	Must  bool   // it cannot be left without an answer
	Back  func() // where leaving it leads; may be nil

	Items []Item
	Free  func(text string) []Item // items made of what is written; may be nil

	Judge  func(text string) error // what is wrong with a text, also while it is written; may be nil
	Accept func(text string) error // takes a text that Judge lets pass

	Heard []Scope      // in place of the form's scopes; may be nil
	Body  func(in Pen) // draws a dialog that has none of the forms

	Input *Field // nil where nothing is written
	Pick  int    // the item that Enter takes
	Err   error  // why the answer was not taken

	in    *Dialogs
	form  form
	was   string // the text to begin with
	found []Item // that fit what is written
	top   int    // the first of them on the screen
	first int    // the screen's line of that
}

// An Item is one thing to choose. With an error from Run, which may be nil, the
// dialog stays and shows it.
type Item struct {
	Text string
	Note string // beside it, not matched
	Also string // other words that find it
	Run  func() error
}

type form int

const (
	free form = iota // by its Body
	chooser
	prompt
	question
)

// Offer adds an item.
func (d *Dialog) Offer(text, note string, run func() error) {
	d.Items = append(d.Items, Item{Text: text, Note: note, Run: run})
}

// Scopes returns those whose keys the dialog hears, the nearest first.
func (d *Dialog) Scopes() []Scope {
	if d.Heard != nil {
		return d.Heard
	}
	s := []Scope{[...]Scope{chooser: InChooser, prompt: InPrompt, question: InQuestion}[d.form]}
	switch {
	case d.Must:
		return s
	case d.Back != nil:
		return append(s, InSteps)
	}
	return append(s, InAsked)
}

// look judges what is written so far, or finds the items that fit. What is made
// of the text comes before items that only have its letters somewhere: a new
// name must not become another.
func (d *Dialog) look() {
	text := d.Input.Text()
	d.Err = nil
	if d.form == prompt {
		if d.Judge != nil && text != "" {
			d.Err = d.Judge(text)
		}
		return
	}
	d.found, d.Pick, d.top = d.found[:0], 0, 0
	index, whole := MatchIndex(text, len(d.Items), func(i int) (text, also string) { return d.Items[i].Text, d.Items[i].Also })
	for _, i := range index {
		d.found = append(d.found, d.Items[i])
	}
	if d.Free != nil {
		d.found = slices.Insert(d.found, whole, d.Free(text)...)
	}
}

// Key takes a key that is no action of the dialog's scopes; it reports whether
// the key wrote something.
func (d *Dialog) Key(ev *tcell.EventKey) bool {
	if ev.Key() == tcell.KeyEscape {
		switch d.form {
		case chooser:
			d.in.Say("choose a line; the last one leaves")
		case question:
			d.in.Say("choose one of the answers")
		}
	}
	if d.Input == nil || !d.Input.Key(ev) {
		return false
	}
	d.look()
	return true
}

// Paste takes a pasted text.
func (d *Dialog) Paste(text string) {
	if d.Input != nil {
		d.Input.Paste(OneLine(text))
		d.look()
	}
}

// Recall brings back what was written and then left.
func (d *Dialog) Recall() {
	if d.in.Recall(d.Input) {
		d.look()
	}
}

// Move moves to another item.
func (d *Dialog) Move(step int) {
	d.Pick = min(max(d.Pick+step, 0), max(len(d.found)-1, 0))
}

// Take takes what is written, or does what the picked item says.
func (d *Dialog) Take() {
	do := d.accept
	if d.form != prompt {
		if d.Pick >= len(d.found) {
			return
		}
		if do = d.found[d.Pick].Run; do == nil {
			do = func() error { return nil }
		}
	}
	if err := d.in.finish(do); err != nil {
		d.Err = err
	}
}

// accept takes the text, if it is judged to be right.
func (d *Dialog) accept() error {
	text := strings.TrimSpace(d.Input.Text())
	if d.Judge != nil {
		if err := d.Judge(text); err != nil {
			return err
		}
	}
	return d.Accept(text)
}

// Click takes the item on a line.
func (d *Dialog) Click(y int) {
	if i := d.top + y - d.first; y >= d.first && i < len(d.found) {
		d.Pick = i
		d.Take()
	}
}

// Written reports whether a prompt has a text that leaving it would drop.
func (d *Dialog) Written() bool { return d.form == prompt && d.Input.Text() != d.was }

// Leave changes nothing; what was written at a prompt can be brought back.
func (d *Dialog) Leave() {
	if d.Written() {
		d.in.Dropped = d.Input.Text()
		d.in.Say("nothing is changed; Ctrl-O in a field brings back what you wrote")
	}
	d.in.Close()
	if d.Back != nil {
		d.Back()
	}
}
