package editor

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"propwright/cmd/propwright/presses"
	"propwright/gen"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/ir"
)

// learning is one run of learning a remote from presses: button after button,
// until it is left.
type learning struct {
	presses.Session
	e       *Editor
	waiting bool     // a press is being waited for on another goroutine
	lesson  *lesson  // that the next press is for; nil: nobody asks
	help    []string // where nothing is heard
}

// A lesson is an overlay that listens for the presses of one button.
type lesson struct {
	*presses.Button
	of   *learning
	said []string // what was understood of each press so far
	over bool     // no press comes any more
}

// askLearn asks where codes are to be learned from.
func (e *Editor) askLearn() {
	e.choose(&chooser{title: "learn the remote from", hint: "Esc changes nothing", items: []item{
		{"a board that listens", "runs the capture sketch", func() error { e.askPort(); return nil }},
		{"a file of saved times", "of ir-ctl or mode2", func() error { e.askTimes(); return nil }},
		{"a keymap file", "of ir-keytable", func() error { e.askKeymap(); return nil }},
		{"first write the capture sketch", "for the board to listen", e.writeCapture},
	}}, "")
}

// askPort asks for the port of a board that listens.
func (e *Editor) askPort() {
	c := &chooser{title: "the board's serial port", hint: "the board runs the capture sketch; a name can be written, too"}
	listen := func(port string) func() error {
		return func() error {
			line, err := presses.Open(port)
			if err != nil {
				return err
			}
			e.learn(line)
			return nil
		}
	}
	for _, port := range presses.List() {
		c.items = append(c.items, item{port, "is there now", listen(port)})
	}
	if c.items == nil {
		c.hint = "no port is there now: plug the board in, or write its name"
	}
	c.free = func(text string) []item {
		if text == "" || slices.ContainsFunc(c.items, func(it item) bool { return it.text == text }) {
			return nil
		}
		return []item{{"the port " + text, "", listen(text)}}
	}
	e.choose(c, "")
}

// writeCapture writes the sketch for a board that listens beside the design.
func (e *Editor) writeCapture() error {
	d := e.desk.design()
	files, err := sketch.Capture(d.Prop.Board, d.Remote.Pin)
	if err != nil {
		return err
	}
	folder := e.beside(sketch.CaptureFolder)
	if _, err := gen.Write(folder, files); err != nil {
		return err
	}
	e.say(fmt.Sprintf("the sketch is in %s: flash it onto the %s, with the receiver on pin %d; then l learns from that board", folder, d.Prop.Board, d.Remote.Pin))
	return nil
}

func (e *Editor) askTimes() {
	e.write(&prompt{
		title: "the file of saved times",
		hint:  "marks and spaces in microseconds, as ir-ctl or mode2 write them",
		take: func(s string) error {
			text, err := os.ReadFile(e.beside(s))
			if err != nil {
				return err
			}
			times, err := ir.ParseTimes(string(text))
			if err != nil {
				return fmt.Errorf("%s:%w", s, err)
			}
			e.learn(presses.FromTimes(times))
			return nil
		},
	}, "")
}

// beside is a file's name as the design's folder has it.
func (e *Editor) beside(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(e.desk.file.Name()), name)
}

// learn begins to learn from presses; the first button is the one under the
// cursor.
func (e *Editor) learn(from presses.Source) {
	l := &learning{Session: presses.Session{Source: from, Draft: e.desk.draft}, e: e}
	if _, live := from.(*presses.Line); live {
		l.help = []string{fmt.Sprintf("If nothing is heard: the board must run the capture sketch, and have an infrared receiver on pin %d.", e.desk.design().Remote.Pin)}
	}
	e.learning = l
	l.askButton(e.selectedButton())
}

// selectedButton is the index of the button under the cursor.
func (e *Editor) selectedButton() int {
	if at := e.current().place(); at.Sort == model.SortButton {
		return at.Index
	}
	return 0
}

// end ends the learning: nobody asks for presses any more.
func (l *learning) end() {
	if c, ok := l.Source.(io.Closer); ok {
		c.Close() // it was only read
	}
	l.e.learning = nil
	switch len(l.Learned) {
	case 0:
		l.e.say("nothing is learned")
	case 1:
		l.e.say("1 button is learned; Ctrl-Z takes it back")
	default:
		l.e.say(fmt.Sprintf("%d buttons are learned; Ctrl-Z takes them back one by one", len(l.Learned)))
	}
}

// askButton asks which button is pressed next; the first offer is the button
// with the index given.
func (l *learning) askButton(first int) {
	l.e.askButton("which button will you press?", first, l.end, func(name string) error {
		l.listen(name)
		return nil
	})
}

// askButton asks for a button of the design or a new one's name.
func (e *Editor) askButton(title string, first int, back func(), then func(name string) error) {
	d := e.desk.design()
	c := &chooser{title: title, hint: "letters find it; a new name makes a button; Esc ends", back: back}
	for i := range d.Remote.Buttons {
		b := &d.Remote.Buttons[(first+i)%len(d.Remote.Buttons)]
		c.items = append(c.items, item{b.Name, b.Code, func() error { return then(b.Name) }})
	}
	c.free = func(text string) []item {
		if _, there := d.Find(model.SortButton, text); there || text == "" {
			return nil
		}
		return []item{{fmt.Sprintf("new button “%s”", text), "", func() error {
			if err := newName(d, model.SortButton, text); err != nil {
				return err
			}
			return then(text)
		}}}
	}
	e.choose(c, "")
}

