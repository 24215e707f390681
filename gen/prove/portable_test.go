package prove

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
	"propwright/model/random"
)

// portable is the board of 32-bit chips with the same core. What runs here is
// its board file on this computer, over a stand-in for the core: that the file
// asks the core for the right things is shown, not that a chip does them.
const portable = "portable32"

// onPortable is an example design for the portable board, with no strip but
// its first.
func onPortable(t testing.TB, file string) *model.Design {
	d := read(t, file)
	d.Prop.Board = portable
	gone := map[string]bool{}
	strips := 0
	d.Outputs = slices.DeleteFunc(d.Outputs, func(o model.Output) bool {
		if o.Kind != model.KindPixels {
			return false
		}
		strips++
		gone[o.Name] = strips > 1
		return gone[o.Name]
	})
	for i := range d.Routines {
		d.Routines[i].Cues = slices.DeleteFunc(d.Routines[i].Cues, func(c model.Cue) bool { return gone[c.Output] })
	}
	for i := range d.States {
		d.States[i].Pose = slices.DeleteFunc(d.States[i].Pose, func(p model.Pose) bool { return gone[p.Output] })
	}
	return d
}

func TestPortableBoardFollowsMachine(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, file := range small(t) {
		t.Run(file, func(t *testing.T) {
			t.Parallel()
			followsMachine(t, onPortable(t, file), math.MaxInt)
		})
	}
}

func TestPortableBoardShowsWhatTheDesignAsks(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, file := range traced {
		t.Run(file, func(t *testing.T) {
			t.Parallel()
			showsWhatTheDesignAsks(t, onPortable(t, file))
		})
	}
}

// The board file and all that is around it compile without a warning also for a core
// whose levels and modes are integers. That they do for one that has enumerations is seen
// wherever a design runs.
func TestPortableBoardCompiles(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	g := rapid.Custom(random.Design)
	for i, left := 0, 5; left > 0; i++ {
		require.Less(t, i, 100, "too few of the random designs can be for the board")
		d := g.Example(i)
		d.Prop.Board = portable
		if breaks(t, d, "pin-cannot") {
			continue // it has several strips
		}
		left--
		bench.CompileForHost(t, build(t, d), mosi(d), "-DCORE_OF_INTEGERS")
	}
}

// A state that is left in the step in which it was entered need not be seen, nor that the
// one before it is entered again.
func TestPassedThrough(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	for _, to := range []string{"closed", "sliding"} {
		d, err := model.Read("latch.prop.toml", []byte(strings.Replace(latch, "atmega328p", portable, 1)+`
[[event]]
name = "dark"
[[event]]
name = "bright"
[[transition]]
from = "closed"
on = "event dark"
to = "open"
[[transition]]
from = "open"
on = "event bright"
to = "`+to+`"
`))
		require.NoError(t, err)
		f := &Firmware{Study: check.NewStudy(d)}
		require.NoError(t, f.Compile(build(t, d), t.TempDir()))
		s := f.begin(t, false).stand
		s.to(100)
		for i, pin := range s.posts {
			s.chip.SetPin(pin, bench.High, s.chip.Now())
			s.coming = append(s.coming, arrival{s.now() + 1, func(ms) []machine.EventID { return []machine.EventID{posted(s.program, i)} }})
		}
		s.to(s.now() + 1 + margin)
		assert.Equal(t, to, s.program.Name(s.machine.State()))
		assert.Equal(t, s.handled[0].At, s.handled[1].At)
		s.compare()
		s.handled = s.handled[:1]
		_, err = s.changes()
		assert.ErrorContains(t, err, "the design enters open")
	}
}
