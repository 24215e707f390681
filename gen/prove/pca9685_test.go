package prove

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/motion"
)

const expanderAddress = 0x40

// expanded is a design with all that can be on an expander on one.
func expanded(t testing.TB, file string) *model.Design {
	d := read(t, file)
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Kind == model.KindServo || o.Kind == model.KindSpinner || o.Kind == model.KindSwitch {
			o.Pin, o.Bus, o.Channel = 0, expanderAddress, 15-i
		}
	}
	return d
}

// onExpander is what an expander makes of the bus's trace for an output.
func (r *recording) onExpander(t *testing.T, o *model.Output) (pulses []bench.Pulse, levels []bench.Edge) {
	p := newPCA9685(t)
	t.Helper()
	if r.written == nil {
		r.written = r.chip.Written(0, r.end)
	}
	for _, x := range r.written {
		require.True(t, x.Acknowledged)
		require.Equal(t, int(o.Bus), x.Address)
		p.takes(x)
	}
	require.NotZero(t, p.awake, "it sleeps")
	return p.pulses(o.Channel, r.end)
}

// What is on an expander does what the design asks for too. The trace of the
// bus is read with sigrok's i2c decoder, and what the expander makes of it is
// compared with the reference as pins are.
func TestBusShowsWhatTheDesignAsks(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	showsWhatTheDesignAsks(t, expanded(t, "bell-buoy.prop.toml"))
}

// An expander that was without its supply for a while is set up anew, and those of its
// channels that do not move get their pulses back too.
func TestExpanderThatWasGone(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	s := newStand(t, expanded(t, "bell-buoy.prop.toml"), bench.Options{})
	for from, how := range map[ms]bench.Device{0: bench.Answers, 3000: bench.Absent, 4500: bench.Answers} {
		s.chip.SetDevice(expanderAddress, how, uint64(from)*bench.Millisecond)
	}
	s.to(200)
	s.press(slices.IndexFunc(s.design.Remote.Buttons, func(b model.Button) bool { return b.Name == "drift" }), 0)
	s.to(5500)
	end := s.chip.Now()
	p, refused := newPCA9685(t), []uint64{}
	for _, x := range s.chip.Written(0, end) {
		if x.Acknowledged {
			p.takes(x)
		} else {
			refused = append(refused, x.At)
			p = newPCA9685(t) // its supply was gone
		}
	}
	require.Greater(t, len(refused), 5)
	for i := 1; i < len(refused); i++ {
		assert.InDelta(t, 100, float64(refused[i]-refused[i-1])/bench.Millisecond, 2, "ms until it is tried again")
	}
	for _, name := range []string{"clapper", "mast", "vane"} {
		o := s.design.Output(name)
		pulses, _ := p.pulses(o.Channel, end)
		require.NotEmpty(t, pulses, name)
		last := pulses[len(pulses)-1]
		assert.Greater(t, last.At, end-40*bench.Millisecond, name)
		if name != "mast" { // which drifts
			assert.InDelta(t, motion.Pulse(o, float64(o.Rest))/2, float64(last.Width)/bench.Microsecond, 2.5, name)
		}
	}
}

// Nothing is set before the oscillator runs, also where a strip, as it is lit at power-up,
// holds up the message that wakes it.
func TestExpanderHasTimeToWake(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	t.Parallel()
	const design = `format = 1
[prop]
name = "limpet"
board = "atmega328p"
[remote]
pin = 2
stop = "sleep"
[[remote.button]]
name = "sleep"
code = "nec:0x04:0x08"
[[output]]
name = "arm"
kind = "servo"
bus = "i2c:0x40"
channel = 0
min = "-30deg"
max = "30deg"
us_at_min = 1200
us_at_max = 1800
max_speed = "120deg/s"
[[output]]
name = "neck"
kind = "servo"
pin = 6
min = "-30deg"
max = "30deg"
us_at_min = 1200
us_at_max = 1800
max_speed = "120deg/s"
[[output]]
name = "lamps"
kind = "pixels"
pin = 8
count = 30
[[state]]
name = "asleep"
kind = "dormant"
pose = { lamps = "#09610b" }
`
	d, err := model.Read("limpet.prop.toml", []byte(design))
	require.NoError(t, err)
	for _, count := range []int{30, 36, 42} {
		d.Outputs[2].Count = count
		s := newStand(t, d, bench.Options{})
		s.chip.SetDevice(expanderAddress, bench.Answers, 0)
		s.to(30)
		p := newPCA9685(t)
		for _, x := range s.chip.Written(0, s.chip.Now()) {
			p.takes(x)
		}
		require.NotZero(t, p.awake)
	}
}
