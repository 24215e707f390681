package editor

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/ports"
	"propwright/cmd/propwright/presses"
	"propwright/gen"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/ir"
)

// learning is one run of learning a remote from presses: button after button,
// until it is left.
type learning struct {
	presses.Session
	*remote          // that it was begun in
	waiting bool     // a press is being waited for on another goroutine
	lesson  *lesson  // that the next press is for; nil: nobody asks
	help    []string // where nothing is heard
}

// A lesson is a dialog that takes the presses of one button.
type lesson struct {
	*presses.Button
	of   *learning
	said []string // what was understood of each press so far
	over bool     // no press comes any more
}

// askLearn asks where codes are to be learned from.
func (v *remote) askLearn() {
	c := &pane.Dialog{Title: "learn the remote from", Hint: "Esc changes nothing"}
	c.Offer("a board that listens", "runs the capture sketch", func() error { v.askPort(); return nil })
	c.Offer("a file of saved times", "of ir-ctl or mode2", func() error { v.askTimes(); return nil })
	c.Offer("a keymap file", "of ir-keytable", func() error { v.askKeymap(); return nil })
	c.Offer("first write the capture sketch", "for the board to listen", v.writeCapture)
	v.over.Choose(c, "")
}

// askPort asks for the port of a board that listens.
func (v *remote) askPort() {
	c := &pane.Dialog{Title: "the board's serial port", Hint: "the board runs the capture sketch; or write a name"}
	v.offerPorts(c, func(port string) error {
		line, err := presses.Open(port)
		if err != nil {
			return err
		}
		v.learn(line)
		return nil
	})
	v.over.Choose(c, "")
}

// offerPorts offers the serial ports that there are, first those on which the design's
// board may be, and any other by its name.
func (w *workspace) offerPorts(c *pane.Dialog, open func(port string) error) {
	begin := func(port string) func() error { return func() error { return open(port) } }
	var fit []string
	if b, ok := board.ByName(w.desk.design().Prop.Board); ok {
		fit = ports.Fitting(b, ports.List())
		for _, port := range fit {
			c.Offer(port, "may be the "+b.Name, begin(port))
		}
	}
	for _, port := range ports.Names() {
		if !slices.Contains(fit, port) {
			c.Offer(port, "is there now", begin(port))
		}
	}
	if c.Items == nil {
		c.Hint = "no port is there now; " + c.Hint // which may be a caution
	}
	c.Free = func(text string) []pane.Item {
		if text == "" || slices.ContainsFunc(c.Items, func(it pane.Item) bool { return it.Text == text }) {
			return nil
		}
		return []pane.Item{{Text: "the port " + text, Run: begin(text)}}
	}
}

// writeCapture writes the sketch for a board that listens beside the design.
func (v *remote) writeCapture() error {
	d := v.desk.design()
	files, err := sketch.Capture(d.Prop.Board, d.Remote.Pin)
	if err != nil {
		return err
	}
	return v.writeSketch(sketch.CaptureFolder, files, fmt.Sprintf("flash it onto the %s, with the receiver on pin %d; then l learns from that board", d.Prop.Board, d.Remote.Pin))
}

// writeSketch writes a sketch beside the design and says what comes next.
func (w *workspace) writeSketch(folder string, files []gen.File, next string) error {
	folder = w.desk.beside(folder)
	if _, err := gen.Write(folder, files); err != nil {
		return err
	}
	w.say(fmt.Sprintf("the sketch is in %s: %s", folder, next))
	return nil
}

func (v *remote) askTimes() {
	v.over.Write(&pane.Dialog{
		Title: "the file of saved times",
		Hint:  "marks and spaces in microseconds, as ir-ctl or mode2 write them",
		Accept: func(s string) error {
			recording, err := presses.FromFile(v.desk.beside(s))
			if err != nil {
				return err
			}
			v.learn(recording)
			return nil
		},
	}, "")
}