// listen waits for presses of a button.
func (l *learning) listen(button string) {
	l.lesson = &lesson{Button: l.Begin(button), of: l}
	l.e.open(l.lesson)
	l.wait()
}

// wait waits for the next press beside the screen. One that comes while
// nobody asks is forgotten.
func (l *learning) wait() {
	if l.waiting {
		return
	}
	l.waiting = true
	go func() {
		heard, err := l.Source.Next()
		l.e.app.QueueUpdateDraw(func() {
			l.waiting = false
			if l.e.learning == l && l.lesson != nil {
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

func (s *lesson) scopes() []scope { return []scope{inLesson} }
func (s *lesson) leave()          { s.of.e.leaveLesson() }

// lessonLines is how high the box of a lesson is, so that it stays where it is
// from press to press.
const lessonLines = 14

func (s *lesson) draw(p pen) pen {
	t := s.of.e.theme
	w, h := min(76, p.w-2), min(lessonLines, p.h)
	box := p.part((p.w-w)/2, (p.h-h)/3, w, h)
	box.clear(t.plain)
	in := box.frame(t.box, t.strong, "learn "+s.Name)
	in.text(1, 0, t.strong, fmt.Sprintf("Press “%s” on the remote, and keep it down for a second.", s.Name))
	said := s.said
	if len(said) == 0 {
		said = s.of.help
	}
	var lines []string
	for _, text := range said {
		lines = append(lines, wrap(text, w-4)...)
	}
	lines = lines[max(len(lines)-(in.h-4), 0):] // the newest
	for i, text := range lines {
		in.text(1, 2+i, t.plain, text)
	}
	switch last := in.h - 1; {
	case s.Code != nil:
		in.text(1, last, t.cursor, fmt.Sprintf("» Enter gives %s the code %s", s.Name, s.Code))
	case s.over:
		in.text(1, last, t.strong, "Esc goes back")
	default:
		in.text(1, last, t.dim, "listening …")
	}
	return box
}

// takeLesson gives the button its code and goes on to the next.
func (e *Editor) takeLesson() {
	s := e.overlay().(*lesson)
	if s.Code == nil {
		e.say("press the button on the remote")
		return
	}
	if err := e.did(s.of.Teach(ir.Named{Name: s.Name, Code: *s.Code})); err != nil {
		e.complain(err)
		return
	}
	e.close()
	s.of.lesson = nil
	at, _ := e.desk.design().Find(model.SortButton, s.Name)
	e.goTo(at)
	s.of.askButton(at.Index + 1)
}

// repeatLesson forgets what was understood, and listens again.
func (e *Editor) repeatLesson() {
	s := e.overlay().(*lesson)
	if s.over {
		e.say("no more presses come")
		return
	}
	s.Button, s.said = s.of.Begin(s.Name), nil
	s.of.wait()
}

// leaveLesson leaves the button as it was, and asks for another.
func (e *Editor) leaveLesson() {
	s := e.overlay().(*lesson)
	e.close()
	s.of.lesson = nil
	if s.over {
		s.of.end()
		return
	}
	at, _ := e.desk.design().Find(model.SortButton, s.Name)
	s.of.askButton(at.Index)
}

func (s *lesson) key(*tcell.EventKey) bool { return false }
func (s *lesson) paste(string)             {}
func (s *lesson) click(int, int)           {}
func (s *lesson) wheel(int)                {}

// askKeymap asks for a keymap file, and then which of its keys to take.
func (e *Editor) askKeymap() {
	e.write(&prompt{
		title: "the keymap file",
		hint:  "a TOML file of ir-keytable, for example from /lib/udev/rc_keymaps",
		take: func(s string) error {
			text, err := os.ReadFile(e.beside(s))
			if err != nil {
				return err
			}
			m, err := ir.ParseKeymap(text)
			if err != nil {
				return fmt.Errorf("%s: %w", s, err)
			}
			if len(m.Keys) == 0 {
				return fmt.Errorf("no code of %s can be taken over: %s", s, strings.Join(m.Refused, "; "))
			}
			e.askKey(m)
			return nil
		},
	}, "")
}

// askKey asks for one of a keymap's keys after the other.
func (e *Editor) askKey(m *ir.Keymap) {
	c := &chooser{title: "take which key of the keymap?", hint: "letters find it; Esc ends"}
	if len(m.Refused) > 0 {
		c.hint = "not all can be taken over: " + m.Refused[0]
	}
	taught := func(buttons ...ir.Named) error {
		if err := e.did(e.desk.draft.Teach(buttons...)); err != nil {
			return err
		}
		at, _ := e.desk.design().Find(model.SortButton, buttons[0].Name)
		e.goTo(at)
		return nil
	}
	var all []ir.Named
	for _, k := range m.Keys {
		all = append(all, ir.Named(k))
		c.items = append(c.items, item{k.Name, k.Code.String(), func() error {
			first := e.selectedButton()
			if i := slices.IndexFunc(e.desk.design().Remote.Buttons, func(b model.Button) bool { return b.Name == k.Name }); i >= 0 {
				first = i
			}
			e.askButton(k.Name+" is for which button?", first, func() { e.askKey(m) }, func(name string) error {
				if err := taught(ir.Named{Name: name, Code: k.Code}); err != nil {
					return err
				}
				e.askKey(m)
				return nil
			})
			return nil
		}})
	}
	c.items = append(c.items, item{fmt.Sprintf("all %d keys", len(all)), "as buttons of their names", func() error { return taught(all...) }})
	e.choose(c, "")
}
