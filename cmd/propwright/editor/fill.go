package editor

import (
	"fmt"
	"slices"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/edit"
)

// cellEdits edits the cell under a cursor.
type cellEdits struct {
	gridCursor
	filled *edit.Outcome // how a cell was filled last
}

// fill sets the outcome of the cell under the cursor.
func (m *cellEdits) fill(o edit.Outcome) error {
	from, on := m.row().from, m.trigger()
	if err := m.did(m.desk.draft.Fill(from, on, o)); err != nil {
		return err
	}
	m.filled = &o
	m.goTo(from, &on)
	return nil
}

// tryFill is fill, with the error on the status line.
func (m *cellEdits) tryFill(o edit.Outcome) {
	if err := m.fill(o); err != nil {
		m.complain(err)
	}
}

func (m *cellEdits) ignore() { m.tryFill(edit.Outcome{Ignore: true}) }

func (m *cellEdits) again() {
	if m.filled == nil {
		m.say("no cell has been filled yet")
		return
	}
	m.tryFill(*m.filled)
}

// empty removes the row's own transition.
func (m *cellEdits) empty() {
	c := m.cell()
	switch {
	case c.transition == nil:
		m.say("nothing is said here")
	case c.inherited:
		m.say(fmt.Sprintf("that is said by %s; go to its line to take it away, or say something else here", c.by))
	default:
		from, on := m.row().from, m.trigger()
		if m.try(m.desk.draft.Fill(from, on, edit.Outcome{})) {
			m.goTo(from, &on)
		}
	}
}

// deferCell makes a transition deferred, or no longer deferred.
func (m *cellEdits) deferCell() {
	c := m.cell()
	if c.transition == nil || c.transition.To == "" {
		m.say("first say where it leads: type a few letters of a state")
		return
	}
	m.tryFill(edit.Outcome{To: c.transition.To, Defer: !c.transition.Defer})
}

// typed begins the choice of a target with its first letter.
func (m *cellEdits) typed(r rune) {
	if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
		m.askTarget(string(r))
	}
}

// askTarget asks for the cell's target.
func (m *cellEdits) askTarget(text string) {
	d := m.desk.design()
	c := &pane.Dialog{
		Title: fmt.Sprintf("%s, on %s, goes to", m.row().from, m.trigger()),
		Hint:  "a few letters find it; a new name makes a state",
	}
	add := func(text, note string, o edit.Outcome) {
		c.Offer(text, note, func() error { return m.fill(o) })
	}
	for i := range d.States {
		s := &d.States[i]
		add(s.Name, string(s.Kind), edit.Outcome{To: s.Name})
	}
	if k := m.row().kind; k == model.Performing {
		add(model.Back, "where it was before", edit.Outcome{To: model.Back})
	}
	if len(d.States) > 1 {
		c.Offer("one of several", "at random", func() error { m.askChoice(false); return nil })
		c.Offer("several in turn", "the next one each time", func() error { m.askChoice(true); return nil })
	}
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.TakesOrders() {
			t := model.Transition{Do: []model.Order{model.FirstOrder(o)}}
			add("do "+d.Does(&t), "the state goes on", edit.Outcome{Do: d.OrdersText(&t)})
		}
	}
	add("ignore", "nothing happens, on purpose", edit.Outcome{Ignore: true})
	if t := m.cell().transition; t != nil && t.To != "" && m.row().kind == model.Performing {
		c.Offer("when ended", "only after the routine, or at once again", func() error { m.deferCell(); return nil })
	}
	c.Offer("say nothing", "empty the cell", func() error { m.empty(); return nil })
	m.offerNew(c, model.SortState, "is made on the spot", func(name string) error {
		return m.askKind(name, func() error { return m.fill(edit.Outcome{To: name}) })
	})
	m.over.Choose(c, text)
}

// askChoice asks for several states, one of which the cell leads to.
func (m *cellEdits) askChoice(inTurn bool) {
	names := m.desk.design().Names(model.SortState)
	c := &pane.Dialog{
		Title: fmt.Sprintf("%s, on %s, goes to any of", m.row().from, m.trigger()),
		Hint:  "the states, with commas between: " + strings.Join(names, ", "),
		Accept: func(s string) error {
			choice, err := model.NewChoice(inTurn, s)
			if err != nil {
				return err
			}
			return m.fill(edit.Outcome{To: choice.String()})
		},
	}
	if inTurn {
		c.Title = fmt.Sprintf("%s, on %s, goes in turn to", m.row().from, m.trigger())
	}
	was := ""
	if t := m.cell().transition; t != nil {
		choice, _ := model.ParseChoice(t.To)
		was = strings.Join(choice.States, ", ")
	}
	m.over.Write(c, was)
}

