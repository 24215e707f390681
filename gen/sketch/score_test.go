package sketch

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"propwright/model"
	"propwright/model/motion"
)

// The ends of a routine's sounds are cues in the round in which they come; a sound that
// the next one of the same stop cuts short has none.
func TestSoundEnds(t *testing.T) {
	const second = time.Second
	type at = time.Duration // of a call of the track, which sounds for 3 s
	for _, c := range []struct {
		name   string
		loop   bool
		length time.Duration
		calls  []at
		want   []at
	}{
		{"within the routine", false, 9 * second, []at{second}, []at{4 * second}},
		{"after its end", false, 2 * second, []at{second}, []at{4 * second}},
		{"the second takes the first one's place", false, 9 * second, []at{second, 3 * second}, []at{6 * second}},
		{"the second begins at the first one's end", false, 9 * second, []at{second, 4 * second}, []at{7 * second}},
		{"one after the other", false, 9 * second, []at{second, 5 * second}, []at{4 * second, 8 * second}},
		{"in a loop", true, 9 * second, []at{second}, []at{4 * second}},
		{"in the next round", true, 9 * second, []at{8 * second}, []at{2 * second}},
		{"at the next round's beginning", true, 9 * second, []at{6 * second}, []at{0}},
		{"not before the next round's sound", true, 9 * second, []at{second, 8 * second}, []at{4 * second}},
		{"never in a short loop", true, 3 * second, []at{0}, nil},
	} {
		d := &model.Design{
			Outputs: []model.Output{{Name: "horn", Kind: model.KindPulse}, {Name: "hush", Kind: model.KindPulse}},
			Tracks:  []model.Track{{Name: "call", Length: 3 * second, Play: model.Play{Output: "horn"}, Stop: model.Play{Output: "hush"}}},
		}
		r := &model.Routine{Name: "sing", Loop: c.loop, Length: c.length}
		for _, at := range c.calls {
			r.Cues = append(r.Cues, model.Cue{At: at, Track: "call"})
		}
		d.States, d.Routines = []model.State{{Name: "singing", Plays: r.Name}}, []model.Routine{*r}
		b := &builder{d: d}
		var got []at
		for _, end := range b.soundEnds(r, motion.Sheet(d, r)) {
			got = append(got, end.at)
			assert.Zero(t, end.stop)
		}
		assert.Equal(t, c.want, got, c.name)
	}
}
