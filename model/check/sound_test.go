package check

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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

// A track's file is looked up next to the design; what is wrong with it is said.
func TestSoundFile(t *testing.T) {
	dir := t.TempDir()
	call, err := os.ReadFile("../designs/rules/call.wav") // 1.5 s
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "call.wav"), call, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "text.mp3"), []byte("no sound"), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "call.ogg"), nil, 0o600))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "sounds"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "sounds", "call.wav"), call, 0o600))
	for _, c := range []struct {
		file   string
		length time.Duration
		want   string
	}{
		{"call.wav", 1500 * msec, ""},
		{"sounds/call.wav", 1500 * msec, ""},
		{"call.wav", 1600 * msec, ""},
		{"call.wav", 1400 * msec, ""},
		{"call.wav", 1601 * msec, `the track "call" says 1.601s, but its file "call.wav" plays for 1.5s`},
		{"call.wav", 1399 * msec, `the track "call" says 1.399s, but its file "call.wav" plays for 1.5s`},
		{"", 9 * time.Second, ""},
		{"call.ogg", 9 * time.Second, ""},
		{"lost.wav", 1500 * msec, `there is no file "lost.wav" in the design's folder, for the track "call"`},
		{"lost.ogg", 1500 * msec, `there is no file "lost.ogg" in the design's folder, for the track "call"`},
		{"text.mp3", 1500 * msec, `how long the file "text.mp3" of the track "call" plays cannot be told: it is not an MP3 file`},
		{"sounds", 1500 * msec, `how long the file "sounds" of the track "call" plays cannot be told: it is not a regular file`},
	} {
		d := mended(t, "sound-file")
		d.File = filepath.Join(dir, "heron.prop.toml")
		d.Tracks[0].File, d.Tracks[0].Length = c.file, c.length
		got := said(t, "sound-file", d)
		if c.want == "" {
			assert.Empty(t, got)
			continue
		}
		assert.Equal(t, []string{c.want}, got)
	}
}

// A board tells tracks apart by the pulse, the message or the level that starts them.
func TestSharedSound(t *testing.T) {
	for _, c := range []struct {
		kind     model.OutputKind
		one, two string // values
		want     string
	}{
		{model.KindMessage, "one", "two", ""},
		{model.KindMessage, "one", "one", `the tracks "call" and "splash" (line 47) are both started by the message "one" of the output "voice": the board plays one sound for both`},
		{model.KindPulse, "1", "2", `the tracks "call" and "splash" (line 47) are both started by the output "voice": the board plays one sound for both`},
		{model.KindSwitch, "", "on", `the tracks "call" and "splash" (line 47) are both started by the output "voice": the board plays one sound for both`},
		{model.KindSwitch, "on", "off", ""},
	} {
		d := mended(t, "shared-sound")
		d.Output("voice").Kind = c.kind
		d.Tracks[0].Play.Value, d.Tracks[1].Play.Value = c.two, c.one
		d.Tracks[0].Name, d.Tracks[1].Name = "splash", "call"
		got := said(t, "shared-sound", d)
		if c.want == "" {
			assert.Empty(t, got, c)
			continue
		}
		assert.Equal(t, []string{c.want}, got)
	}
}

// A message is used by a cue, by a track's play and by its stop, and no other output's
// message of the same name counts.
func TestUnusedMessage(t *testing.T) {
	d := mended(t, "unused-message")
	assert.Empty(t, said(t, "unused-message", d))
	other := *d.Output("voice")
	other.Name = "speaker"
	d.Outputs = append(d.Outputs, other)
	assert.Equal(t, []string{
		`nothing sends the message "one" of the output "speaker"`,
		`nothing sends the message "two" of the output "speaker"`,
		`nothing sends the message "hush" of the output "speaker"`,
	}, said(t, "unused-message", d))
	d.Tracks[0].Stop = model.Play{Output: "speaker", Value: "hush"}
	d.Routines[0].Cues = append(d.Routines[0].Cues, model.Cue{Output: "speaker", Action: model.Action{Send: "one"}})
	assert.Equal(t, []string{`nothing sends the message "two" of the output "speaker"`}, said(t, "unused-message", d))
}
