package pane

// Dialogs are the dialogs that lie over a screen, one on the other. The topmost
// has all keys.
type Dialogs struct {
	Theme   Theme
	Say     func(string) // tells the user something beside the dialog
	Dropped string       // what was written into a field and then left

	stack []*Dialog
}

// Top returns the topmost dialog, nil where there is none.
func (s *Dialogs) Top() *Dialog {
	if n := len(s.stack); n > 0 {
		return s.stack[n-1]
	}
	return nil
}

// Choose asks for one of a dialog's items by a few letters; text is what was
// typed already.
func (s *Dialogs) Choose(d *Dialog, text string) {
	d.form, d.Input = chooser, NewField(s.Theme, text)
	s.Open(d)
	d.look()
}

// Write asks for a text; text is there to begin with.
func (s *Dialogs) Write(d *Dialog, text string) {
	d.form, d.was, d.Input = prompt, text, NewField(s.Theme, text)
	s.Open(d)
}

// Ask asks for one of a dialog's few items. The first is the one that Enter
// takes.
func (s *Dialogs) Ask(d *Dialog) {
	d.form, d.found = question, d.Items
	s.Open(d)
}

// Open puts a dialog with a Body of its own over all others.
func (s *Dialogs) Open(d *Dialog) {
	d.in = s
	s.stack = append(s.stack, d)
}

// Close takes the topmost dialog away.
func (s *Dialogs) Close() {
	if n := len(s.stack); n > 0 {
		s.stack = s.stack[:n-1]
	}
}

// finish does what the topmost dialog was for and takes that dialog away, but
// not what was opened on top of it. With an error it stays.
func (s *Dialogs) finish(do func() error) error {
	n := len(s.stack)
	if err := do(); err != nil {
		return err
	}
	s.stack = append(s.stack[:n-1], s.stack[n:]...)
	return nil
}

// Recall brings back into a field what was written and then left; it reports
// whether there was something.
func (s *Dialogs) Recall(f *Field) bool {
	if s.Dropped == "" {
		s.Say("nothing was written and left so far")
		return false
	}
	f.SetText(s.Dropped)
	return true
}
