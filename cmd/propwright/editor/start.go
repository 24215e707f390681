package editor

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/cmd/propwright/store"
	"propwright/model"
	"propwright/model/designs"
)

// askStart asks what to begin with, where there is no design yet; file is
// what a new one is to be called, "" where that is open.
func (f files) askStart(file string) {
	c := &pane.Dialog{Title: "what shall we begin with?", Hint: "Down and Enter choose; letters find a line", Must: true, Heard: []scope{inStart, inChooser}}
	newText, note := "a new design, step by step", "six short questions"
	if file != "" {
		newText, note = "make "+filepath.Base(file)+", step by step", "it is not there yet"
	}
	c.Offer(newText, note, func() error { f.guide(file); return nil })
	c.Offer("the demo: the harbour heron", "to play with: Ctrl-D", f.openDemo)
	for _, name := range lostDesigns() {
		c.Offer("bring back "+name, "was never saved", func() error { return f.openFile(name) })
	}
	names, err := filepath.Glob("*" + designSuffix)
	if err == nil {
		for _, name := range names {
			c.Offer("open "+name, "in this folder", func() error { return f.openFile(name) })
		}
	}
	c.Offer("leave", "Ctrl-Q", func() error { f.seat.stop(); return nil })
	f.over.Choose(c, "")
}

// drawWelcome is what lies around the first questions: above them, and from a
// line on below them, where there is room.
func (r *root) drawWelcome(p pane.Pen, below int) {
	t := r.e.theme
	p.Fill(0, 0, p.W, t.Bar)
	p.Text(1, 0, t.BarKey, "propwright")
	p.Text(14, 0, t.Bar, "the behaviour of an animatronic prop, from the remote to the servo")
	var lines []string
	for _, c := range cautions {
		lines = append(lines, pane.Wrap(c, p.W-2)...)
	}
	y := p.H - 2 - len(lines)
	if y < below {
		return
	}
	for i, s := range lines {
		p.Text(1, y+i, t.Dim, s)
	}
}

// lostDesigns lists the designs of this folder of which there is only a
// journal.
func lostDesigns() []string {
	journals, err := filepath.Glob(store.JournalName("*" + designSuffix))
	if err != nil {
		return nil // the pattern is right
	}
	there, _ := filepath.Glob("*" + designSuffix)
	var lost []string
	for _, j := range journals {
		name := strings.TrimSuffix(strings.TrimPrefix(j, "."), strings.TrimPrefix(store.JournalName(""), "."))
		if r, err := store.Recover(name); err == nil && r != nil && r.Design != nil && !slices.Contains(there, name) {
			lost = append(lost, name)
		}
	}
	return lost
}

// openFile opens a design file, or what is left of one.
func (f files) openFile(name string) error {
	b, err := begin(name)
	if err != nil {
		return err
	}
	if b.desk == nil {
		return fmt.Errorf("%s is gone", name)
	}
	f.take(b)
	return nil
}

// openDemo opens the demo as a new file.
func (f files) openDemo() error {
	d, err := model.Read("harbour-heron"+designSuffix, designs.HarbourHeron)
	if err != nil {
		return err
	}
	name := "harbour-heron" + designSuffix
	for n := 2; vacant(name) != nil; n++ {
		if n == 100 {
			return vacant(name)
		}
		name = fmt.Sprintf("harbour-heron-%d%s", n, designSuffix)
	}
	k, err := newDesk(d, name)
	if err != nil {
		return err
	}
	f.seat.sit(k)
	f.say("the demo, as " + name + "; F8 plays it, F1 helps, Ctrl-S keeps it")
	return nil
}

// takeDemo opens the demo from the first question.
func (f files) takeDemo() {
	if err := f.openDemo(); err != nil {
		f.over.Top().Err = err
		return
	}
	f.over.Close()
}

// A guide collects the answers for a new design.
type guide struct {
	files
	file    string
	name    string
	board   string
	buttons []string // the first is the stop button
	outputs []model.Output
	states  []string // dormant, ambient, performing
}

// guide asks for a new design step by step.
func (f files) guide(file string) {
	g := &guide{files: f, file: file, buttons: []string{"sleep", "wake", "one"}, states: []string{"rest", "idle", "show"}}
	name := ""
	if file != "" {
		name = strings.TrimSuffix(filepath.Base(file), designSuffix)
	}
	g.askName(name)
}

func (g *guide) askName(name string) {
	g.over.Write(&pane.Dialog{
		Title: "1 of 6: what is the prop called?",
		Hint:  "small letters, digits and -, for example harbour-heron; it names the file and the sketch",
		Judge: func(s string) error { return newName(&model.Design{}, model.SortState, s) },
		Accept: func(s string) error {
			g.name = s
			if g.file == "" {
				g.file = s + designSuffix
			}
			if err := vacant(g.file); err != nil {
				return err
			}
			g.askBoard()
			return nil
		},
		Back: func() { g.askStart("") },
	}, name)
}

