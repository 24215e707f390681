package edit

import (
	"fmt"
	"slices"

	"propwright/model"
)

// An Outcome is what one cell of the state–event matrix says of its own: go To
// where model.Transition.To says, at once or (Defer) when the routine ends; Do what
// model.Design.OrdersText has; Ignore; or, as the zero value, nothing.
type Outcome struct {
	To     string
	Do     string
	Ignore bool
	Defer  bool
}

func (o Outcome) String() string {
	switch {
	case o.Ignore:
		return "ignore"
	case o.Defer:
		return o.To + ", deferred"
	case o.Do != "":
		return o.Do
	case o.To == "":
		return "nothing"
	}
	return o.To
}

// Fill lets a cell of the state–event matrix, a row (a state, `any KIND` or
// `any`) and a trigger, say something else. No other cell changes:
//
//   - a transition that stands for this cell alone is changed where it is, and
//     deleted where the cell is to say nothing;
//   - one that stands for other cells too loses this one, and is split where it
//     has several sources and several triggers (each part then takes turns of
//     its own);
//   - a cell that is new joins a transition with the same outcome and without
//     a note, the same trigger or the same source, but for one that leads to
//     states in turn; else it becomes a transition of its own, behind the last
//     that has its row as a source.
//
// Where several transitions stood for the cell, one is left.
func (f *Draft) Fill(row model.From, on model.Trigger, o Outcome) error {
	d := f.design
	row, on = model.From{State: row.State, Kind: row.Kind}, on.Plain()
	if err := fits(d, row, on, o); err != nil {
		return err
	}
	ts, placed := cleared(d, row, on, o)
	if o != (Outcome{}) && !placed {
		ts = placedIn(d, ts, row, on, o)
	}
	c := *d
	c.Transitions = ts
	f.commit(fmt.Sprintf("set %s on %s to %s", row, on, o), &c)
	return nil
}

func outcome(d *model.Design, t *model.Transition) Outcome {
	switch {
	case t.Ignore:
		return Outcome{Ignore: true}
	case len(t.Do) > 0:
		return Outcome{Do: d.OrdersText(t)}
	}
	return Outcome{To: t.To, Defer: t.Defer}
}

// fits refuses what a cell cannot say.
func fits(d *model.Design, row model.From, on model.Trigger, o Outcome) error {
	performing := row.Kind == model.Performing
	if row.State != model.Any {
		e, ok := d.Find(model.SortState, row.State)
		if !ok {
			return missing(d, model.SortState, row.State)
		}
		performing = d.States[e.Index].Kind == model.Performing
	} else if row.Kind != "" && !slices.Contains(model.StateKinds, row.Kind) {
		return fmt.Errorf("%q is not a kind of state; write dormant, ambient or performing", row.Kind)
	}
	// The trigger's own parser knows its form, the file's reader the names.
	if _, err := model.ParseTrigger(on.String()); err != nil {
		return err
	}
	if sort := on.Kind.Of(); sort != "" {
		if _, ok := d.Find(sort, on.Name); !ok {
			return missing(d, sort, on.Name)
		}
	}
	if o.Do != "" {
		if o.To != "" || o.Ignore || o.Defer {
			return fmt.Errorf("what is asked of outputs leads nowhere and waits for nothing; choose it alone")
		}
		_, err := d.ParseOrders(o.Do)
		return err
	}
	switch {
	case on.Kind == model.Repeated && o.To != "":
		return fmt.Errorf("%s comes again and again, and leads nowhere; wait for a hold, or ask something of outputs", on)
	case o.Ignore && (o.To != "" || o.Defer):
		return fmt.Errorf("what is ignored leads nowhere; choose a target or ignore")
	case o.Defer && o.To == "":
		return fmt.Errorf("a deferred transition needs a target; name a state")
	case o.Defer && !performing:
		return fmt.Errorf("defer waits for a routine's end, and %s does not perform; choose the target without defer", row)
	case o.Defer && on.Kind == model.Done:
		return fmt.Errorf("done is the routine's end already; choose the target without defer")
	case o.To == model.Back && !performing:
		return fmt.Errorf("back leads out of a performing state, and %s does not perform; name a state", row)
	}
	if o.To == "" || o.To == model.Back {
		return nil
	}
	for _, name := range model.Targets(o.To) {
		if _, ok := d.Find(model.SortState, name); !ok {
			return missing(d, model.SortState, name)
		}
	}
	return nil
}

