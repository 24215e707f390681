package motion

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"propwright/model"
)

func TestLanes(t *testing.T) {
	d := prop()
	r := &model.Routine{Name: "act", Cues: []model.Cue{
		cue(400*ms, "beak", model.Action{To: 90, Ease: model.EaseLinear}), // beyond max
		cue(0, "beak", model.Action{To: 25, Over: 300 * ms}),
		cue(100*ms, "eyes", model.Action{Over: 50 * ms, Last: -1}),
		{At: 200 * ms, Track: "hoot"},
		cue(300*ms, "reel", model.Action{Speed: 1, Over: 400 * ms}),
		cue(300*ms, "lamp", model.Action{Set: true}),
	}}
	assert.Equal(t, []Lane{
		{"beak", []Segment{{Cue: 1, Start: 0, End: 300 * ms, From: 5, To: 25}, {Cue: 0, Start: 400 * ms, End: 500 * ms, From: 25, To: 45}}},
		{"reel", []Segment{{Cue: 4, Start: 300 * ms, End: 700 * ms, From: 0, To: 1}}},
		{"eyes", []Segment{{Cue: 2, Start: 100 * ms, End: 160 * ms}}},
		{"horn", []Segment{{Cue: 3, Start: 80 * ms, End: 230 * ms}}},
		{"lamp", []Segment{{Cue: 5, Start: 300 * ms, End: 300 * ms}}},
	}, Lanes(d, r))
}
