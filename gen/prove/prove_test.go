package prove

import (
	"context"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/rehearsal"
)

// latch has a routine, a transition that waits for its end, a state to go back to, an
// input and an output of most kinds.
const latch = `format = 1
[prop]
name = "latch"
board = "atmega328p"
seed = 1
[remote]
pin = 2
stop = "off"
[[remote.button]]
name = "off"
code = "nec:0x04:0x08"
[[remote.button]]
name = "go"
code = "nec:0x04:0x18"
[[input]]
name = "lid"
pin = 7
pull = "up"
[[output]]
name = "bolt"
kind = "servo"
pin = 9
min = "-30deg"
max = "45deg"
rest = "0deg"
us_at_min = 1100
us_at_max = 1900
max_speed = "200deg/s"
max_accel = "1500deg/s2"
stall_ma = 700
[[output]]
name = "lamp"
kind = "switch"
pin = 10
[[output]]
name = "bell"
kind = "pulse"
pin = 11
hold = "60ms"
[[routine]]
name = "slide"
length = "1200ms"
[[routine.cue]]
at = "0s"
output = "bolt"
to = "40deg"
[[routine.cue]]
at = "300ms"
output = "bell"
fire = true
[[routine.cue]]
at = "700ms"
output = "bolt"
to = "-30deg"
over = "300ms"
[[state]]
name = "closed"
kind = "dormant"
over = "200ms"
[[state]]
name = "open"
kind = "ambient"
pose = { bolt = "30deg", lamp = true }
over = "200ms"
[[state]]
name = "sliding"
kind = "performing"
plays = "slide"
[[transition]]
from = "any"
on = "press off"
to = "closed"
[[transition]]
from = "closed"
on = "press go"
to = "open"
[[transition]]
from = "open"
on = ["press go", "rise lid"]
to = "sliding"
[[transition]]
from = "sliding"
on = "press go"
to = "closed"
defer = true
[[transition]]
from = "sliding"
on = "done"
to = "back"
`

// firmware compiles a design's and gives it to be judged by another one.
func firmware(t *testing.T, of, by string) *Firmware {
	d, err := model.Read("latch.prop.toml", []byte(of))
	require.NoError(t, err)
	f := &Firmware{Program: compile(t, build(t, d), d)}
	d, err = model.Read("latch.prop.toml", []byte(by))
	require.NoError(t, err)
	f.Study = check.NewStudy(d)
	return f
}

func quiet(int, int) {}

// A firmware that is the design's holds.
func TestHolds(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	f := firmware(t, latch, latch)
	r, err := f.Conformance(t.Context(), 0, quiet)
	require.NoError(t, err)
	assert.Nil(t, r.Against)
	assert.Empty(t, r.Left)
	assert.Regexp(t, `^(\d+) of (\d+) sequences, of \d+ acts in all, through 8 states`, r.Shown)
	r, err = f.Tour(t.Context(), quiet)
	require.NoError(t, err)
	assert.Nil(t, r.Against)
	assert.Empty(t, r.Left)
	assert.Regexp(t, `[1-9]\d* pulses, 0 refreshes, [1-9]\d* levels and 0 messages`, r.Shown)
}

// Where chance leads elsewhere the walk comes back the way it came, and tries again.
func TestTourComesBack(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	chance := strings.Replace(latch, `on = ["press go", "rise lid"]
to = "sliding"`, `on = ["press go", "rise lid"]
to = { any_of = ["sliding", "ringing", "closed"] }
[[state]]
name = "ringing"
kind = "performing"
plays = "slide"
[[transition]]
from = "ringing"
on = ["done", "press go"]
to = "back"`, 1)
	for _, seed := range []string{"seed = 1", "seed = 2", "seed = 3"} {
		text := strings.Replace(chance, "seed = 1", seed, 1)
		r, err := firmware(t, text, text).Tour(t.Context(), quiet)
		require.NoError(t, err)
		assert.Nil(t, r.Against)
		assert.Empty(t, r.Left, seed)
	}
}

// Events of the maker's own code are posted on the chip, each by a pin, and what comes of
// them is held against the design; where nothing posts them, that is said.
func TestEventsArePosted(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	design := latch + `
[[event]]
name = "dark"
[[event]]
name = "bright"
[[transition]]
from = "open"
on = "event dark"
to = "closed"
[[transition]]
from = "closed"
on = "event bright"
to = "sliding"
`
	read := func(text string) *model.Design {
		d, err := model.Read("latch.prop.toml", []byte(text))
		require.NoError(t, err)
		return d
	}
	d := read(design)
	f := &Firmware{Study: check.NewStudy(d)}
	require.NoError(t, f.Compile(build(t, d), t.TempDir()))
	r, err := f.Conformance(t.Context(), 0, quiet)
	require.NoError(t, err)
	assert.Nil(t, r.Against)
	assert.Empty(t, r.Left)
	r, err = f.Tour(t.Context(), quiet)
	require.NoError(t, err)
	assert.Nil(t, r.Against)
	assert.Empty(t, r.Left)

	f.Study = check.NewStudy(read(strings.Replace(design, "on = \"event bright\"\nto = \"sliding\"", "on = \"event bright\"\nto = \"open\"", 1)))
	r, err = f.Conformance(t.Context(), 0, quiet)
	require.NoError(t, err)
	require.NotNil(t, r.Against)
	assert.Contains(t, r.Against.String(), "event bright")

	f.Study, f.posts = check.NewStudy(d), nil
	r, err = f.Conformance(t.Context(), 0, quiet)
	require.NoError(t, err)
	assert.Nil(t, r.Against)
	assert.Equal(t, []string{"event bright, which only the maker's own code posts", "event dark, which only the maker's own code posts"}, r.Left)
}

