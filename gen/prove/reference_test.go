package prove

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/machine"
)

// quay has states that cut each other's moves and lights short.
const quay = `format = 1
[prop]
name = "quay"
board = "atmega328p"
seed = 1
[remote]
pin = 2
stop = "off"
[[remote.button]]
name = "off"
code = "nec:0x04:0x08"
[[event]]
name = "gust"
[[output]]
name = "reel"
kind = "spinner"
pin = 3
stop_us = 1400
full_us = 2000
rev_per_s = 1
max_turns = 4
stall_ma = 100
[[output]]
name = "lamps"
kind = "pixels"
pin = 4
count = 3
[[output]]
name = "bell"
kind = "pulse"
pin = 5
hold = "85ms"
[[routine]]
name = "haul"
length = "10s"
[[routine.cue]]
at = "2ms"
output = "reel"
speed = "0.5rev/s"
over = "40ms"
[[routine.cue]]
at = "100ms"
output = "bell"
fire = true
[[state]]
name = "still"
kind = "dormant"
start = true
[[state]]
name = "hauling"
kind = "ambient"
plays = "haul"
pose = { reel = { speed = "-1rev/s", over = "2s" }, lamps = { effect = "breathe", colour = "#ff0000", colour2 = "#000000", period = "100ms", last = 0 } }
[[state]]
name = "dusk"
kind = "ambient"
pose = { lamps = { colour = "#0000ff", over = "2s" } }
[[transition]]
from = "any"
on = "press off"
to = "still"
[[transition]]
from = "still"
on = "after 200ms"
to = "hauling"
[[transition]]
from = "dusk"
on = "hold off for 500ms"
to = "still"
[[transition]]
from = "any"
on = "event gust"
to = "dusk"
`

// atQuay is a stand whose machine has entered states of the quay when they say.
func atQuay(t *testing.T, enters map[ms]string) *stand {
	d, err := model.Read("quay.prop.toml", []byte(quay))
	require.NoError(t, err)
	s := reference(t, d)
	for now := range ms(10_000) {
		if name, ok := enters[now]; ok {
			state, _ := s.program.State(name)
			s.enter(state, time.Duration(now)*time.Millisecond)
			s.handled = append(s.handled, handled{Change: machine.Change{At: now, Outcome: machine.Entered, To: state}})
		}
	}
	return s
}

// An event that comes with a cue may have kept that from being played.
func TestWhatComesWithACueIsARace(t *testing.T) {
	hauling, dusk := machine.StateID(1), machine.StateID(2)
	for at, raced := range map[ms]bool{50: false, 97: false, 98: true, 100: true, 102: true, 103: false} {
		s := atQuay(t, nil)
		s.handled = []handled{
			{Change: machine.Change{At: 1000, Cause: machine.CauseAfter, Outcome: machine.Entered, To: hauling}},
			{Change: machine.Change{At: 1000 + at, Cause: machine.CauseEvent, Outcome: machine.Entered, From: hauling, To: dusk}, due: 10_000},
		}
		assert.Equal(t, raced, s.raced(), "at %d ms", at)
	}
}

// An event may have kept from happening what was about to happen by itself. The chip may
// have been quicker.
func TestEventInPlaceOfATimerIsARace(t *testing.T) {
	for at, raced := range map[ms]bool{150: false, 197: false, 198: true, 199: true, 200: true} {
		s := atQuay(t, nil)
		s.coming = []arrival{{at, func(ms) []machine.EventID { return []machine.EventID{posted(s.program, 0)} }}}
		for s.now() < 300 {
			s.tick()
		}
		require.Len(t, s.handled, 1)
		assert.Equal(t, raced, s.raced(), "at %d ms", at)
	}
}

// A frame that comes as a hold's time ends is one in time, or one too early.
func TestFrameAtTheEndOfAHoldIsARace(t *testing.T) {
	s := atQuay(t, nil)
	for held, raced := range map[ms]bool{10: false, 497: false, 498: true, 500: true, 502: true, 503: false} {
		assert.Equal(t, raced, s.holdEnds("off", held), "%d ms", held)
	}
}

