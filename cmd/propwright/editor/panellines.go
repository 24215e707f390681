package editor

import (
	"fmt"
	"slices"
	"strings"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

// panelLines are the lines of an element's details, with a cursor.
type panelLines struct {
	lines []panelLine
	at    int // the cursor's line
}

// A panelLine is one line of the panel.
type panelLine struct {
	key  *model.KeyValue // a key that can be written
	open *model.Elem     // an element that can be opened
	add  model.Sort      // a part that can be added
	text string
	head bool
}

// selectable reports whether the cursor stops at the line.
func (l *panelLine) selectable() bool { return l.key != nil || l.open != nil || l.add != "" }

// linesOf lists an element's keys and what belongs to it: its parts, for a
// state what leads out of it and into it, for a transition what it means.
func linesOf(d *model.Design, g *grid, at model.Elem) []panelLine {
	var lines []panelLine
	kvs := d.Keys(at)
	for i := range kvs {
		lines = append(lines, panelLine{key: &kvs[i]})
	}
	if c, ok := commentOf(d, at); ok {
		lines = append(lines, panelLine{key: c})
	}
	head := func(text string) { lines = append(lines, panelLine{text: text, head: true}) }
	open := func(at model.Elem, text string) { lines = append(lines, panelLine{open: &at, text: text}) }
	for _, s := range partsOf(d, at) {
		head(s.Noun() + "s")
		for j := range d.Len(s, at.Index) {
			part := s.At(at.Index, j)
			open(part, partText(d, part))
		}
		lines = append(lines, panelLine{add: s, text: "add " + one(s.Noun())})
	}
	switch at.Sort {
	case model.SortState:
		lines = append(lines, stateWays(d, g, d.States[at.Index].Name)...)
	case model.SortProp:
		head("besides")
		for _, s := range []model.Sort{model.SortRemote, model.SortSupply} {
			open(model.Elem{Sort: s}, "the "+s.Noun())
		}
	case model.SortTransition:
		head("meaning")
		lines = append(lines, panelLine{text: meaning(d, &d.Transitions[at.Index])})
	}
	return lines
}

// partsOf lists the sorts of which an element can have parts; the prop has
// the requirements among its own.
func partsOf(d *model.Design, at model.Elem) []model.Sort {
	switch at.Sort {
	case model.SortState:
		return []model.Sort{model.SortPose, model.SortDrift}
	case model.SortRoutine:
		return []model.Sort{model.SortCue}
	case model.SortTransition:
		if len(d.Transitions[at.Index].Do) > 0 {
			return []model.Sort{model.SortOrder}
		}
	case model.SortOutput:
		if d.Outputs[at.Index].Kind.HasMessages() {
			return []model.Sort{model.SortMessage}
		}
	case model.SortProp:
		return []model.Sort{model.SortRequire}
	}
	return nil
}

// stateWays lists the transitions out of a state and into it.
func stateWays(d *model.Design, g *grid, state string) []panelLine {
	r, ok := g.rowOf(model.From{State: state})
	if !ok {
		return nil
	}
	way := func(i int, text string) panelLine {
		return panelLine{open: &model.Elem{Sort: model.SortTransition, Index: i}, text: text}
	}
	lines := []panelLine{{text: "ways out", head: true}}
	for c := range g.columns {
		if cl := g.at(r, c); cl.transition != nil && !cl.transition.Ignore {
			lines = append(lines, way(cl.index, wayOut(d, g.columns[c].trigger, cl)))
		}
	}
	lines = append(lines, panelLine{text: "ways in", head: true})
	for i := range d.Transitions {
		if t := &d.Transitions[i]; slices.Contains(model.Targets(t.To), state) {
			lines = append(lines, way(i, list(t.From)+": "+list(t.On)))
		}
	}
	return lines
}

// one returns a noun with its article.
func one(noun string) string {
	if strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}

// wayOut returns a cell's transition on one line.
func wayOut(d *model.Design, on model.Trigger, c cell) string {
	text := on.String() + " → " + c.transition.To
	if does := d.Does(c.transition); does != "" {
		text = on.String() + " / " + does
	}
	if c.transition.Defer {
		text += " when the routine ends"
	}
	if c.inherited {
		text += " (" + c.by.String() + ")"
	}
	return text
}

// line returns the line under the cursor, an empty one where there is none.
func (p *panelLines) line() *panelLine {
	if p.at < 0 || p.at >= len(p.lines) {
		return &panelLine{}
	}
	return &p.lines[p.at]
}

// pointPart puts the cursor on the line that opens an element.
func (p *panelLines) pointPart(part model.Elem) {
	for i := range p.lines {
		if open := p.lines[i].open; open != nil && *open == part {
			p.at = i
		}
	}
}

// settle moves the cursor on to a line where it can stop.
func (p *panelLines) settle(step int) {
	p.at = pane.Settled(p.at, step, len(p.lines), func(i int) bool { return p.lines[i].selectable() })
}

// move moves the cursor by lines at which it can stop.
func (p *panelLines) move(dy int) {
	step := 1
	if dy < 0 {
		step, dy = -1, -dy
	}
	for i := p.at + step; i >= 0 && i < len(p.lines) && dy > 0; i += step {
		if p.lines[i].selectable() {
			p.at = i
			dy--
		}
	}
}

// list joins the file's words for sources or triggers.
func list[T fmt.Stringer](all []T) string {
	words := make([]string, len(all))
	for i, x := range all {
		words[i] = x.String()
	}
	return strings.Join(words, ", ")
}

// partText returns a part of an element on one line.
func partText(d *model.Design, part model.Elem) string {
	var words []string
	if name := d.Name(part); name != "" {
		words = append(words, name)
	}
	for _, kv := range d.Keys(part) {
		switch {
		case kv.Value == "" || kv.Key == "name" || kv.Key == "note" || (part.Sort == model.SortDrift || part.Sort == model.SortOrder) && kv.Key == "output":
		case kv.Key == "at" || kv.Key == "output" || kv.Key == "track" || kv.Key == "to" || kv.Key == "colour" || kv.Key == "that":
			words = append(words, kv.Value)
		default:
			words = append(words, kv.Key+" "+kv.Value)
		}
	}
	return strings.Join(words, "  ")
}

// meaning says a transition in a sentence.
func meaning(d *model.Design, t *model.Transition) string {
	s := "In " + list(t.From) + ", on " + list(t.On) + ", "
	to := t.To
	if c, ok := model.ParseChoice(to); ok && c.InTurn {
		to = c.States[0] + ", the next time to " + strings.Join(c.States[1:], ", then to ") + ", and so on"
	} else if ok {
		to = "one of " + strings.Join(c.States, ", ") + " at random, but not to where it went so the last time"
	}
	switch {
	case t.Ignore:
		return s + "nothing happens, and that is meant."
	case len(t.Do) > 0:
		return s + "the prop does this, and its state goes on: " + d.Does(t) + "."
	case t.Defer && t.To == model.Back:
		return s + "the prop goes back when the routine has ended."
	case t.Defer:
		return s + "when the routine has ended, the prop goes to " + to + "."
	case t.To == model.Back:
		return s + "the prop goes back to where it was before the performance."
	}
	return s + "the prop goes to " + to + "."
}
