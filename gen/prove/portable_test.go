package prove

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/gen/bench"
	"propwright/model"
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
