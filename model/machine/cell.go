package machine

import (
	"cmp"
	"slices"

	"propwright/model"
)

// A Matrix is a design's state–event matrix as its transitions write it. It
// is made of any design, also of one that is not finished and does not
// compile; names that lead nowhere stay what they are.
type Matrix struct {
	design  *model.Design
	written *model.Design // with its sound boards, for people
	cells   map[cellKey][]Said
	timers  map[rowKey][]model.Trigger
	kinds   map[string]model.StateKind
}

// Said is one transition that speaks for a cell.
type Said struct {
	Transition int // index in Design.Transitions
	Trigger    int // index in that transition's On
	From       int // index in that transition's From
}

// A Cell is what a row says to a trigger, precedence resolved (rule 2).
type Cell struct {
	Said []Said // of one rank, in file order: none where nothing is said, several where it is ambiguous
	Rank Rank   // of those; lower than the row's own where it is inherited
	Own  bool   // the row itself says it

	To     string // the target as written; "" with Do and Ignore
	Do     string // what is asked of outputs, see model.Design.Does
	Ignore bool
	Defer  bool
}

// Stays reports whether the state goes on: what is said leads nowhere.
func (c Cell) Stays() bool { return c.Unsaid() || c.Ignore || c.Do != "" }

// Unsaid reports whether no transition speaks for the cell.
func (c Cell) Unsaid() bool { return len(c.Said) == 0 }

// Ambiguous reports whether transitions of one rank contend for the cell; the
// first decides.
func (c Cell) Ambiguous() bool { return len(c.Said) > 1 }

// A rowKey is a row: a state, or `any` with or without a kind.
type rowKey struct {
	state string
	kind  model.StateKind
}

type cellKey struct {
	row rowKey
	on  triggerKey
}

func cellOf(row rowKey, t model.Trigger) cellKey { return cellKey{row, keyOf(t)} }

func rowOf(f model.From) rowKey { return rowKey{f.State, f.Kind} }

// NewMatrix makes the matrix of a design.
func NewMatrix(written *model.Design) *Matrix {
	d := written.Wired()
	m := &Matrix{
		design: d, written: written,
		cells:  map[cellKey][]Said{},
		timers: map[rowKey][]model.Trigger{},
		kinds:  make(map[string]model.StateKind, len(d.States)),
	}
	for i := len(d.States) - 1; i >= 0; i-- { // of two of one name the first counts
		m.kinds[d.States[i].Name] = d.States[i].Kind
	}
	for i := range d.Transitions {
		t := &d.Transitions[i]
		for j := range t.From {
			for k := range t.On {
				key := cellOf(rowOf(t.From[j]), t.On[k])
				said := m.cells[key]
				if n := len(said); n > 0 && said[n-1].Transition == i {
					continue // a trigger twice in one list
				}
				if len(said) == 0 && t.On[k].Kind == model.After {
					m.timers[key.row] = append(m.timers[key.row], t.On[k])
				}
				m.cells[key] = append(said, Said{i, k, j})
			}
		}
	}
	return m
}

// Cell is what a row (a state, `any KIND` or `any`) says to a trigger: of its
// own, or else what it inherits from `any KIND` or `any`.
func (m *Matrix) Cell(row model.From, on model.Trigger) Cell {
	for i, r := range m.ranks(row) {
		said := m.cells[cellOf(r, on)]
		if len(said) == 0 {
			continue
		}
		t := &m.design.Transitions[said[0].Transition]
		c := Cell{Said: said, Rank: rankOf(r), Own: i == 0, Ignore: t.Ignore}
		if !t.Ignore {
			c.To, c.Do, c.Defer = t.To, m.written.Does(&m.written.Transitions[said[0].Transition]), t.Defer
		}
		return c
	}
	return Cell{}
}

func rankOf(r rowKey) Rank {
	switch {
	case r.state != model.Any:
		return RankNamed
	case r.kind != "":
		return RankKind
	}
	return RankAny
}

// ranks are the rows that speak for a row, the most specific first.
func (m *Matrix) ranks(row model.From) []rowKey {
	r, all := rowOf(row), rowKey{state: model.Any}
	if r == all {
		return []rowKey{r}
	}
	if r.state == model.Any {
		return []rowKey{r, all}
	}
	kind, ok := m.kinds[r.state]
	if !ok {
		return []rowKey{r}
	}
	return []rowKey{r, {model.Any, kind}, all}
}

// Timers lists the `after` triggers that a row answers, its own first, then
// the inherited ones, each in file order.
func (m *Matrix) Timers(row model.From) []model.Trigger {
	var out []model.Trigger
	for _, r := range m.ranks(row) {
		for _, t := range m.timers[r] {
			if !slices.ContainsFunc(out, func(x model.Trigger) bool { return x.After == t.After }) {
				out = append(out, t)
			}
		}
	}
	return out
}

// Columns lists the triggers of the matrix: for each button its press,
// and its holds, repeats and its release as far as a transition names them, the shorter time
// first; for each input its rise and its fall; done; and every `after` that a
// transition names, the shorter time first. Further triggers are taken as
// named too.
func (m *Matrix) Columns(further ...model.Trigger) []model.Trigger {
	d := m.design
	named := map[cellKey]model.Trigger{}
	for _, on := range further {
		named[cellOf(rowKey{}, on)] = on.Plain()
	}
	for i := range d.Transitions {
		for _, on := range d.Transitions[i].On {
			named[cellOf(rowKey{}, on)] = on.Plain()
		}
	}
	var more []model.Trigger
	for _, on := range named {
		more = append(more, on)
	}
	slices.SortFunc(more, func(a, b model.Trigger) int {
		return cmp.Or(cmp.Compare(a.For, b.For), cmp.Compare(a.After.Lo, b.After.Lo), cmp.Compare(a.After.Hi, b.After.Hi))
	})
	var columns []model.Trigger
	take := func(kind model.TriggerKind, name string) {
		for _, on := range more {
			if on.Kind == kind && on.Name == name {
				columns = append(columns, on)
			}
		}
	}
	for i := range d.Remote.Buttons {
		name := d.Remote.Buttons[i].Name
		columns = append(columns, model.Trigger{Kind: model.Press, Name: name})
		take(model.Hold, name)
		take(model.Repeated, name)
		take(model.Release, name)
	}
	for i := range d.Inputs {
		name := d.Inputs[i].Name
		columns = append(columns, model.Trigger{Kind: model.Rise, Name: name}, model.Trigger{Kind: model.Fall, Name: name})
	}
	for i := range d.Events {
		columns = append(columns, model.Trigger{Kind: model.Posted, Name: d.Events[i].Name})
	}
	columns = append(columns, model.Trigger{Kind: model.Done})
	take(model.After, "")
	return columns
}
