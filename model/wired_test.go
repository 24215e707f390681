package model_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/board"
)

// soundBoards is a design with a board of each chip. Each has one track, and the
// numbers of the tracks are asked for.
const soundBoards = `format = 1
[prop]
name = "talker"
board = "atmega328p"
[remote]
pin = 2
stop = "stop"
[[remote.button]]
name = "stop"
code = "nec:0x04:0x18"
[[input]]
name = "door"
pin = 12
[[output]]
name = "voice"
kind = "sound"
chip = "yx5200"
pin = 1
busy_pin = 7
[[output]]
name = "text"
kind = "sound"
chip = "vs1000"
pin = 3
[[output]]
name = "dog"
kind = "sound"
chip = "trigger"
pins = [4, 5]
[[track]]
name = "one"
length = "2s"
play = { output = "voice", track = 1 }
[[track]]
name = "two"
length = "2s"
play = { output = "text", track = 2 }
[[track]]
name = "three"
length = "2s"
play = { output = "dog", track = 2 }
stop = { output = "dog", track = 1 }
[[routine]]
name = "talk"
length = "3s"
[[routine.cue]]
at = "1s"
output = "voice"
volume = 30
[[routine.cue]]
at = "2s"
output = "text"
stop = true
[[state]]
name = "rest"
kind = "dormant"
[[transition]]
from = "rest"
on = "fall voice"
to = "rest"
`

// What a board is sent.
func TestSoundBoardBytes(t *testing.T) {
	for _, c := range []struct {
		chip  model.SoundChip
		asks  string // in place of the cue's
		track int
		want  map[string]string // messages
	}{
		// Flyron Technology, FN-M16P data sheet, section 3.6.1; FN-BC07 manual, "Serial
		// Communication Commands", which has the frames with their checksums.
		{model.YX5200, `volume = 30`, 1, map[string]string{
			"track-1":   "7E FF 06 03 00 00 01 FE F7 EF",
			"volume-30": "7E FF 06 06 00 00 1E FE D7 EF",
			"stop":      "7E FF 06 16 00 00 00 FE E5 EF", // sent so by libraries, from memory
		}},
		{model.YX5200, `stop = true`, 10, map[string]string{
			"track-10": "7E FF 06 03 00 00 0A FE EE EF",
			"stop":     "7E FF 06 16 00 00 00 FE E5 EF",
		}},
		// The sum is worked out by hand: FF + 06 + 03 + 01 + 2C = 0135.
		{model.YX5200, `stop = true`, 300, map[string]string{
			"track-300": "7E FF 06 03 00 01 2C FE CB EF",
			"stop":      "7E FF 06 16 00 00 00 FE E5 EF",
		}},
		{model.VS1000, `stop = true`, 12, map[string]string{
			"track-12": fmt.Sprintf("% X", "#11\n"),
			"stop":     fmt.Sprintf("% X", "q\n"),
		}},
	} {
		text := strings.NewReplacer(
			`chip = "yx5200"`, fmt.Sprintf("chip = %q", c.chip), "volume = 30", c.asks,
			`"voice", track = 1`, fmt.Sprintf(`"voice", track = %d`, c.track),
		).Replace(soundBoards)
		d, err := model.Read("talker", []byte(text))
		require.NoError(t, err)
		voice := d.Wired().Output("voice")
		got := map[string]string{}
		for _, m := range voice.Messages {
			got[m.Name] = fmt.Sprintf("% X", m.Bytes)
		}
		assert.Equal(t, c.want, got)
		assert.Equal(t, 9600, voice.Baud)
	}
}

// The volume goes with each track.
func TestSoundBoardVolume(t *testing.T) {
	d, err := model.Read("talker", []byte(strings.Replace(soundBoards, "busy_pin = 7", "volume = 30\nbusy_pin = 7", 1)))
	require.NoError(t, err)
	assert.Equal(t, "7E FF 06 06 00 00 1E FE D7 EF 7E FF 06 03 00 00 01 FE F7 EF", fmt.Sprintf("% X", d.Wired().Output("voice").Messages[0].Bytes))
}

