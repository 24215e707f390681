package model_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"propwright/model"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A file may be laid out in any way that TOML allows; it is written in one.
func TestFormatNormalises(t *testing.T) {
	dotted := `# the heron
# stands here
format = 0x1 # first

prop.name = 'heron'   # its name
prop.board="atmega328p"
remote = { pin = +2, stop = "sleep", button = [ { name = "sleep", code = "nec:0x04:0x19" } ] }
state = [
  # where it rests
  { name = "roost", kind = "dormant", over = "1000ms" },
  { name = "watch", kind = "ambient" }, # looks about
]
transition = [ { on = [ "press   sleep" ], from = ["any"], to = "roost" } ]
output = [ { name = "beak", kind = "servo", pin = 9, min = "-30deg", max = "+45.0deg", us_at_min = "1100us", us_at_max = 1_900 } ]
# the end
`
	want := `# the heron
# stands here
# first
format = 1

[prop]
name = "heron" # its name
board = "atmega328p"

[remote]
pin = 2
stop = "sleep"

[[remote.button]]
name = "sleep"
code = "nec:0x04:0x19"

[[output]]
name = "beak"
kind = "servo"
pin = 9
min = "-30deg"
max = "45deg"
us_at_min = 1100
us_at_max = 1900

# where it rests
[[state]]
name = "roost"
kind = "dormant"
over = "1s"

# looks about
[[state]]
name = "watch"
kind = "ambient"

[[transition]]
from = "any"
on = "press sleep"
to = "roost"

# the end
`
	d, err := model.Read("f", []byte(dotted))
	require.NoError(t, err)
	assert.Equal(t, want, string(d.Format()))
}

// Comments stay with what they stand at, also where the element moves.
func TestCommentsSurvive(t *testing.T) {
	text := `#head
format = 1

# above states

# and a second block
[[state]] # beside state
# above name
name = "roost" # beside name
kind = "dormant"
pose = { # in the braces is TOML 1.1
  beak = "0deg" }
`
	_, err := model.Read("f", []byte(text))
	require.ErrorContains(t, err, "TOML 1.0 has it on one line")

	text = `#head
format = 1
# above states

# and a second block
[[state]] # beside state
# above name
name = "roost" # beside name
kind = "dormant"
# above pose
[state.pose] # beside pose
# above beak
beak = "0deg" # beside beak
[[transition]]
on = [ # first
  # second
  "press sleep", # third
  "release sleep",
  # fourth
] # beside on
from = "any"
to = "roost"
# above prop
[prop]
name = "heron"
#board
board = "atmega328p"
[remote]
pin = 2
stop = "sleep"
[[remote.button]]
name = "sleep"
code = "nec:0x04:0x19"
[[output]]
name = "beak"
kind = "servo"
pin = 9
min = "-30deg"
max = "45deg"
us_at_min = 1100
us_at_max = 1900
#   tail
`
	want := `# head
format = 1

# above prop
[prop]
name = "heron"
# board
board = "atmega328p"

[remote]
pin = 2
stop = "sleep"

[[remote.button]]
name = "sleep"
code = "nec:0x04:0x19"

[[output]]
name = "beak"
kind = "servo"
pin = 9
min = "-30deg"
max = "45deg"
us_at_min = 1100
us_at_max = 1900

# above states
# and a second block
[[state]] # beside state
# above name
name = "roost" # beside name
kind = "dormant"
# above pose
# beside pose
# above beak
# beside beak
pose = { beak = "0deg" }

[[transition]]
from = "any"
# first
# second
# third
# fourth
on = ["press sleep", "release sleep"] # beside on
to = "roost"

#   tail
`
	d, err := model.Read("f", []byte(text))
	require.NoError(t, err)
	assert.Equal(t, want, string(d.Format()))
}

// Two drifts stand on a line each.
func TestFormatOfDrifts(t *testing.T) {
	sound, err := os.ReadFile(faulty + "sound.prop.toml")
	require.NoError(t, err)
	d, err := model.Read("f", sound)
	require.NoError(t, err)
	watch := &d.States[1]
	watch.Drift = append(watch.Drift, model.Drift{
		Output:  "turntable",
		Between: [2]float64{-0.5, 0.5},
		Every:   model.Span{Lo: time.Second, Hi: time.Second},
	})
	assert.Contains(t, string(d.Format()), `
drift = [
  { output = "beak", between = ["-20deg", "20deg"], every = "2s..6s", over = "800ms..1.5s" },
  { output = "turntable", between = ["-0.5rev/s", "0.5rev/s"], every = "1s", over = "0s" },
]
`)
}

// A key that the file states is kept where it says the default.
func TestFormatKeepsStatedDefaults(t *testing.T) {
	sound, err := os.ReadFile(faulty + "sound.prop.toml")
	require.NoError(t, err)
	d, err := model.Read("f", sound)
	require.NoError(t, err)
	text := string(d.Format())
	assert.Contains(t, text, "rest_within = \"3s\"\n")
	assert.Contains(t, text, "pull = \"up\"\n")
	assert.NotContains(t, text, "order =")
	d.Prop.Keys, d.Inputs[0].Keys = nil, nil
	text = string(d.Format())
	assert.NotContains(t, text, "rest_within =")
	assert.NotContains(t, text, "pull =")
}

