package prove

import (
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/model"
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
