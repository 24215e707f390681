package editor

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
	"propwright/model/designs/odd"
)

// Every key is told with its meaning on one line of the least screen.
func TestEveryKeyOfADesignIsExplained(t *testing.T) {
	t.Parallel()
	fits := func(kv model.KeyValue) {
		assert.NotEmpty(t, kv.Meaning, kv.Key)
		if s := explain(&kv); pane.Width(s) > 78 {
			assert.Fail(t, "too long for a screen of 80 columns", "%d: %s", pane.Width(s), s)
		}
	}
	for _, k := range model.Schema() {
		fits(model.KeyValue{Key: k.Key, Meaning: k.Meaning, Need: k.Need})
	}
	for _, d := range odd.Whole(t) {
		for _, at := range []model.Elem{model.SortState.At(0, 0), model.SortTransition.At(0, 0), {Sort: model.SortProp}} {
			for _, kv := range d.Keys(at) {
				fits(kv)
			}
		}
	}
	comment, ok := commentOf(&model.Design{}, model.Elem{Sort: model.SortProp})
	assert.True(t, ok)
	fits(*comment)
}
