package chart

import (
	"slices"
	"strings"

	"propwright/model"
)

// inView leaves what the view shows. In the view of one state what it
// inherits counts as its own, with a word on where it is said.
func (b *builder) inView(all []said) []said {
	switch {
	case b.view.State != "":
		return b.aroundState(all)
	case b.view.Button != "":
		var out []said
		for _, s := range all {
			if ofButton(s.on, b.view.Button) {
				out = append(out, s)
			}
		}
		b.chart.Legend = append(b.chart.Legend, b.silence()...)
		return out
	}
	return all
}

func ofButton(t model.Trigger, button string) bool {
	return t.Kind.Of() == model.SortButton && t.Name == button
}

// aroundState keeps what leads to the state, and gives it all that it answers.
func (b *builder) aroundState(all []said) []said {
	row := model.From{State: b.view.State}
	var out []said
	for _, on := range b.triggers(row) {
		c := b.matrix.Cell(row, on)
		if c.Unsaid() {
			continue
		}
		t := &b.design.Transitions[c.Said[0].Transition]
		out = append(out, said{from: row, on: on, to: c.To, does: c.Do, ignore: c.Ignore, waits: c.Defer, note: t.Note})
	}
	for _, s := range all {
		if slices.Contains(model.Targets(s.to), b.view.State) && s.from.State != b.view.State {
			out = append(out, s)
		}
	}
	b.chart.Legend = append(b.chart.Legend, Key{Text: "what leads to " + b.view.State + ", and all that leads away, inherited or not"})
	return out
}

// triggers returns all that a row can answer.
func (b *builder) triggers(row model.From) []model.Trigger {
	var ts []model.Trigger
	for _, t := range b.matrix.Columns() {
		if t.Kind != model.After {
			ts = append(ts, t)
		}
	}
	return append(ts, b.matrix.Timers(row)...)
}

// silence says in which states a press of the button does nothing.
func (b *builder) silence() []Key {
	press := model.Trigger{Kind: model.Press, Name: b.view.Button}
	var ignored, unsaid []string
	for i := range b.design.States {
		name := b.design.States[i].Name
		switch c := b.matrix.Cell(model.From{State: name}, press); {
		case c.Ignore:
			ignored = append(ignored, name)
		case c.Unsaid():
			unsaid = append(unsaid, name)
		}
	}
	var lines []Key
	if ignored != nil {
		lines = append(lines, wrapped("a press of "+b.view.Button+" is ignored in ", ignored)...)
	}
	if unsaid != nil {
		lines = append(lines, wrapped("nothing is said of it in ", unsaid)...)
	}
	return lines
}

// wrapped lists names in lines that a chart can hold.
func wrapped(head string, names []string) []Key {
	const width = 90
	var lines []Key
	line := head
	for i, n := range names {
		if i < len(names)-1 {
			n += ", "
		}
		if len(line)+len(n) > width {
			lines, line = append(lines, Key{Text: strings.TrimRight(line, " ")}), "    "
		}
		line += n
	}
	return append(lines, Key{Text: line})
}

// prune leaves out the states that a view does not touch.
func (b *builder) prune() {
	if b.view == (View{}) {
		return
	}
	touched := map[string]bool{b.view.State: true}
	for _, a := range b.chart.Arrows {
		touched[a.From], touched[a.To] = true, true
	}
	b.chart.Boxes = slices.DeleteFunc(b.chart.Boxes, func(x Box) bool {
		return x.Shape != EveryShape && !touched[x.ID]
	})
}
