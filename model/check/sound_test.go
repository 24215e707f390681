package check

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/machine"
)

// The call of the design lasts 2.5 s and begins 100 ms after its trigger; the
// routine lasts 4 s.
func TestSoundOverrun(t *testing.T) {
	for _, c := range []struct {
		name       string
		at, length time.Duration
		silenced   time.Duration // by a cue
		want       string
	}{
		{"ends with the routine", 1500 * msec, 4 * time.Second, 0, ""},
		{"silenced in time", 1501 * msec, 4 * time.Second, 4 * time.Second, ""},
		{"silenced before", 1501 * msec, 4 * time.Second, 1400 * msec,
			`the track "call", which begins at 1.501s of routine "greet", sounds until 4.001s, but the routine ends at 4s`},
		{"a millisecond longer", 1501 * msec, 4 * time.Second, 0,
			`the track "call", which begins at 1.501s of routine "greet", sounds until 4.001s, but the routine ends at 4s`},
		// A trigger cannot be sent before the routine begins.
		{"heard late", 0, 2600 * msec, 0, ""},
		{"heard too late", 0, 2599 * msec, 0,
			`the track "call", which begins at 100ms of routine "greet", sounds until 2.6s, but the routine ends at 2.599s`},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := mended(t, "sound-overrun")
			r := &d.Routines[0]
			r.Length = c.length
			r.Cues = []model.Cue{{At: c.at, Track: "call"}}
			if c.silenced > 0 {
				stop := d.Tracks[0].Silencer()
				r.Cues = append(r.Cues, model.Cue{At: c.silenced, Output: stop.Output, Action: stop.Action()})
			}
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

// A sound that nothing silences is found where its routine can be left before its end,
// and the witness leaves it so.
func TestUnsilencedSound(t *testing.T) {
	const says = `the track "call", played in "greet", sounds on for up to %s when its routine is left: nothing silences it`
	after := func(lo, hi time.Duration) model.Trigger {
		return model.Trigger{Kind: model.After, After: model.Span{Lo: lo, Hi: hi}}
	}
	for _, c := range []struct {
		name   string
		change func(d *model.Design, leaves *model.Transition)
		want   string // how long the sound goes on, "": it is not found
	}{
		{"by a press", func(*model.Design, *model.Transition) {}, "2.6s"},
		{"it has a stop", func(d *model.Design, _ *model.Transition) { d.Tracks[0].Stop.Value = "one" }, ""},
		{"only by the end", func(_ *model.Design, leaves *model.Transition) { leaves.From[0].State = "watch" }, ""},
		{"only at the end, by a press", func(_ *model.Design, leaves *model.Transition) {
			leaves.From[0].State, leaves.Defer = "greet", true
		}, ""},
		{"by an input", func(d *model.Design, leaves *model.Transition) {
			d.Inputs = []model.Input{{Name: "door", Pin: 3}}
			leaves.On = []model.Trigger{{Kind: model.Rise, Name: "door"}}
		}, "2.6s"},
		{"by a timer in the middle", func(_ *model.Design, leaves *model.Transition) {
			leaves.On = []model.Trigger{after(1400*msec, 1400*msec)}
		}, "1.6s"},
		{"by a timer of chance", func(_ *model.Design, leaves *model.Transition) {
			leaves.On = []model.Trigger{after(2*time.Second, 9*time.Second)}
		}, "1s"},
		{"by a timer before the trigger", func(_ *model.Design, leaves *model.Transition) {
			leaves.On = []model.Trigger{after(399*msec, 399*msec)}
		}, ""},
		{"by a timer in the sound's last millisecond", func(_ *model.Design, leaves *model.Transition) {
			leaves.On = []model.Trigger{after(2999*msec, 9*time.Second)}
		}, "1ms"},
		{"by a timer at the sound's end", func(_ *model.Design, leaves *model.Transition) {
			leaves.On = []model.Trigger{after(3*time.Second, 9*time.Second)}
		}, ""},
		{"by a timer in the third round", func(d *model.Design, leaves *model.Transition) {
			d.Routines[0].Loop = true
			leaves.On = []model.Trigger{after(9900*msec, 9900*msec)}
		}, "1.1s"},
		{"by a timer between two rounds", func(d *model.Design, leaves *model.Transition) {
			d.Routines[0].Loop = true
			leaves.On = []model.Trigger{after(11*time.Second, 12399*msec)}
		}, ""},
	} {
		d, err := model.Load("../designs/rules/unsilenced-sound.prop.toml")
		require.NoError(t, err)
		c.change(d, &d.Transitions[3])
		found, err := NewStudy(d).Check(Rules())
		require.NoError(t, err)
		want := ""
		if c.want != "" {
			want = fmt.Sprintf(says, c.want)
		}
		got := ""
		for _, f := range found {
			if f.Rule != "unsilenced-sound" {
				continue
			}
			got += f.Message
			require.NotEmpty(t, f.Witness, c.name)
			require.Equal(t, "call", f.Claim.Sounds)
			assert.NoError(t, f.Replay(machine.Compile(d)), c.name)
			silent := *d
			silent.Tracks = []model.Track{d.Tracks[0]}
			silent.Tracks[0].Stop.Value = "one"
			assert.EqualError(t, f.Replay(machine.Compile(&silent)), `the track "call" does not sound on`, c.name)
		}
		assert.Equal(t, want, got, c.name)
	}
}
