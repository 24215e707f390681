package sketch

import (
	"bytes"
	"fmt"
	"sync"
	"text/template"

	"propwright/gen"
	"propwright/model"
	"propwright/model/board"
	"propwright/templates"
)

// TrimFolder is the name of the trim sketch, and so of its folder.
const TrimFolder = "trim"

var trimText = sync.OnceValue(func() *template.Template {
	return template.Must(template.ParseFS(templates.Trim, "trim/*.tmpl"))
})

// Trimmed gives the outputs that the trim sketch moves, by the number that it knows them by:
// servos and spinners on pins.
func Trimmed(d *model.Design) []*model.Output {
	var all []*model.Output
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Bus == 0 && (o.Kind == model.KindServo || o.Kind == model.KindSpinner) {
			all = append(all, o)
		}
	}
	return all
}

// Trim gives the sketch that moves a design's servos and spinners by hand, over the
// serial line. The error says why there is none.
func Trim(d *model.Design) ([]gen.File, error) {
	b, ok := board.ByName(d.Prop.Board)
	switch {
	case !ok || b.Portable:
		return nil, fmt.Errorf("there is no trim sketch for a %s; set the ends with an 8-bit board on the same servos", d.Prop.Board)
	case len(Trimmed(d)) == 0:
		return nil, fmt.Errorf("the design has no servo and no spinner on a pin to set ends of; add one")
	}
	var text bytes.Buffer
	err := trimText().ExecuteTemplate(&text, TrimFolder+".ino.tmpl", struct {
		Prop, Board string
		Least, Most int
		Servos      []*model.Output
	}{d.Prop.Name, b.Name, model.LeastPulse, model.MostPulse, Trimmed(d)})
	if err != nil {
		panic(err) // the template names a field that it is not given
	}
	return []gen.File{{Path: TrimFolder + ".ino", Text: text.Bytes()}}, nil
}
