package trim

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
)

func beak() *model.Output {
	return &model.Output{Name: "beak", Kind: model.KindServo, Min: -30, Max: 30, UsAtMin: 1800, UsAtMax: 1200}
}

// Whatever is asked for, the servo goes no further than a step over unknown ground, and
// never past an end that was confirmed.
func TestJogStaysOnKnownGround(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo, hi, at := 1500, 1500, 0
		j := NewJog(beak(), func(us int) error { at = us; return nil })
		require.NoError(t, j.Start())
		require.Equal(t, 1500, at)
		least, most := model.LeastPulse, model.MostPulse
		for range rapid.IntRange(1, 200).Draw(t, "deeds") {
			switch rapid.IntRange(0, 9).Draw(t, "deed") {
			case 0:
				_ = j.To(rapid.IntRange(0, 3000).Draw(t, "us"))
			case 1:
				_ = j.By(rapid.IntRange(-40, 40).Draw(t, "by"))
			case 2:
				j.Clear()
				least, most = model.LeastPulse, model.MostPulse
			case 3: // the larger pulse is at the min
				if _, err := j.End(true, ""); err == nil && at < 1800 {
					least = at
				} else if err == nil {
					most = at
				}
			default:
				_ = j.Again()
			}
			require.True(t, at >= least && at <= most, "at %d, ends %d and %d", at, least, most)
			require.True(t, at >= lo-Step && at <= hi+Step, "at %d, has been from %d to %d", at, lo, hi)
			require.Equal(t, at, j.Us)
			lo, hi = min(lo, at), max(hi, at)
		}
	})
}

func TestJogSays(t *testing.T) {
	j := NewJog(beak(), func(int) error { return nil })
	require.NoError(t, j.Start())
	assert.Equal(t, model.Degrees(0), j.Angle())
	assert.EqualError(t, j.To(1600), "1600us is more than 10us beyond where beak has been, 1500 to 1500us: go there in small steps, and look")
	assert.EqualError(t, j.To(300), "300us is not a pulse for a servo: it takes 400 to 2600")
	require.NoError(t, j.By(Step))
	require.NoError(t, j.Again())
	assert.Equal(t, model.Degrees(-2), j.Angle())
	set, err := j.Rest()
	require.NoError(t, err)
	assert.Equal(t, []Setting{{"rest", "-2deg"}}, set)
	set, err = j.End(false, "-25deg")
	require.NoError(t, err)
	assert.Equal(t, []Setting{{"us_at_min", "1520"}, {"min", "-25deg"}}, set)
	assert.EqualError(t, j.By(5), "1525us is past the end, which is confirmed at 1520us")

	j = NewJog(&model.Output{Name: "wheel", Kind: model.KindSpinner, StopUs: 1480, FullUs: 2000, RevPerS: 1}, func(int) error { return nil })
	require.NoError(t, j.Start())
	require.NoError(t, j.By(4))
	set, err = j.Rest()
	require.NoError(t, err)
	assert.Equal(t, []Setting{{"stop_us", "1484"}}, set)
	_, err = j.End(true, "")
	assert.EqualError(t, err, "wheel is a spinner and has no ends; stop says where it stands still")
}
