package sketch

import (
	"bytes"
	"fmt"
	"slices"
	"sync"
	"text/template"

	"propwright/gen"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/motion"
	"propwright/templates"
)

// TrimFolder is the name of the trim sketch, and so of its folder.
const TrimFolder = "trim"

var trimText = sync.OnceValue(func() *template.Template {
	t := template.Must(template.ParseFS(templates.Trim, "trim/*.tmpl"))
	return template.Must(t.ParseFS(templates.Sketch, "sketch/board_expander.cpp.tmpl"))
})

// Trimmed returns the servos and spinners that the trim sketch moves, in the order of
// its numbers for them.
func Trimmed(d *model.Design) []*model.Output {
	var all []*model.Output
	for i := range d.Outputs {
		if o := &d.Outputs[i]; motion.FormOf(o) == motion.OnScale {
			all = append(all, o)
		}
	}
	return all
}

// Trim returns the sketch that moves a design's servos and spinners by hand, over the
// serial line. The error says why there is none.
func Trim(d *model.Design) ([]gen.File, error) {
	b, ok := board.ByName(d.Prop.Board)
	switch {
	case !ok || b.Portable:
		return nil, fmt.Errorf("there is no trim sketch for a %s; set the ends with an 8-bit board on the same servos", d.Prop.Board)
	case len(Trimmed(d)) == 0:
		return nil, fmt.Errorf("the design has no servo and no spinner to set ends of; add one")
	}
	t := struct {
		Prop, Board           string
		Least, Most, Prescale int
		Servos                []string // as C initialisers
		Expanders             []int    // their addresses
	}{Prop: d.Prop.Name, Board: b.Name, Least: model.LeastPulse, Most: model.MostPulse, Prescale: board.ExpanderPrescale}
	for _, o := range Trimmed(d) {
		if o.Bus == 0 {
			t.Servos = append(t.Servos, fmt.Sprintf("{%d, ON_PIN}, /* %s */", o.Pin, o.Name))
			continue
		}
		if !slices.Contains(t.Expanders, int(o.Bus)) {
			t.Expanders = append(t.Expanders, int(o.Bus))
		}
		t.Servos = append(t.Servos, fmt.Sprintf("{%d, %d}, /* %s: %s */", o.Channel, slices.Index(t.Expanders, int(o.Bus)), o.Name, o.Terminal()))
	}
	var text bytes.Buffer
	err := trimText().ExecuteTemplate(&text, TrimFolder+".ino.tmpl", t)
	if err != nil {
		panic(err) // the template names a field that it is not given
	}
	return []gen.File{{Path: TrimFolder + ".ino", Text: text.Bytes()}}, nil
}
