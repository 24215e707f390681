package check

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"propwright/model"
)

// The call of the design lasts 2.5 s and begins 100 ms after its trigger; the
// routine lasts 4 s.
func TestSoundOverrun(t *testing.T) {
	for _, c := range []struct {
		name       string
		at, length time.Duration
		want       string
	}{
		{"ends with the routine", 1500 * msec, 4 * time.Second, ""},
		{"a millisecond longer", 1501 * msec, 4 * time.Second,
			`the track "call", which begins at 1.501s of routine "greet", sounds until 4.001s, but the routine ends at 4s`},
		// A trigger cannot be sent before the routine begins.
		{"heard late", 0, 2600 * msec, ""},
		{"heard too late", 0, 2599 * msec,
			`the track "call", which begins at 100ms of routine "greet", sounds until 2.6s, but the routine ends at 2.599s`},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := mended(t, "sound-overrun")
			r := &d.Routines[0]
			r.Length = c.length
			r.Cues = []model.Cue{{At: c.at, Track: "call"}}
			got := said(t, "sound-overrun", d)
			if c.want == "" {
				assert.Empty(t, got)
				return
			}
			assert.Equal(t, []string{c.want}, got)
		})
	}
}