// newState asks for a new state's name, and lets the cell lead there.
func (m *cellEdits) newState() {
	m.askState(func(name string) error { return m.fill(edit.Outcome{To: name}) })
}

// askState asks for a new state's name and kind.
func (m *cellEdits) askState(then func(name string) error) {
	m.askName(model.SortState, "a new state's name", "small letters, digits and -, for example looking-out", func(name string) error {
		return m.askKind(name, func() error { return then(name) })
	})
}

// askKind asks for a new state's kind, and adds the state; then is part of the same
// edit.
func (m *cellEdits) askKind(name string, then func() error) error {
	if err := newName(m.desk.design(), model.SortState, name); err != nil {
		return err
	}
	c := &pane.Dialog{Title: "state " + name + " is", Hint: "Enter takes the first"}
	kinds := []model.StateKind{model.Performing, model.Ambient, model.Dormant}
	if len(m.desk.design().States) == 0 {
		slices.Reverse(kinds)
	}
	for _, kind := range kinds {
		c.Offer(string(kind), kindMeaning[kind], func() error {
			from, on := m.row().from, m.trigger()
			err := m.desk.draft.Together("new state "+name, func() error {
				keys := []edit.Key{{Key: "name", Value: name}, {Key: "kind", Value: string(kind)}}
				if kind == model.Performing && m.desk.design().Routine(name) != nil {
					keys = append(keys, edit.Key{Key: "plays", Value: name})
				}
				if _, err := m.desk.draft.Add(m.last(model.SortState), keys...); err != nil {
					return err
				}
				m.layOut()
				m.goTo(from, &on) // rows have moved
				return then()
			})
			m.changed() // also where all is taken back: the grid is one of in between
			return err
		})
	}
	m.over.Choose(c, "")
	return nil
}

// askTrigger asks for a trigger that gets a column of its own.
func (m *cellEdits) askTrigger() {
	d := m.desk.design()
	judge := func(s string) error { return triggerError(d, s) }
	m.over.Write(&pane.Dialog{
		Title: "a new trigger",
		Hint:  `as in the file: "after 90s", "after 20s..40s", "hold BUTTON for 800ms", "release BUTTON"`,
		Judge: judge,
		Accept: func(s string) error {
			on, err := model.ParseTrigger(s)
			if err != nil {
				return err
			}
			m.further = append(m.further, on)
			m.changed()
			m.goTo(m.row().from, &on)
			m.say(on.String() + ": its column is here; it is written to the file once a cell says something")
			return nil
		},
	}, "after ")
}

// open opens the details of the cell's transition, whichever line it is on; of an empty
// cell it asks where that leads.
func (m *matrix) open() {
	if c := m.cell(); c.transition != nil {
		m.openDetails(model.Elem{Sort: model.SortTransition, Index: c.index})
		return
	}
	m.askTarget("")
}

// openRow opens the details of the line's state.
func (m *cellEdits) openRow() {
	if s := m.row().state; s >= 0 {
		m.openDetails(model.Elem{Sort: model.SortState, Index: s})
		return
	}
	m.say(m.row().from.String() + " is not a state of its own")
}

// triggerError returns the error of a trigger in a design.
func triggerError(d *model.Design, s string) error {
	c := *d
	c.States = append(slices.Clone(d.States), model.State{Name: "x"})
	c.Transitions = append(slices.Clone(d.Transitions), model.Transition{From: []model.From{{State: "x"}}, To: "x"})
	_, err := c.With(model.Elem{Sort: model.SortTransition, Index: len(c.Transitions) - 1}, "on", s)
	return err
}

// matrixActions returns the keys of the matrix.
func matrixActions() []viewAction {
	return []viewAction{
		{"fill", []string{"a…z"}, "a state's name: the trigger leads there; a new name makes a state", "target", inView(func(m *matrix) { m.askTarget("") })},
		{"ignore", []string{"."}, "nothing is to happen here, and that is meant", "ignore", inView((*matrix).ignore)},
		{"defer", []string{">"}, "go there only when the routine has ended, or at once again", "at end", inView((*matrix).deferCell)},
		{"unsay", []string{"Del", "Backspace"}, "say nothing here any more", "empty", inView((*matrix).empty)},
		{"trigger", []string{"@"}, "another trigger as a column: a timer, a hold, a release", "trigger", inView((*matrix).askTrigger)},
		{"row", []string{"Space"}, "the details of the line's state", "state", inView((*matrix).openRow)},
		{"again", []string{"="}, "fill this cell like the last one", "again", inView((*matrix).again)},
		{"new-state", []string{"+"}, "a new state, and the trigger leads there", "new state", inView((*matrix).newState)},
		{"open", []string{"Enter"}, "the cell's transition in full; of an empty cell: where it leads", "details", inView((*matrix).open)},
	}
}