func missing(d *model.Design, s model.Sort, name string) error {
	if near := model.Nearest(name, d.Names(s)); near != "" {
		return fmt.Errorf("there is no %s %q; did you mean %q?", s.Noun(), name, near)
	}
	return fmt.Errorf("there is no %s %q; add it first", s.Noun(), name)
}

// cleared takes the cell out of every transition; the first that stands for
// it alone is given the outcome instead, and then placed is true.
func cleared(d *model.Design, row model.From, on model.Trigger, o Outcome) (out []model.Transition, placed bool) {
	all := d.Transitions
	out = make([]model.Transition, 0, len(all)+1)
	for i := range all {
		t := all[i]
		if !stands(&all[i], row, on) {
			out = append(out, t)
			continue
		}
		switch {
		case !placed && outcome(d, &t) == o: // it says so already
			out = append(out, t)
			placed = true
		case len(t.From) == 1 && len(t.On) == 1:
			if o != (Outcome{}) && !placed {
				out = append(out, saying(d, t, o))
				placed = true
			}
		default:
			out = append(out, split1(t, row, on)...)
		}
	}
	return out, placed
}

// split1 is what is left of a transition without one of its cells.
func split1(t model.Transition, row model.From, on model.Trigger) []model.Transition {
	others := slices.DeleteFunc(slices.Clone(t.From), func(f model.From) bool { return sameRow(f, row) })
	rest := slices.DeleteFunc(slices.Clone(t.On), func(x model.Trigger) bool { return sameTrigger(x, on) })
	var out []model.Transition
	if len(others) > 0 {
		x := t
		x.From = others
		out = append(out, x)
	}
	if len(rest) > 0 {
		x := t
		if len(out) > 0 {
			x.Source = t.Source.Bare()
		}
		x.From = slices.DeleteFunc(slices.Clone(t.From), func(f model.From) bool { return !sameRow(f, row) })
		x.On = rest
		out = append(out, x)
	}
	return out
}

// saying gives a transition another outcome; comments stay.
func saying(d *model.Design, t model.Transition, o Outcome) model.Transition {
	t.To, t.Ignore, t.Defer = o.To, o.Ignore, o.Defer
	t.Do, _ = d.ParseOrders(o.Do) // see fits
	for key, holds := range map[string]bool{"to": o.To != "", "do": o.Do != "", "ignore": o.Ignore, "defer": o.Defer} {
		if !holds {
			t.Unstate(key)
		}
	}
	return t
}

// placedIn adds a cell: to a transition that says the same, or as one.
func placedIn(d *model.Design, all []model.Transition, row model.From, on model.Trigger, o Outcome) []model.Transition {
	for i := range all {
		t := all[i]
		if c, _ := model.ParseChoice(o.To); t.Note != "" || outcome(d, &t) != o || c.InTurn {
			continue
		}
		switch {
		case len(t.On) == 1 && sameTrigger(t.On[0], on) && named(row) && !slices.ContainsFunc(t.From, unnamed):
			t.From = append(slices.Clone(t.From), row)
		case len(t.From) == 1 && sameRow(t.From[0], row):
			t.On = append(slices.Clone(t.On), on)
		default:
			continue
		}
		all = slices.Clone(all)
		all[i] = t
		return all
	}
	at := len(all)
	for i := range all {
		if slices.ContainsFunc(all[i].From, func(f model.From) bool { return sameRow(f, row) }) {
			at = i + 1
		}
	}
	t := saying(d, model.Transition{From: []model.From{row}, On: []model.Trigger{on}}, o)
	return slices.Insert(slices.Clone(all), at, t)
}

func stands(t *model.Transition, row model.From, on model.Trigger) bool {
	return slices.ContainsFunc(t.From, func(f model.From) bool { return sameRow(f, row) }) &&
		slices.ContainsFunc(t.On, func(x model.Trigger) bool { return sameTrigger(x, on) })
}

func named(f model.From) bool   { return f.State != model.Any }
func unnamed(f model.From) bool { return !named(f) }

func sameRow(a, b model.From) bool { return a.State == b.State && a.Kind == b.Kind }

func sameTrigger(a, b model.Trigger) bool {
	return a.Kind == b.Kind && a.Name == b.Name && a.For == b.For && a.After == b.After
}