// The demo's holds by its pins, from a file that has no variables, as far as some of its
// sequences show.
func TestDemoHoldsByItsPins(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	heron := strings.Replace(string(designs.HarbourHeron), "[prop]", "[prop]\nseed = 1", 1)
	f := firmware(t, heron, heron)
	hex := filepath.Join(t.TempDir(), "heron.hex")
	out, err := exec.Command("avr-objcopy", "-O", "ihex", "-R", ".eeprom", f.Program, hex).CombinedOutput()
	require.NoError(t, err, "%s", out)
	f.Program, f.Bare = hex, true
	require.NoError(t, Judgeable(f.Study.Design))
	pl, err := newPlan(f.Study.Program, nil, f.looks)
	require.NoError(t, err)
	suite := pl.machine.Suite(0)
	var some [][]int
	for i := range 8 {
		some = append(some, suite[(2*i+1)*len(suite)/16])
	}
	r, err := f.play(t.Context(), pl, some, quiet)
	require.NoError(t, err)
	assert.Nil(t, r.Against)
	assert.Empty(t, r.Left)
	t.Logf("%s; the whole suite has %d", r.Shown, len(suite))
}

// What is not the design's is refuted, by its variables or its pins; what was done is a
// rehearsal that the design plays.
func TestRefutes(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, m := range []struct{ name, old, new, conformance, bare, walk string }{
		{
			"target", "on = \"done\"\nto = \"back\"", "on = \"done\"\nto = \"closed\"",
			"the firmware enters closed .* s after power-up; the design enters open", "lamp, .*: it is turned off, which nothing asks for|bolt, .*: a pulse is", "the firmware enters closed",
		},
		{
			"defer", "to = \"closed\"\ndefer = true", "ignore = true",
			"the firmware enters open .*; the design enters closed", "lamp, .*: it is not turned off|bolt, .*: a pulse is", "the firmware enters open",
		},
		{
			"travel", "us_at_max = 1900", "us_at_max = 1940",
			"", "bolt, .*: a pulse is .* µs wide, want", "bolt, .*: a pulse is .* µs wide, want",
		},
		{
			"cue", "output = \"bell\"\nfire = true", "output = \"lamp\"\nset = false",
			"", "lamp, .*: it is turned off, which nothing asks for|bell, .*: it is not turned on", "lamp, .*: it is turned off|bell, .*: it is not turned on",
		},
	} {
		t.Run(m.name, func(t *testing.T) {
			t.Parallel()
			require.Contains(t, latch, m.old)
			f := firmware(t, strings.Replace(latch, m.old, m.new, 1), latch)
			refuted := func(r *Result, wrong string) {
				t.Helper()
				require.NotNil(t, r.Against)
				assert.Regexp(t, wrong, r.Against.Wrong)
				script, err := rehearsal.ParseScript("differs", r.Against.Script.Format("differs"))
				require.NoError(t, err)
				_, misses, err := rehearsal.Run(f.Study.Program, script)
				require.NoError(t, err)
				assert.Empty(t, misses)
				assert.Contains(t, r.Against.String(), "expect ")
			}
			for _, part := range []struct {
				wrong string
				bare  bool
				try   func() (*Result, error)
			}{
				{m.conformance, false, func() (*Result, error) { return f.Conformance(t.Context(), 0, quiet) }},
				{m.walk, false, func() (*Result, error) { return f.Tour(t.Context(), quiet) }},
				{m.bare, true, func() (*Result, error) { return f.Conformance(t.Context(), 0, quiet) }},
			} {
				if f.Bare = part.bare; part.wrong != "" {
					r, err := part.try()
					require.NoError(t, err)
					refuted(r, part.wrong)
				}
			}
		})
	}
}

// What is on an expander is looked at on its bus.
func TestLooksAtAnExpander(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	onBus := strings.NewReplacer("pin = 9\n", "bus = \"i2c:0x40\"\nchannel = 3\n", "pin = 10\n", "bus = \"i2c:0x40\"\nchannel = 4\n").Replace(latch)
	f := firmware(t, onBus, onBus)
	r, err := f.Tour(t.Context(), quiet)
	require.NoError(t, err)
	assert.Nil(t, r.Against)
	assert.Regexp(t, `[1-9]\d{2,} pulses, 0 refreshes, [1-9]\d* levels`, r.Shown)

	for _, m := range []struct{ old, new, wrong string }{
		{"us_at_max = 1900", "us_at_max = 1950", "bolt, .*: a pulse is .* µs wide"},
		{"lamp = true", "lamp = false", "lamp, .*: it is turned on, which nothing asks for"},
	} {
		f.Study = firmware(t, onBus, strings.Replace(onBus, m.old, m.new, 1)).Study
		r, err := f.Tour(t.Context(), quiet)
		require.NoError(t, err)
		require.NotNil(t, r.Against)
		assert.Regexp(t, m.wrong, r.Against.Wrong)
	}
}

// Who is interrupted has proven nothing.
func TestInterrupted(t *testing.T) {
	d, err := model.Read("latch.prop.toml", []byte(latch))
	require.NoError(t, err)
	f := &Firmware{Study: check.NewStudy(d), Program: "nothing"}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	r, err := f.Conformance(ctx, 0, quiet)
	assert.Nil(t, r)
	assert.ErrorIs(t, err, context.Canceled)
}
