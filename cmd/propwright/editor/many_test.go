package editor

import (
	"fmt"
	"testing"

	"propwright/model"
)

// manyOutputs is a design whose last outputs are moved, in a routine of all.
func manyOutputs() *model.Design {
	d := largeDesign(2, 4)
	r := model.Routine{Name: "all"}
	for i := range 14 {
		o := model.FirstOutput(model.KindSwitch)
		o.Name, o.Pin = fmt.Sprintf("lamp-%d", i), 3+i
		d.Outputs = append(d.Outputs, o)
		r.Cues = append(r.Cues, model.Cue{Output: o.Name, Action: model.FirstAction(&o)})
	}
	d.Routines = []model.Routine{r}
	d.States[0].Pose = []model.Pose{{Output: "lamp-13", Action: model.FirstAction(&d.Outputs[13])}}
	return d
}

// Where not all outputs fit beside a rehearsal, those that the state moves do.
func TestRehearsalOfManyOutputs(t *testing.T) {
	t.Parallel()
	text := manyOutputs().Format()
	openScene(t, 80, 24, 16, text).keys("F8").sees("lamp-13", "lamp-0 ", "✗lamp-12", "and 3 more")
	openScene(t, 160, 50, 16, text).keys("F8").sees("lamp-13", "lamp-12", "✗ more;")
}

// Where not all lanes fit, that of the cue under the cursor does.
func TestLanesOfManyOutputs(t *testing.T) {
	t.Parallel()
	s := openScene(t, 80, 24, 16, manyOutputs().Format()).keys("F5").sees("│ lamp-0 ", "▼").keys("Right", "End")
	s.keys("Alt-Down").sees("│ lamp-13 ", "▲")
}
