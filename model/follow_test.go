package model_test

import (
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"propwright/model"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Four windows of 20 ms at 8 kHz: silence, an eighth, the loudest, a half.
func TestLevelsOfAFile(t *testing.T) {
	dir := t.TempDir()
	var data []byte
	for _, sample := range []uint16{0, 1000, 8000, 4000} {
		for range 160 {
			data = binary.LittleEndian.AppendUint16(data, sample)
		}
	}
	wav := append([]byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x80\x3e\x00\x00\x02\x00\x10\x00data"), 0, 5, 0, 0)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "line.wav"), append(wav, data...), 0o600))

	d := &model.Design{File: filepath.Join(dir, "prop.toml")}
	levels, err := d.Levels(&model.Track{Name: "line", File: "line.wav"})
	require.NoError(t, err)
	assert.Equal(t, []uint8{0, 2, 15, 8}, levels)

	levels, err = d.Levels(&model.Track{Name: "line", File: "line.wav", Loudness: "0f3"})
	require.NoError(t, err)
	assert.Equal(t, []uint8{0, 15, 3}, levels, "what the design says")

	_, err = d.Levels(&model.Track{Name: "line", File: "gone.wav"})
	assert.ErrorIs(t, err, os.ErrNotExist)
	_, err = d.Levels(&model.Track{Name: "line"})
	assert.EqualError(t, err, `the track "line" has neither file nor loudness`)
}

func TestFollowed(t *testing.T) {
	const ms = time.Millisecond
	d := &model.Design{Tracks: []model.Track{{Name: "line", Length: 1000 * ms, Latency: 100 * ms}}}
	r := &model.Routine{Cues: []model.Cue{{At: 3000 * ms, Track: "line"}, {At: 0, Track: "line"}}}
	for _, c := range []struct{ cue, at, into time.Duration }{
		{0, 100 * ms, 0}, // its trigger cannot come before the routine
		{400 * ms, 400 * ms, 300 * ms},
		{1100 * ms, 3000 * ms, 0}, // the first has ended
		{3999 * ms, 3999 * ms, 999 * ms},
	} {
		at, into, ok := d.Followed(r, &model.Cue{At: c.cue, Follow: model.Follow{Track: "line"}})
		assert.True(t, ok)
		assert.Equal(t, c.at, at, c.cue)
		assert.Equal(t, c.into, into, c.cue)
	}
	_, _, ok := d.Followed(r, &model.Cue{At: 4000 * ms, Follow: model.Follow{Track: "line"}})
	assert.False(t, ok)
	_, _, ok = d.Followed(r, &model.Cue{Follow: model.Follow{Track: "song"}})
	assert.False(t, ok)
}

// A cue of an output becomes one that follows, and again one that does not.
func TestCueComesToFollow(t *testing.T) {
	d, err := model.Load("designs/odd/voices.prop.toml")
	require.NoError(t, err)
	cue := model.Elem{Sort: model.SortCue, Index: 0, Part: 4}
	require.Equal(t, "-10deg", d.Value(cue, "to"))
	f, err := d.With(cue, "follow", "line")
	require.NoError(t, err)
	same := func(d *model.Design) {
		t.Helper()
		again, err := model.Read(d.File, d.Format())
		require.NoError(t, err)
		require.Equal(t, string(d.Format()), string(again.Format()))
	}
	same(f)
	assert.Contains(t, string(f.Format()), "output = \"beak\"\nfollow = \"line\"\nquiet = \"0deg\"\nto = \"-10deg\"\n\n")
	b, err := f.With(cue, "follow", "")
	require.NoError(t, err)
	same(b)
	assert.NotContains(t, string(b.Format()), "to = \"-10deg\"\nfollow")
	assert.Equal(t, "", b.Value(cue, "quiet"))

	// With its track goes what follows it.
	at, _ := d.Find(model.SortTrack, "line")
	n, takes := d.Without(at)
	assert.Contains(t, takes, "the cue of speaks at 617ms goes")
	assert.NotContains(t, string(n.Format()), `follow = "line"`)
	renamed, err := d.Renamed(at, "verse")
	require.NoError(t, err)
	assert.Equal(t, 3, strings.Count(string(renamed.Format()), `follow = "verse"`))
}

func TestFollowFaults(t *testing.T) {
	text, err := os.ReadFile("designs/odd/voices.prop.toml")
	require.NoError(t, err)
	for _, c := range []struct{ old, new, wrong, advice string }{
		{`follow = "hum"`, `follow = "humm"`, `no track "humm"`, `write "hum"`},
		{`gain = 1.5`, `gain = 0`, "0 is out of range", "a number from 0.1 to 15"},
		{`release = "300ms"`, `release = "6s"`, "6s is out of range", "a time from 0s to 5s"},
		{`quiet = "20deg"`, `over = "1s"`, `the cue has no key "over"`, ""},
		{`loudness = "0f0f`, `loudness = "0x0f`, `'x' is not a loudness`, "from 0 to f"},
	} {
		_, err := model.Read("f", []byte(strings.Replace(string(text), c.old, c.new, 1)))
		if assert.ErrorContains(t, err, c.wrong, c.new) {
			assert.Contains(t, fmt.Sprint(err), c.advice)
		}
	}
}