// Elements keep their indices, tracks are stopped, and the busy pin is an input.
func TestWired(t *testing.T) {
	d, err := model.Read("talker", []byte(soundBoards))
	require.NoError(t, err)
	w := d.Wired()
	var outputs []string
	for _, o := range w.Outputs {
		outputs = append(outputs, fmt.Sprint(o.Name, " ", o.Kind, " ", o.Pin))
	}
	assert.Equal(t, []string{"voice message 1", "text message 3", "dog.1 pulse 4", "dog.2 pulse 5"}, outputs)
	assert.Equal(t, d.FreePins(board.UseInput), w.FreePins(board.UseInput), "the same pins are taken")
	assert.Equal(t, 200*time.Millisecond, w.Output("dog.2").Hold)
	assert.Equal(t, model.Low, w.Output("dog.2").Active)
	assert.Equal(t, 29, w.Output("dog.2").At("pin").Line)
	assert.Equal(t, []string{"door", "voice"}, w.Names(model.SortInput))
	assert.Equal(t, 7, w.Inputs[1].Pin)
	assert.Equal(t, 19, w.Inputs[1].At("pin").Line)
	plays := func(p, stop model.Play) {
		t.Helper()
		got := w.Tracks[0]
		assert.Equal(t, p, got.Play)
		assert.Equal(t, stop, got.Stop)
		w.Tracks = w.Tracks[1:]
	}
	assert.Same(t, w, w.Wired())
	plays(model.Play{Output: "voice", Value: "track-1"}, model.Play{Output: "voice", Value: "stop"})
	plays(model.Play{Output: "text", Value: "track-2"}, model.Play{Output: "text", Value: "stop"})
	plays(model.Play{Output: "dog.2"}, model.Play{Output: "dog.1"})
	assert.Equal(t, "volume-30", w.Routines[0].Cues[0].Send)
	assert.Equal(t, "stop", w.Routines[0].Cues[1].Send)

	again, err := model.Read("talker", []byte(soundBoards))
	require.NoError(t, err)
	assert.Equal(t, again, d, "the design itself is as it was")
}

func TestSoundBoardFaults(t *testing.T) {
	for _, c := range []struct{ old, new, wrong, advice string }{
		{`chip = "yx5200"`, `chip = ‸"yx5300"`, `"yx5300" is not a chip`, `write "yx5200"`},
		{`chip = "yx5200"`, `volume = 4`, `output "voice" has no chip`, `chip = "yx5200"`},
		{`"voice", track = 1 }`, `"voice", track = ‸3001 }`, `"voice" has no track 3001`, "from 1 to 3000"},
		{`"dog", track = 2 }`, `"dog", track = ‸3 }`, `"dog" has no track 3`, "from 1 to 2"},
		{`{ output = "voice", track = 1 }`, `‸{ output = "voice" }`, "play does not say which track", "track = 3"},
		{`{ output = "dog", track = 1 }`, `‸{ output = "dog" }`, "stop does not say which track", "track = 3"},
		{`"voice", track = 1 }`, `"voice", track = 1, value = ‸"one" }`, `is a sound board and has no message "one"`, "track = 3"},
		{`stop = { output = "dog", track = 1 }`, `stop = ‸"hush"`, `has no message such as "hush"`, "leave stop out"},
		{`volume = 30`, `volume = ‸31`, "31 is out of range", "from 1 to 30"},
		{`volume = 30`, `volume = 30` + "\nstop = ‸true", "sets the volume and stops", "keep one"},
		{`stop = true`, `volume = ‸3`, "the volume of a board with the chip vs1000 cannot be set", "leave it out"},
		{`stop = true`, `stop = ‸false`, "asks nothing", "write stop = true"},
		{"volume = 30", "", "the cue asks nothing", "stop = true"},
		{`output = "text"` + "\nstop", `output = ‸"dog"` + "\nstop", "has trigger pins only", "track ="},
		{`pins = [4, 5]`, `pins = ‸4`, "not a list of pins", "[4, 5, 6]"},
		{`pins = [4, 5]`, `pins = [4, ‸500]`, "500 is out of range", "0 to 99"},
		{`pins = [4, 5]`, `pins = [4, 5]` + "\n‸volume = 3", `has no key "volume"`, "leave it out"},
		{`busy_pin = 7`, `volume = 3`, `there is no input "voice"`, "door"},
		{`name = "door"`, `name = "voice"`, `there is an input "voice"`, "another name"},
	} {
		require.Equal(t, 1, strings.Count(soundBoards, c.old), c.old)
		text, places := take(strings.Replace(soundBoards, c.old, c.new, 1))
		_, err := model.Read("talker", []byte(text))
		faults, ok := err.(model.Faults)
		require.True(t, ok, "no fault: %s", c.new)
		require.Len(t, faults, 1, "%v", err)
		if len(places) > 0 {
			assert.Equal(t, places[0].Line, faults[0].Pos.Line, "%v", faults[0])
			assert.Equal(t, places[0].Column, faults[0].Pos.Column, "%v", faults[0])
		}
		assert.Contains(t, faults[0].Wrong, c.wrong)
		assert.Contains(t, faults[0].Advice, c.advice)
	}
}

