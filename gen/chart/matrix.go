package chart

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"html/template"
	"strings"
	"sync"

	"propwright/model"
	"propwright/model/machine"
	"propwright/templates"
)

// A Table is a design's state–event matrix with precedence resolved: a row
// for each state, a column for each event.
type Table struct {
	Title   string
	Columns []string // as written in `on`
	Rows    []Row
}

// A Row is what one state says to each event.
type Row struct {
	State, Kind, Plays, Note string

	First bool // of its kind, where kinds are together
	Cells []Cell
}

// A Cell is what one event does in one state.
type Cell struct {
	Class string // "said", "inherited", "ignored", "unsaid", "blank" or "never"; with " clash" where transitions contend
	Text  string // the state it leads to, "back", "ignored", "·" or ""
	More  string // "when the routine ends", and where it is inherited from
	Note  string
}

// Matrix makes a design's table. Columns are as machine.Matrix gives them.
func Matrix(d *model.Design) *Table {
	m := machine.NewMatrix(d)
	columns := m.Columns()
	t := &Table{Title: d.Prop.Called()}
	for _, c := range columns {
		t.Columns = append(t.Columns, c.String())
	}
	kind := model.StateKind("")
	for i := range d.States {
		s := &d.States[i]
		r := Row{State: s.Name, Kind: string(s.Kind), Plays: s.Plays, Note: tooltip(s.Label, s.Note), First: s.Kind != kind}
		kind = s.Kind
		for _, c := range columns {
			r.Cells = append(r.Cells, cellOf(d, s, c, m.Cell(model.From{State: s.Name}, c)))
		}
		t.Rows = append(t.Rows, r)
	}
	return t
}

func cellOf(d *model.Design, s *model.State, on model.Trigger, c machine.Cell) Cell {
	if on.Kind == model.Done {
		if r := d.Routine(s.Plays); r == nil || r.Loop {
			return Cell{Class: "never", Text: "·", Note: "no routine ends here"}
		}
	}
	if c.Unsaid() {
		switch on.Kind {
		case model.After:
			return Cell{Class: "never", Text: "·", Note: "this timer is not set here"}
		case model.Hold, model.Repeated, model.Release: // the press has said what there is to say
			return Cell{Class: "blank"}
		}
		return Cell{Class: "unsaid"}
	}
	said := c.Said[0]
	t := &d.Transitions[said.Transition]
	x := Cell{Class: "said", Text: c.To, Note: t.Note}
	var more []string
	switch {
	case c.Ignore:
		x.Class, x.Text = "ignored", "ignored"
	case !c.Own:
		x.Class = "inherited"
	}
	if c.Do != "" {
		x.Text = "/ " + c.Do
	}
	if c.Defer {
		more = append(more, atEnd)
	}
	if !c.Own && !c.Ignore {
		more = append(more, t.From[said.From].String())
	}
	if c.Ambiguous() {
		x.Class += " clash"
		more = append(more, fmt.Sprintf("%d transitions contend", len(c.Said)))
	}
	x.More = strings.Join(more, "; ")
	return x
}

// CSV writes the table for a spreadsheet (RFC 4180, lines end in \n).
func (t *Table) CSV() ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write(append([]string{"state", "kind", "plays"}, t.Columns...))
	for _, r := range t.Rows {
		line := []string{r.State, r.Kind, r.Plays}
		for _, c := range r.Cells {
			text := strings.TrimPrefix(c.Text, "·")
			if c.More != "" {
				text += " (" + c.More + ")"
			}
			line = append(line, text)
		}
		w.Write(line)
	}
	w.Flush()
	return b.Bytes(), w.Error() // that of any line
}

var page = sync.OnceValue(func() *template.Template {
	return template.Must(template.ParseFS(templates.Chart, "chart/matrix.html.tmpl"))
})

// HTML writes the table as a page that needs nothing else.
func (t *Table) HTML() ([]byte, error) {
	var b bytes.Buffer
	err := page().Execute(&b, t)
	return b.Bytes(), err
}