// What the file does not say is as the documentation has it.
func TestDefaults(t *testing.T) {
	sound, err := os.ReadFile(faulty + "sound.prop.toml")
	require.NoError(t, err)
	d, err := model.Read("f", sound)
	require.NoError(t, err)
	assert.Equal(t, model.High, d.Output("horn").Active)
	assert.Equal(t, model.High, d.Output("fog").Active)
	assert.Equal(t, "grb", d.Output("eyes").Order)
	assert.Equal(t, model.Percent(60), d.Output("eyes").Brightness)
	cue := d.Routines[0].Cues[2]
	assert.Equal(t, model.Colour{}, cue.Colour2)
	pose := d.States[0].Pose[1]
	assert.Equal(t, model.EffectSolid, pose.Effect)
	assert.Equal(t, -1, pose.Last)
	d, err = model.Read("f", small("[[input]]\nname = \"tail\"\npin = 3\n[[output]]\nname = \"eyes\"\nkind = \"pixels\"\npin = 4\ncount = 2\n"))
	require.NoError(t, err)
	assert.Equal(t, 3*time.Second, d.Prop.RestWithin)
	assert.Equal(t, model.PullUp, d.Inputs[0].Pull)
	assert.Equal(t, 20*time.Millisecond, d.Inputs[0].Debounce)
	assert.Equal(t, model.Percent(100), d.Outputs[0].Brightness)
}

// What a faulty file does say is kept, so that an editor can mend the rest.
func TestFaultyDesignKeepsItsValues(t *testing.T) {
	text := string(small(`[[output]]
name = "lamp"
kind = "lantern"
pin = 3
count = 4
[[routine]]
name = "r"
[[routine.cue]]
at = "1s"
output = "gone"
to = "40deg"
[[state]]
name = "watch"
kind = "ambient"
plays = "wave"
pose = { gone = "12deg", also = "#102030" }
[[transition]]
from = "nowhere"
on = "press nothing"
to = "else"
`))
	d, err := model.Read("f", []byte(text))
	require.Len(t, err, 7)
	again := string(d.Format())
	for _, part := range []string{
		`kind = "lantern"`, "count = 4", `output = "gone"`, `to = "40deg"`, `plays = "wave"`,
		`pose = { gone = { to = "12deg" }, also = { colour = "#102030" } }`,
		`from = "nowhere"`, `on = "press nothing"`, `to = "else"`,
	} {
		assert.Contains(t, again, part)
	}
}

// Whatever a design holds, its file is TOML: the editor may put any text into
// comments, names and notes.
func TestFormatOfOddTexts(t *testing.T) {
	d, err := model.Read("f", small(""))
	require.NoError(t, err)
	d.Prop.Note = "a\x00b\x1f\x7f\r\n\"\\\xff"
	d.Prop.Above = []string{"one\ntwo\x00", "\xff"}
	d.Prop.Beside = "one\ntwo"
	again, err := model.Read("f", d.Format())
	require.ErrorContains(t, err, "U+0000")
	assert.Equal(t, "a\x00b\x1f\x7f\r\n\"\\\ufffd", again.Prop.Note)
	assert.Equal(t, []string{"one", "two", "\ufffd"}, again.Prop.Above)
	assert.Equal(t, "one two", again.Prop.Beside)
}

// A named colour, an order in capitals and bytes as C has them are read; they are
// written as all others are.
func TestFriendlySpellings(t *testing.T) {
	d, err := model.Read("f", []byte(`format = 1
[prop]
name = "lamp"
board = "atmega328p"
[remote]
pin = 2
stop = "sleep"
[[remote.button]]
name = "sleep"
code = "nec:0x04:0x08"
[[output]]
name = "eyes"
kind = "pixels"
pin = 6
count = 2
order = "RGB"
[[output]]
name = "voice"
kind = "message"
pin = 1
baud = 9600
[[output.message]]
name = "hush"
bytes = "0x7E, 0x0A 80"
[[output.message]]
name = "call"
bytes = [ # as the board's sheet has it
  0x7E, 10, 0x80,
]
[[state]]
name = "rest"
kind = "dormant"
pose = { eyes = "Orange" }
`))
	require.NoError(t, err)
	assert.Equal(t, "rgb", d.Output("eyes").Order)
	text := string(d.Format())
	assert.Contains(t, text, `order = "rgb"`)
	assert.Contains(t, text, `pose = { eyes = "#ffa500" }`)
	assert.Equal(t, 2, strings.Count(text, `bytes = "7E 0A 80"`))
	assert.Contains(t, text, "# as the board's sheet has it\n")
	again, err := model.Read("f", []byte(text))
	require.NoError(t, err)
	assert.Equal(t, text, string(again.Format()))
}