// A sound board that is renamed or removed takes its busy pin's triggers along.
func TestBusyPinIsMentioned(t *testing.T) {
	d, err := model.Read("talker", []byte(soundBoards))
	require.NoError(t, err)
	voice, ok := d.Find(model.SortOutput, "voice")
	require.True(t, ok)
	renamed, err := d.Renamed(voice, "mouth")
	require.NoError(t, err)
	assert.Equal(t, "fall mouth", renamed.Transitions[0].On[0].String())
	_, err = model.Read("talker", renamed.Format())
	require.NoError(t, err)
	left, _ := d.Without(voice)
	assert.Empty(t, left.Transitions)
	_, err = model.Read("talker", left.Format())
	require.NoError(t, err)
}

// Another chip takes away what it does not have.
func TestChipIsChanged(t *testing.T) {
	d, err := model.Read("talker", []byte(soundBoards))
	require.NoError(t, err)
	voice, _ := d.Find(model.SortOutput, "voice")
	d, err = d.With(voice, "volume", "12")
	require.NoError(t, err)
	d, err = d.With(voice, "chip", "trigger")
	require.NoError(t, err)
	assert.Equal(t, []int{1}, d.Output("voice").Pins)
	_, err = model.Read("talker", []byte(strings.Replace(string(d.Format()), "\nvolume = 30", "\nstop = true", 1)))
	assert.ErrorContains(t, err, "has trigger pins only")
	d, err = d.With(voice, "chip", "yx5200")
	require.NoError(t, err)
	assert.Equal(t, 1, d.Output("voice").Pin)
	_, err = model.Read("talker", d.Format())
	require.NoError(t, err)
}

// People read by how many steps a board is made louder, in the design and in the wired one.
func TestLouderInWords(t *testing.T) {
	for steps, want := range map[int]string{1: "voice louder", 2: "voice louder by 2", -1: "voice softer", -3: "voice softer by 3"} {
		d := &model.Design{
			Outputs:     []model.Output{{Name: "voice", Kind: model.KindSound, Chip: "yx5200", Pin: 1}},
			Transitions: []model.Transition{{Do: []model.Order{{Output: "voice", Action: model.Action{Louder: steps}}}}},
		}
		assert.Equal(t, want, d.Does(&d.Transitions[0]))
		w := d.Wired()
		assert.Equal(t, want, w.Does(&w.Transitions[0]))
	}
}
