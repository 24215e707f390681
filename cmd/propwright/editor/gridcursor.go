package editor

import "propwright/model"

// A gridCursor is a cell of the workspace's grid.
type gridCursor struct {
	*workspace
	r, c int // row and column
}

func (k *gridCursor) renew() { k.Move(0, 0) }

func (k *gridCursor) Move(dx, dy int) {
	k.r = min(max(k.r+dy, 0), len(k.grid.rows)-1)
	k.c = min(max(k.c+dx, 0), len(k.grid.columns)-1)
}

// row and trigger say where the cursor is; cell what is said there.
func (k *gridCursor) row() *row              { return &k.grid.rows[k.r] }
func (k *gridCursor) trigger() model.Trigger { return k.grid.columns[k.c].trigger }
func (k *gridCursor) cell() cell             { return k.grid.at(k.r, k.c) }

// place returns the transition in the cell, or the row's state.
func (k *gridCursor) place() model.Elem {
	c, state := k.cell(), k.row().state
	if c.transition != nil && (!c.inherited || state < 0) {
		return model.Elem{Sort: model.SortTransition, Index: c.index}
	}
	if state >= 0 {
		return model.Elem{Sort: model.SortState, Index: state}
	}
	return model.Elem{Sort: model.SortProp}
}

// goTo puts the cursor on a row and a column of the design.
func (k *gridCursor) goTo(f model.From, on *model.Trigger) {
	if r, ok := k.grid.rowOf(f); ok {
		k.r = r
	}
	if on == nil {
		return
	}
	if c, ok := k.grid.columnOf(*on); ok {
		k.c = c
	}
}

// where describes the cell under the cursor.
func (k *gridCursor) where() string {
	c, row := k.cell(), k.row()
	s := row.from.String() + ", " + k.trigger().String() + ": "
	t := c.transition
	switch {
	case t == nil:
		return s + "nothing is said; type a state's name, or . to ignore it"
	case t.Ignore:
		s += "ignored on purpose"
	case c.does != "":
		s += c.does + "; the state goes on"
	case t.Defer:
		s += "to " + t.To + " when the routine has ended"
	case t.To == model.Back:
		s += "back to where the performance began"
	default:
		s += "to " + t.To
	}
	if c.inherited {
		s += " — said by " + c.by.String()
	}
	if c.twice {
		s += " — but a second transition says something too: ambiguous"
	}
	return s
}

func (k *gridCursor) arrive(at model.Elem) bool {
	d := k.desk.design()
	if !d.Has(at) {
		return false
	}
	switch at.Sort {
	case model.SortState:
		k.goTo(model.From{State: d.States[at.Index].Name}, nil)
		return true
	case model.SortTransition:
		t := &d.Transitions[at.Index]
		if len(t.From) > 0 && len(t.On) > 0 {
			k.goTo(t.From[0], &t.On[0])
			return true
		}
	}
	return false
}