func (g *guide) askBoard() {
	c := &pane.Dialog{Title: "2 of 6: which chip is on the board?", Hint: "boards are named by their chip"}
	for _, b := range model.Boards {
		c.Offer(b, boardText(b), func() error { g.board = b; g.askButtons(); return nil })
	}
	c.Back = func() { g.askName(g.name) }
	g.over.Choose(c, "")
}

func (g *guide) askButtons() {
	g.over.Write(&pane.Dialog{
		Title: "3 of 6: which buttons of the remote?",
		Hint:  "names with blanks between; the first is the stop button, which always brings the prop to rest; their codes can be put in later",
		Accept: func(s string) error {
			names := strings.Fields(strings.ReplaceAll(s, ",", " "))
			if len(names) < 3 {
				return errors.New("name three buttons at least: to stop, to wake and to play")
			}
			if err := differ(model.SortButton, names); err != nil {
				return err
			}
			g.buttons = names
			g.askOutputs()
			return nil
		},
		Back: g.askBoard,
	}, strings.Join(g.buttons, " "))
}

// differ says what is wrong with names of one sort.
func differ(sort model.Sort, names []string) error {
	for i, name := range names {
		if err := newName(&model.Design{}, sort, name); err != nil {
			return err
		}
		if slices.Contains(names[:i], name) {
			return fmt.Errorf("%s is duplicated", name)
		}
	}
	return nil
}

func (g *guide) askOutputs() {
	title := "4 of 6: what can it do? add its outputs"
	if n := len(g.outputs); n == 1 {
		title = "4 of 6: one output so far, " + g.outputs[0].Name
	} else if n > 1 {
		title = fmt.Sprintf("4 of 6: %d outputs so far, the last %s", n, g.outputs[n-1].Name)
	}
	c := &pane.Dialog{Title: title, Hint: "Enter adds one; what it is exactly can be put in later"}
	for _, kind := range model.OutputKinds {
		c.Offer(string(kind), kind.Purpose(), func() error { g.askOutput(kind); return nil })
	}
	if n := len(g.outputs); n > 0 {
		c.Items = slices.Insert(c.Items, 0, pane.Item{Text: "that is all", Note: "on to the states", Run: func() error { g.askStates(); return nil }})
		c.Offer("take "+g.outputs[n-1].Name+" away again", "", func() error {
			g.outputs = g.outputs[:n-1]
			g.askOutputs()
			return nil
		})
	}
	c.Back = g.askButtons
	g.over.Choose(c, "")
}

func (g *guide) askOutput(kind model.OutputKind) {
	taken := func() []string {
		names := make([]string, len(g.outputs))
		for i, o := range g.outputs {
			names[i] = o.Name
		}
		return names
	}
	g.over.Write(&pane.Dialog{
		Title: "4 of 6: what is the " + string(kind) + " called?",
		Hint:  "for example " + kind.Called(),
		Accept: func(s string) error {
			if err := differ(model.SortOutput, append(taken(), s)); err != nil {
				return err
			}
			o := model.FirstOutput(kind)
			o.Name = s
			if err := g.givePin(&o); err != nil {
				return err
			}
			g.outputs = append(g.outputs, o)
			g.askOutputs()
			return nil
		},
		Back: g.askOutputs,
	}, "")
}

func (g *guide) askStates() {
	g.over.Write(&pane.Dialog{
		Title: "5 of 6: its three first states",
		Hint:  "names with blanks between: the one at rest, the idle one, the one that performs",
		Accept: func(s string) error {
			names := strings.Fields(strings.ReplaceAll(s, ",", " "))
			if len(names) != 3 {
				return errors.New("name three states: one at rest, one idle, one that performs")
			}
			if err := differ(model.SortState, names); err != nil {
				return err
			}
			g.states = names
			g.askDone()
			return nil
		},
		Back: g.askOutputs,
	}, strings.Join(g.states, " "))
}

func (g *guide) askDone() {
	d := g.design()
	g.over.Ask(&pane.Dialog{Title: "6 of 6: this is what it will do", Text: g.summary(d), Items: []pane.Item{
		{Text: "make it", Run: func() error {
			k, err := newDesk(d, g.file)
			if err != nil {
				return err
			}
			g.seat.sit(k)
			g.say("here is " + d.Prop.Name + "; F8 plays it, F4 has its pins, Ctrl-S saves it")
			return nil
		}},
		{Text: "begin again", Run: func() error { g.askName(g.name); return nil }},
	}, Back: g.askStates})
}