// learn begins to learn from presses; the first button is the one under the
// cursor.
func (v *remote) learn(from presses.Source) {
	l := &learning{Session: presses.Session{Source: from, Draft: v.desk.draft}, remote: v}
	if _, live := from.(*presses.Line); live {
		l.help = []string{fmt.Sprintf("If nothing is heard: the board must run the capture sketch, and have an infrared receiver on pin %d.", v.desk.design().Remote.Pin)}
	}
	v.learning = l
	l.askButton(v.selectedButton())
}

// selectedButton returns the index of the button under the cursor.
func (v *remote) selectedButton() int {
	if at := v.place(); at.Sort == model.SortButton {
		return at.Index
	}
	return 0
}

// end ends the learning.
func (l *learning) end() {
	if c, ok := l.Source.(io.Closer); ok {
		c.Close() // it was only read
	}
	l.learning = nil
	switch len(l.Learned) {
	case 0:
		l.say("nothing is learned")
	case 1:
		l.say("1 button is learned; Ctrl-Z takes it back")
	default:
		l.say(fmt.Sprintf("%d buttons are learned; Ctrl-Z takes them back one by one", len(l.Learned)))
	}
}

// askButton asks which button is pressed next; the first offer is the button
// with the index given.
func (l *learning) askButton(first int) {
	l.remote.askButton("which button will you press?", first, l.end, func(name string) error {
		l.listen(name)
		return nil
	})
}

// askButton asks for a button of the design or a new one's name.
func (v *remote) askButton(title string, first int, back func(), then func(name string) error) {
	d := v.desk.design()
	c := &pane.Dialog{Title: title, Hint: "letters find it; a new name makes a button; Esc ends", Back: back}
	for i := range d.Remote.Buttons {
		b := &d.Remote.Buttons[(first+i)%len(d.Remote.Buttons)]
		c.Offer(b.Name, b.Code, func() error { return then(b.Name) })
	}
	v.offerNew(c, model.SortButton, "", func(name string) error {
		if err := newName(d, model.SortButton, name); err != nil {
			return err
		}
		return then(name)
	})
	v.over.Choose(c, "")
}

// listen waits for presses of a button.
func (l *learning) listen(button string) {
	l.lesson = &lesson{Button: l.Begin(button), of: l}
	l.over.Open(&pane.Dialog{Title: "learn " + button, Heard: []scope{inLesson}, Body: l.lesson.draw})
	l.wait()
}

// wait waits for the next press on a goroutine of its own. A press without an open lesson
// is dropped.
func (l *learning) wait() {
	if l.waiting {
		return
	}
	l.waiting = true
	go func() {
		heard, err := l.Source.Next()
		l.queue(func() {
			l.waiting = false
			if l.learning == l && l.lesson != nil {
				l.lesson.take(heard, err)
			}
		})
	}()
}

// take judges a press.
func (s *lesson) take(heard ir.Lesson, err error) {
	switch {
	case errors.Is(err, io.EOF):
		s.over = true
		s.said = append(s.said, "No more presses come.")
		return
	case err != nil:
		s.over = true
		s.said = append(s.said, fmt.Sprintf("The board cannot be heard any more: %v. See that it is plugged in, and begin again.", err))
		return
	}
	said := s.Take(heard) + "."
	if s.Code != nil {
		s.said = append(s.said, said)
		return
	}
	s.said = append(s.said, "Once more: "+said)
	s.of.wait()
}

func (s *lesson) draw(in pane.Pen) {
	t := s.of.theme
	in.Text(1, 0, t.Strong, fmt.Sprintf("Press “%s” on the remote, and keep it down for a second.", s.Name))
	said := s.said
	if len(said) == 0 {
		said = s.of.help
	}
	var lines []string
	for _, text := range said {
		lines = append(lines, pane.Wrap(text, in.W-2)...)
	}
	lines = lines[max(len(lines)-(in.H-4), 0):] // the newest
	for i, text := range lines {
		in.Text(1, 2+i, t.Plain, text)
	}
	switch last := in.H - 1; {
	case s.Code != nil:
		in.Text(1, last, t.Cursor, fmt.Sprintf("» Enter gives %s the code %s", s.Name, s.Code))
	case s.over:
		in.Text(1, last, t.Strong, "Esc goes back")
	default:
		in.Text(1, last, t.Dim, "listening …")
	}
}

