package prove

import (
	"flag"
	"io/fs"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/designs"
	"propwright/model/machine"
)

func read(t testing.TB, file string) *model.Design {
	text, err := designs.FS.ReadFile(file)
	require.NoError(t, err)
	d, err := model.Read(file, text)
	require.NoError(t, err)
	return d
}

// small are the files of the designs that are small enough to try all of.
func small(t *testing.T) []string {
	names, err := fs.Glob(designs.FS, "*.prop.toml")
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(names), 3)
	return names
}

// Every event in every configuration (state, back, deferred) in which it can
// come, and every configuration left alone until it does something by itself:
// the firmware on the chip goes through the same states as the reference
// machine, each within 2 ms. Of the demo, as far as some errands lead.
func TestFirmwareFollowsMachine(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, file := range small(t) {
		t.Run(file, func(t *testing.T) {
			t.Parallel()
			most := math.MaxInt
			if file == "harbour-heron.prop.toml" {
				most = *errandsOfDemo
			}
			followsMachine(t, read(t, file), most)
		})
	}
}

// To try all of the demo takes the chip seven and a half minutes, most of which it waits.
// The portable board does so in every run (see TestPortableBoardFollowsMachine), and the
// chip the demo's evening; -errands-of-demo 1000 tries all on the chip.
var errandsOfDemo = flag.Int("errands-of-demo", 200, "how often something is pressed, switched or waited for in the demo")

// The examples do so too, as far as some errands lead.
func TestFirmwareOfExamplesFollowsMachine(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for name, text := range designs.Examples() {
		if name == "harbour-heron" {
			continue // above, to the end
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			d, err := model.Read(name, text)
			require.NoError(t, err)
			followsMachine(t, d, *errandsOfExamples)
		})
	}
}

var errandsOfExamples = flag.Int("errands", 30, "how often something is pressed, switched or waited for in each example")

// followsMachine does errands until all is tried, or so many have been done.
func followsMachine(t *testing.T, d *model.Design, most int) {
	if d.Prop.Seed == 0 {
		d.Prop.Seed = 1
	}
	f := &Firmware{Study: check.NewStudy(d)}
	require.NoError(t, f.Compile(build(t, d), t.TempDir()))
	s := f.begin(t, false, "pw_dropped", "back", "deferred").stand
	w := &walk{p: s.program, posts: s.posts, tried: map[trial]bool{}}
	w.at = s.place()
	errands := 0
	towards := map[trial]int{}
	for ; errands < most; errands++ {
		e, goal, ok := w.next(s.inputs())
		if !ok {
			break
		}
		towards[goal]++
		require.Less(t, towards[goal], 100, "the walk does not get to %+v", goal)
		before, seen := w.at, len(s.handled)
		s.run(e)
		s.settle()
		for _, h := range s.handled[seen:] {
			w.note(h)
		}
		at := s.place()
		require.Equal(t, at, w.at)
		require.Equal(t, []uint8{uint8(at.state), uint8(at.back), uint8(at.deferred)}, s.configuration(),
			"state, back, deferred at %d ms, after %+v in %+v", s.now(), e, before)
	}
	for state := range s.design.States {
		for button := range s.design.Remote.Buttons {
			assert.True(t, errands == most || w.has(machine.StateID(state), machine.EventID(button)), "state %d, button %d", state, button)
		}
	}
	assert.NotEmpty(t, s.chip.Watched("pw_state"))
	assert.Zero(t, s.chip.Value("pw_dropped"))
	greatest := s.compare()
	t.Logf("%d states, %d trials in %d errands, %d changes of state in %.0f s, times differ by %.2f ms at most",
		len(s.design.States), len(w.tried), errands, len(s.chip.Watched("pw_state")), float64(s.now())/1000, greatest)
}

// configuration is the chip's, as machine.c keeps it: a state's index, 255 for
// back, 254 for nowhere.
func (s *stand) configuration() []uint8 {
	return []uint8{uint8(s.chip.Value("pw_state")), uint8(s.chip.Value("back")), uint8(s.chip.Value("deferred"))}
}

// compare holds the chip's changes of state against the machine's, and returns by how
// many milliseconds their times differ at most.
func (s *stand) compare() float64 {
	greatest, err := s.changes()
	require.NoError(s.t, err)
	return greatest
}

// note records what the machine has handled as tried.
func (w *walk) note(h handled) {
	switch h.Cause {
	case machine.CauseEvent:
		w.tried[trial{w.at, h.Event}] = true
	case machine.CauseDone, machine.CauseDeferred, machine.CauseAfter:
		w.tried[trial{w.at, alone}] = true
	}
	w.at = h.after
}

// has reports whether an event was tried in a state, in whatever configuration.
func (w *walk) has(state machine.StateID, event machine.EventID) bool {
	for t := range w.tried {
		if t.state == state && t.event == event {
			return true
		}
	}
	return false
}

// next is the first errand on the cheapest way from where the machine is to
// something that has not been tried, the goal; false where nothing is left.
func (w *walk) next(inputs uint32) (e errand, goal trial, ok bool) {
	type way struct {
		cost  ms
		first *leg
	}
	from := spot{w.at, inputs}
	ways := map[spot]way{from: {}}
	open := []spot{from}
	var best *way
	for len(open) > 0 {
		nearest := 0
		for i := range open {
			if ways[open[i]].cost < ways[open[nearest]].cost {
				nearest = i
			}
		}
		at := open[nearest]
		open = append(open[:nearest], open[nearest+1:]...)
		so := ways[at]
		if best != nil && so.cost >= best.cost {
			break
		}
		for _, l := range w.legs(at) {
			first := so.first
			if first == nil {
				first = &l
			}
			reached := way{so.cost + l.cost, first}
			for _, t := range l.trials {
				if !w.tried[t] && (best == nil || reached.cost < best.cost) {
					best, goal = &reached, t
				}
			}
			if old, seen := ways[l.to]; !seen || reached.cost < old.cost {
				ways[l.to] = reached
				open = append(open, l.to)
			}
		}
	}
	if best == nil {
		return errand{}, trial{}, false
	}
	return best.first.errand, goal, true
}
