package editor

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"propwright/cmd/propwright/editor/pane"
	"propwright/model"
)

// Every key that any element can have is explained, and nothing else is.
func TestEveryKeyOfADesignIsExplained(t *testing.T) {
	t.Parallel()
	d := &model.Design{
		Remote:      model.Remote{Buttons: make([]model.Button, 1)},
		Inputs:      make([]model.Input, 1),
		Tracks:      make([]model.Track, 1),
		Routines:    []model.Routine{{}},
		States:      make([]model.State, 1),
		Transitions: make([]model.Transition, 1),
		Requires:    make([]model.Require, 1),
	}
	d.Routines[0].Cues = []model.Cue{{Track: "a"}}
	for i, kind := range model.OutputKinds {
		o := model.FirstOutput(kind)
		o.Name = string(rune('a' + i))
		d.Outputs = append(d.Outputs, o)
		d.Routines[0].Cues = append(d.Routines[0].Cues, model.Cue{Output: o.Name})
		d.States[0].Pose = append(d.States[0].Pose, model.Pose{Output: o.Name})
		d.States[0].Drift = append(d.States[0].Drift, model.Drift{Output: o.Name})
	}
	used := map[string]bool{commentKey: true}
	assert.LessOrEqual(t, pane.Width(explain(model.SortState, &model.KeyValue{Key: commentKey})), 78)
	look := func(at model.Elem) {
		for _, kv := range d.Keys(at) {
			assert.NotEmpty(t, meaningOf(at.Sort, kv.Key), "%s of %s", kv.Key, at.Sort)
			if s := explain(at.Sort, &kv); pane.Width(s) > 78 {
				assert.Fail(t, "too long for a screen of 80 columns", "%d: %s", pane.Width(s), s)
			}
			if _, own := meanings[string(at.Sort)+"."+kv.Key]; own {
				used[string(at.Sort)+"."+kv.Key] = true
			} else {
				used[kv.Key] = true
			}
		}
	}
	for _, s := range []model.Sort{
		model.SortProp, model.SortRemote, model.SortButton, model.SortSupply, model.SortInput, model.SortOutput, model.SortTrack,
		model.SortRoutine, model.SortState, model.SortTransition, model.SortRequire,
	} {
		for i := range d.Len(s, 0) {
			look(model.Elem{Sort: s, Index: i})
		}
	}
	for _, s := range []model.Sort{model.SortMessage, model.SortCue, model.SortPose, model.SortDrift} {
		for i := range d.Len(s.Parent(), 0) {
			for j := range d.Len(s, i) {
				look(model.Elem{Sort: s, Index: i, Part: j})
			}
		}
	}
	for key := range meanings {
		assert.True(t, used[key], "%s is explained and belongs to nothing", key)
	}
}
