package edit

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/motion"
)

// Cues that are written in the place of what follows a track take the outputs along what
// was followed, as near as the tolerance and the mechanism have it; one step back it
// follows again.
func TestWriteOut(t *testing.T) {
	d, err := model.Load("../designs/rules/voice-lags-mended.prop.toml")
	require.NoError(t, err)
	draft := New(d)
	var cues []model.Elem
	for i := range d.Routines[0].Cues {
		cues = append(cues, model.SortCue.At(0, i))
	}
	written, err := draft.WriteOut(cues, 0.1)
	require.NoError(t, err)
	n := draft.Design()
	require.Equal(t, len(d.Routines[0].Cues)+len(written)-1, len(n.Routines[0].Cues))
	for _, at := range written {
		assert.Equal(t, "neck", n.Value(at, "output"))
		assert.Empty(t, n.Value(at, "follow"))
	}
	moved := motion.Alone(n, &n.Routines[0])
	sheet := motion.Sheet(d, &d.Routines[0])
	call := sheet[slices.IndexFunc(sheet, func(c motion.Call) bool { return c.Voice != nil })]
	for n, level := range call.Voice.Course() {
		at := call.At + time.Duration(n)*motion.Frame
		// Of 15 degrees, and what the motion generator rounds off.
		require.InDelta(t, 15*float64(level)/motion.Loudest, moved.Value("neck", at).Lo, 0.1*15+0.8, "%v", at)
	}
	again, err := model.Read(d.File, n.Format())
	require.NoError(t, err)
	study := check.NewStudy(again)
	found, err := study.Check(check.Rules())
	require.NoError(t, err)
	for _, f := range found {
		assert.NotEqual(t, check.Error, f.Severity, f.Message)
	}
	draft.Undo()
	assert.Equal(t, string(d.Format()), string(draft.Design().Format()))
	_, err = draft.WriteOut(cues[:1], 0.1)
	assert.ErrorContains(t, err, "nothing here follows a track")
	assert.Equal(t, string(d.Format()), string(draft.Design().Format()))
}

// Several at once, of a servo and of lights, one cut short by another cue, without a loss.
func TestWriteOutSeveral(t *testing.T) {
	d, err := model.Load("../designs/odd/voices.prop.toml")
	require.NoError(t, err)
	draft := New(d)
	var cues []model.Elem
	for i := range d.Routines[0].Cues {
		cues = append(cues, model.SortCue.At(0, i))
	}
	written, err := draft.WriteOut(cues, 0.2)
	require.NoError(t, err)
	n := draft.Design()
	for _, c := range n.Routines[0].Cues {
		assert.Empty(t, c.Follow.Track)
	}
	assert.Len(t, n.Routines[0].Cues, len(d.Routines[0].Cues)-4+len(written))
	slices.SortFunc(written, func(a, b model.Elem) int { return a.Part - b.Part })
	assert.Len(t, slices.Compact(slices.Clone(written)), len(written))
	for _, at := range written {
		c := n.Routines[0].Cues[at.Part]
		assert.Contains(t, []string{"beak", "crest", "eyes"}, c.Output)
		assert.Empty(t, c.Track)
	}
}

// What is written is not too fast for the mechanism, at any tolerance, also where the
// check does not know from where the servo comes.
func TestWriteOutIsNotTooFast(t *testing.T) {
	for _, tolerance := range []float64{0.02, 0.05, 0.1, 0.2, 0.4} {
		d, err := model.Load("../designs/odd/voices.prop.toml")
		require.NoError(t, err)
		draft := New(d)
		var cues []model.Elem
		for i := range d.Routines[0].Cues {
			cues = append(cues, model.SortCue.At(0, i))
		}
		_, err = draft.WriteOut(cues, tolerance)
		require.NoError(t, err)
		found, err := check.NewStudy(draft.Design()).Check(check.Rules())
		require.NoError(t, err)
		for _, f := range found {
			assert.NotEqual(t, check.Error, f.Severity, "%v: %s", tolerance, f.Message)
		}
	}
}

func TestSimplified(t *testing.T) {
	course := make([]uint16, 500)
	for i := range course {
		course[i] = uint16(30000 + 20000*math.Sin(float64(i)/9) + 9000*math.Sin(float64(i)/2))
	}
	before := len(course)
	for _, tolerance := range []float64{0, 500, 3000, 12000} {
		corners := simplified(course, tolerance)
		assert.Equal(t, []int{0, 499}, []int{corners[0], corners[len(corners)-1]})
		assert.LessOrEqual(t, len(corners), before)
		before = len(corners)
		for k, from := range corners[:len(corners)-1] {
			to := corners[k+1]
			for n := from; n <= to; n++ {
				on := float64(course[from]) + (float64(course[to])-float64(course[from]))*float64(n-from)/float64(to-from)
				require.InDelta(t, on, float64(course[n]), tolerance+1e-6)
			}
		}
	}
	assert.Less(t, before, 60)
}