// accept sets the button's code and goes on to the next.
func (s *lesson) accept() {
	l := s.of
	if s.Code == nil {
		l.say("press the button on the remote")
		return
	}
	if err := l.did(l.Teach(ir.Named{Name: s.Name, Code: *s.Code})); err != nil {
		l.complain(err)
		return
	}
	l.over.Close()
	l.lesson = nil
	at, _ := l.desk.design().Find(model.SortButton, s.Name)
	l.goTo(at)
	l.askButton(at.Index + 1)
}

// repeat forgets the presses of the button, and listens again.
func (s *lesson) repeat() {
	if s.over {
		s.of.say("no more presses come")
		return
	}
	s.Button, s.said = s.of.Begin(s.Name), nil
	s.of.wait()
}

// leave leaves the button as it was, and asks for another.
func (s *lesson) leave() {
	s.of.over.Close()
	s.of.lesson = nil
	if s.over {
		s.of.end()
		return
	}
	at, _ := s.of.desk.design().Find(model.SortButton, s.Name)
	s.of.askButton(at.Index)
}

// askKeymap asks for a keymap file, and then which of its keys to take.
func (v *remote) askKeymap() {
	v.over.Write(&pane.Dialog{
		Title: "the keymap file",
		Hint:  "a TOML file of ir-keytable, for example from /lib/udev/rc_keymaps",
		Accept: func(s string) error {
			m, err := presses.Keymap(v.desk.beside(s))
			if err != nil {
				return err
			}
			if len(m.Keys) == 0 {
				return fmt.Errorf("no code of %s can be taken over: %s", s, strings.Join(m.Refused, "; "))
			}
			v.askKey(m)
			return nil
		},
	}, "")
}

// askKey asks for one of a keymap's keys after the other.
func (v *remote) askKey(m *ir.Keymap) {
	c := &pane.Dialog{Title: "take which key of the keymap?", Hint: "letters find it; Esc ends"}
	if len(m.Refused) > 0 {
		c.Hint = "not all can be taken over: " + m.Refused[0]
	}
	taught := func(buttons ...ir.Named) error {
		if err := v.did(v.desk.draft.Teach(buttons...)); err != nil {
			return err
		}
		at, _ := v.desk.design().Find(model.SortButton, buttons[0].Name)
		v.goTo(at)
		return nil
	}
	var all []ir.Named
	for _, k := range m.Keys {
		all = append(all, ir.Named(k))
		c.Offer(k.Name, k.Code.String(), func() error {
			first := v.selectedButton()
			if at, ok := v.desk.design().Find(model.SortButton, k.Name); ok {
				first = at.Index
			}
			v.askButton(k.Name+" is for which button?", first, func() { v.askKey(m) }, func(name string) error {
				if err := taught(ir.Named{Name: name, Code: k.Code}); err != nil {
					return err
				}
				v.askKey(m)
				return nil
			})
			return nil
		})
	}
	c.Offer(fmt.Sprintf("all %d keys", len(all)), "as buttons of their names", func() error { return taught(all...) })
	v.over.Choose(c, "")
}

// remoteActions returns the keys of the remote.
func remoteActions() []viewAction {
	return []viewAction{
		{"learn", []string{"l"}, "learn codes: from a board that listens, saved times or a keymap", "learn", inView((*remote).askLearn)},
	}
}

// lessonActions returns the keys of a lesson.
func lessonActions() []action {
	heard := func(do func(*lesson)) func(*Editor) {
		return func(e *Editor) { do(e.current().(*remote).learning.lesson) }
	}
	return []action{
		{"lesson-take", []string{"Enter"}, "give the button the code that was understood, and go on to the next", inLesson, "take it", heard((*lesson).accept)},
		{"lesson-again", []string{"r"}, "forget what was understood, and listen again", inLesson, "again", heard((*lesson).repeat)},
		{"lesson-leave", []string{"Esc"}, "leave the button as it is", inLesson, "leave it", heard((*lesson).leave)},
	}
}
