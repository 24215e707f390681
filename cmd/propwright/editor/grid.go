package editor

import (
	"slices"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/machine"
)

// A grid is a design's state–event matrix as the screen shows it: a row for
// every state, `any KIND` and `any`, a column for every trigger.
type grid struct {
	design  *model.Design
	matrix  *machine.Matrix
	rows    []row
	columns []column
	column  map[string]int // columns by their triggers
	named   map[string]int // rows by what `from` says
}

// A row is one source of transitions.
type row struct {
	from  model.From
	state int             // index in Design.States; -1 for any and any KIND
	kind  model.StateKind // of the state or of any KIND; "" for any
}

// A column is one trigger.
type column struct {
	trigger model.Trigger
	head    [2]string // the heading's two lines
	width   int
}

// A cell is what happens in a row on a trigger, and who says so.
type cell struct {
	transition *model.Transition // nil: nobody says anything
	index      int               // of the transition in the design
	inherited  bool              // said by any KIND or any
	by         model.From        // the row that says it; none where nobody does
	twice      bool              // by two transitions: ambiguous
	does       string            // what is asked of outputs
}

const (
	leastColumn = 5 // columns of the screen
	mostColumn  = 11
)

// newGrid lays out a design. Further triggers get columns of their own though
// no transition waits for them yet.
func newGrid(d *model.Design, further []model.Trigger) *grid {
	g := &grid{design: d, matrix: machine.NewMatrix(d), column: map[string]int{}, named: map[string]int{}}
	g.addRows()
	for _, on := range g.matrix.Columns(further...) {
		g.addColumn(on)
	}
	for i := range d.Transitions { // those of buttons that are not there, too
		for _, on := range d.Transitions[i].On {
			g.addColumn(on)
		}
	}
	g.measure()
	return g
}

// addRows lists the states by kind, in file order within a kind, each kind followed by
// its row `any KIND`. States of an unknown kind, which only a file with faults can have,
// come before the row `any`.
func (g *grid) addRows() {
	add := func(r row) {
		g.named[r.from.String()] = len(g.rows)
		g.rows = append(g.rows, r)
	}
	for _, kind := range model.StateKinds {
		for i := range g.design.States {
			if s := &g.design.States[i]; s.Kind == kind {
				add(row{model.From{State: s.Name}, i, kind})
			}
		}
		add(row{model.From{State: model.Any, Kind: kind}, -1, kind})
	}
	for i := range g.design.States {
		if s := &g.design.States[i]; !slices.Contains(model.StateKinds, s.Kind) {
			add(row{model.From{State: s.Name}, i, s.Kind})
		}
	}
	add(row{model.From{State: model.Any}, -1, ""})
}

func (g *grid) addColumn(t model.Trigger) {
	if _, there := g.column[t.String()]; there {
		return
	}
	t.Source = model.Source{}
	g.column[t.String()] = len(g.columns)
	g.columns = append(g.columns, column{trigger: t, head: headOf(t)})
}

// headOf returns a trigger on two lines.
func headOf(t model.Trigger) [2]string {
	switch t.Kind {
	case model.Hold:
		return [2]string{"hold " + model.FormatDuration(t.For), t.Name}
	case model.After:
		return [2]string{"after", t.After.String()}
	case model.Done:
		return [2]string{"routine", "done"}
	}
	return [2]string{t.Kind.String(), t.Name}
}

// measure sets the columns' widths by their contents.
func (g *grid) measure() {
	for c := range g.columns {
		col := &g.columns[c]
		col.width = max(pane.Width(col.head[0]), pane.Width(col.head[1]), leastColumn)
	}
	for i := range g.design.Transitions {
		t := &g.design.Transitions[i]
		w := max(pane.Width(t.To)+2, min(pane.Width(g.design.Does(t)), mostColumn))
		for _, on := range t.On {
			col := &g.columns[g.column[on.String()]]
			col.width = max(col.width, w)
		}
	}
	for c := range g.columns {
		col := &g.columns[c]
		col.width = min(col.width, mostColumn)
	}
}

// at returns the cell of a row and a column.
func (g *grid) at(r, c int) cell {
	said := g.matrix.Cell(g.rows[r].from, g.columns[c].trigger)
	if said.Unsaid() {
		return cell{index: -1}
	}
	first := said.Said[0]
	t := &g.design.Transitions[first.Transition]
	return cell{t, first.Transition, !said.Own, t.From[first.From], said.Ambiguous(), said.Do}
}

// byAny reports whether the cell comes from a transition from any state.
func (c cell) byAny() bool { return c.by.State == model.Any && c.by.Kind == "" }

// rowOf finds the row of a source.
func (g *grid) rowOf(f model.From) (int, bool) {
	r, ok := g.named[f.String()]
	return r, ok
}

// columnOf finds the column of a trigger.
func (g *grid) columnOf(t model.Trigger) (int, bool) {
	c, ok := g.column[t.String()]
	return c, ok
}

// text returns a cell as the matrix shows it, with all that colour shows.
func (c cell) text() string {
	s := ""
	switch t := c.transition; {
	case t == nil:
		return ""
	case t.Ignore:
		s = "·"
	case c.does != "":
		s = "/" + c.does
	case t.Defer:
		s = "»" + t.To
	default:
		s = t.To
	}
	if c.inherited {
		s = "(" + s + ")"
	}
	if c.twice {
		s = "!" + s
	}
	return s
}
