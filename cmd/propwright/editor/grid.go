package editor

import (
	"slices"

	"propwright/model"
)

// A grid is a design's state–event matrix: for every row (a state, `any
// KIND`, `any`) and every column (a trigger) what the design says there.
//
// It is made from the design alone and not from a compiled program, so that a
// row shows what stands in the file, also where two transitions quarrel.
type grid struct {
	design  *model.Design
	rows    []row
	columns []column
	own     [][]said // [row][column]
	column  map[string]int
	named   map[string]int // rows by what `from` says
}

// A row is one source of transitions.
type row struct {
	from  model.From
	state int             // index in Design.States; -1 for any and any KIND
	kind  model.StateKind // of the state or of any KIND; "" for any
	first bool            // of its group
}

// A column is one trigger.
type column struct {
	trigger model.Trigger
	head    [2]string // the heading's two lines
	width   int
}

// said is what a row itself says of a column.
type said struct {
	transition int  // 1 + index in Design.Transitions; 0: nothing is said
	twice      bool // by two transitions: ambiguous
}

// A cell is what happens in a row on a trigger, and who says so.
type cell struct {
	transition *model.Transition // nil: nobody says anything
	index      int               // of the transition in the design
	inherited  bool              // said by any KIND or any
	by         int               // the row that says it
	twice      bool
}

const (
	leastColumn = 5 // columns of the screen
	mostColumn  = 11
)

// newGrid lays out a design. Further triggers get columns of their own though
// no transition waits for them yet.
func newGrid(d *model.Design, further []model.Trigger) *grid {
	g := &grid{design: d, column: map[string]int{}, named: map[string]int{}}
	g.addRows()
	g.addColumns(further)
	g.own = make([][]said, len(g.rows))
	for r := range g.own {
		g.own[r] = make([]said, len(g.columns))
	}
	for i := range d.Transitions {
		t := &d.Transitions[i]
		for _, f := range t.From {
			r, ok := g.named[f.String()]
			if !ok {
				continue
			}
			for _, on := range t.On {
				s := &g.own[r][g.column[on.String()]]
				if s.transition != 0 {
					s.twice = true
					continue
				}
				s.transition = i + 1
			}
		}
	}
	g.measure()
	return g
}

// addRows lists the states by kind, in file order within a kind, each kind
// followed by what is said for all of it.
func (g *grid) addRows() {
	add := func(r row) {
		g.named[r.from.String()] = len(g.rows)
		g.rows = append(g.rows, r)
	}
	for _, kind := range model.StateKinds {
		first := true
		for i := range g.design.States {
			if s := &g.design.States[i]; s.Kind == kind {
				add(row{model.From{State: s.Name}, i, kind, first})
				first = false
			}
		}
		add(row{model.From{State: model.Any, Kind: kind}, -1, kind, first})
	}
	add(row{model.From{State: model.Any}, -1, "", true})
}

// addColumns lists presses, then holds and releases, inputs, done and timers.
func (g *grid) addColumns(further []model.Trigger) {
	for i := range g.design.Remote.Buttons {
		g.addColumn(model.Trigger{Kind: model.Press, Name: g.design.Remote.Buttons[i].Name})
	}
	var named []model.Trigger
	for i := range g.design.Transitions {
		named = append(named, g.design.Transitions[i].On...)
	}
	named = append(named, further...)
	of := func(kinds ...model.TriggerKind) {
		for _, t := range named {
			if slices.Contains(kinds, t.Kind) {
				g.addColumn(t)
			}
		}
	}
	of(model.Press, model.Hold, model.Release)
	for i := range g.design.Inputs {
		g.addColumn(model.Trigger{Kind: model.Rise, Name: g.design.Inputs[i].Name})
		g.addColumn(model.Trigger{Kind: model.Fall, Name: g.design.Inputs[i].Name})
	}
	of(model.Rise, model.Fall)
	g.addColumn(model.Trigger{Kind: model.Done})
	of(model.After)
}

func (g *grid) addColumn(t model.Trigger) {
	if _, there := g.column[t.String()]; there {
		return
	}
	t.Source = model.Source{}
	g.column[t.String()] = len(g.columns)
	g.columns = append(g.columns, column{trigger: t, head: headOf(t)})
}

// headOf is a trigger on two lines.
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

// measure makes each column as wide as what stands in it asks for.
func (g *grid) measure() {
	for c := range g.columns {
		col := &g.columns[c]
		w := max(width(col.head[0]), width(col.head[1]), leastColumn)
		for r := range g.rows {
			if i := g.own[r][c].transition; i > 0 {
				w = max(w, width(g.design.Transitions[i-1].To)+2)
			}
		}
		col.width = min(w, mostColumn)
	}
}

// at is what happens in a row on a column's trigger: what the row says
// itself, else what is said for its kind, else what is said for any.
func (g *grid) at(r, c int) cell {
	for _, by := range g.chain(r) {
		if s := g.own[by][c]; s.transition != 0 {
			return cell{&g.design.Transitions[s.transition-1], s.transition - 1, by != r, by, s.twice}
		}
	}
	return cell{by: -1, index: -1}
}

// chain lists the rows that speak for a row, the most specific first.
func (g *grid) chain(r int) []int {
	last := len(g.rows) - 1
	switch row := g.rows[r]; {
	case r == last:
		return []int{r}
	case row.state < 0:
		return []int{r, last}
	default:
		return []int{r, g.named[model.From{State: model.Any, Kind: row.kind}.String()], last}
	}
}

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

// text is a cell as the matrix shows it: all that colour shows too.
func (c cell) text() string {
	s := ""
	switch t := c.transition; {
	case t == nil:
		return ""
	case t.Ignore:
		s = "·"
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