// A state's pose begins a move and a cue cuts it short, 2 ms later. In between a frame may
// have begun.
func TestMoveCutShortMayHaveHadAFrame(t *testing.T) {
	s := atQuay(t, map[ms]string{1000: "hauling", 5980: "hauling"})
	reel := s.design.Output("reel")
	for us, fits := range map[float64]bool{1700: true, 1690: true, 1660: false, 1706: true} {
		g := gauge{sight: &onPin, Output: reel, s: s}
		for at := uint64(5900); at <= 5980; at += 20 {
			_, wrong := g.pulse(bench.Pulse{At: at * bench.Millisecond, Width: 1700 * bench.Microsecond, Period: 20 * bench.Millisecond})
			require.Empty(t, wrong)
		}
		_, wrong := g.pulse(bench.Pulse{At: 6000 * bench.Millisecond, Width: uint64(us * bench.Microsecond), Period: 20 * bench.Millisecond})
		assert.Equal(t, fits, wrong == "", "%v µs: %s", us, wrong)
	}
}

// Pulses count milliseconds that are over, and begin late too.
func TestPulseMayEndAMillisecondLater(t *testing.T) {
	for lasts, fits := range map[float64]bool{84: true, 85: true, 87: true, 88.1: false} {
		s := atQuay(t, map[ms]string{1000: "hauling"})
		w := newWatch(s)
		bell := w.lines[2]
		on := uint64(1101.5 * bench.Millisecond)
		_, wrong := w.edges(bell, []bench.Edge{{At: on, High: true}, {At: on + uint64(lasts*bench.Millisecond), High: false}}, 2*time.Second)
		assert.Equal(t, fits, wrong == "", "%v ms: %s", lasts, wrong)
	}
}

// What a light begins with is what was there before or after a frame, where it comes by
// a frame's beginning. Then it is off by that until it has come up.
func TestLightThatComesByAFrame(t *testing.T) {
	for _, c := range []struct {
		asked, chip ms
		fits        bool
	}{{1130, 1130, true}, {1120, 1119, true}, {1119, 1120, true}, {1118, 1121, true}, {1179, 1180, true}, {1125, 1119, false}, {1130, 1150, false}} {
		s, chip := atQuay(t, map[ms]string{1007: "hauling", c.asked: "dusk"}), atQuay(t, map[ms]string{1007: "hauling", c.chip: "dusk"})
		wrong := ""
		for at := 1000 * time.Millisecond; at < 4*time.Second && wrong == ""; at += frame {
			_, wrong = s.refresh(s.design.Output("lamps"), at-frame, at, lamps(chip, at))
		}
		assert.Equal(t, c.fits, wrong == "", "%v: %s", c, wrong)
	}
}

// A layer that is put over another may hide a frame of it that the chip has shown.
func TestLightThatIsAFrameAhead(t *testing.T) {
	for _, c := range []struct {
		asked, chip ms
		fits        bool
	}{{1000, 999, true}, {1007, 986, false}} {
		s, chip := atQuay(t, map[ms]string{c.asked: "hauling", 1070: "dusk"}), atQuay(t, map[ms]string{c.chip: "hauling", 1070: "dusk"})
		wrong := ""
		for at := 1060 * time.Millisecond; at < 4*time.Second && wrong == ""; at += frame {
			_, wrong = s.refresh(s.design.Output("lamps"), at-frame, at, lamps(chip, at))
		}
		assert.Equal(t, c.fits, wrong == "", "%v: %s", c, wrong)
	}
}

func lamps(s *stand, at time.Duration) (pixels [][3]float64) {
	for pixel := range 3 {
		l := s.want.Pixel("lamps", pixel, at)
		pixels = append(pixels, [3]float64{l[0].Lo, l[1].Lo, l[2].Lo})
	}
	return pixels
}
