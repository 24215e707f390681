package prove

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/board"
	"propwright/model/designs"
	"propwright/model/designs/odd"
	"propwright/model/machine"
	"propwright/model/motion"
)

// traced are the designs whose outputs are read off the trace: the demo, and
// one that has an output of every kind.
var traced = []string{"harbour-heron.prop.toml", "bell-buoy.prop.toml"}

// Every button of the design is pressed once, the prop is left to play, and
// then it is put to rest in the middle of a sound, where there is one. The recorded trace is read with sigrok's decoders
// and compared with what the design asks of every output.
func TestTraceShowsWhatTheDesignAsks(t *testing.T) {
	if testing.Short() {
		t.Skip("plays on the simulated chip; the whole run does it")
	}
	for _, file := range traced {
		t.Run(file, func(t *testing.T) {
			t.Parallel()
			showsWhatTheDesignAsks(t, read(t, file))
		})
	}
	for _, name := range []string{"sound-boards", "voices"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			showsWhatTheDesignAsks(t, odd.Whole(t)[name].Wired())
		})
	}
	t.Run("tide-teller", func(t *testing.T) {
		t.Parallel()
		d, err := model.Read("tide-teller", designs.Examples()["tide-teller"])
		require.NoError(t, err)
		showsWhatTheDesignAsks(t, d.Wired())
	})
}

func showsWhatTheDesignAsks(t *testing.T, d *model.Design) {
	r := record(t, d)
	for i := range r.design.Outputs {
		o := &r.design.Outputs[i]
		t.Run(o.Name, func(t *testing.T) {
			switch o.Kind {
			case model.KindServo, model.KindSpinner:
				r.pulses(t, o)
			case model.KindPixels:
				r.bits(t, o)
				r.colours(t, o)
			case model.KindPulse, model.KindSwitch:
				r.levels(t, o)
			case model.KindMessage:
				r.messages(t, o)
			default:
				t.Fatalf("no test for a %s", o.Kind)
			}
		})
	}
}

// A recording is a trace and what the design asks for in its time.
type recording struct {
	*stand
	end     uint64           // cycle
	written []bench.Transfer // on the bus; nil where nobody has asked
}

func record(t *testing.T, d *model.Design) *recording {
	var pins []int
	for i := range d.Outputs {
		if o := &d.Outputs[i]; o.Bus == 0 {
			pins = append(pins, o.Pin)
		}
	}
	r := &recording{stand: newStand(t, d, bench.Options{Pins: pins, Watch: []string{"pw_state"}})}
	if slices.ContainsFunc(d.Outputs, func(o model.Output) bool { return o.Bus != 0 }) {
		r.chip.SetDevice(expanderAddress, bench.Answers, 0)
	}
	r.to(200)
	longest := ms(4700)
	for i := range d.Routines {
		longest = max(longest, 200+ms(d.RoutineLength(&d.Routines[i]).Milliseconds()))
	}
	stop := slices.IndexFunc(d.Remote.Buttons, func(b model.Button) bool { return b.Name == d.Remote.Stop })
	for b := range d.Remote.Buttons {
		if b != stop {
			r.press(b, 0)
			r.to(r.now() + longest)
		}
	}
	for b := range d.Remote.Buttons {
		if b != stop && !r.sounds() {
			r.press(b, 0)
			r.to(r.now() + 1000)
		}
	}
	r.press(stop, 0)
	r.to(r.now() + 2500)
	r.end = r.chip.Now()

	visited := map[machine.StateID]bool{r.program.Start: true}
	for _, c := range r.handled {
		visited[c.To] = true
	}
	require.Len(t, visited, len(d.States), "every state is seen")
	if b, _ := board.ByName(d.Prop.Board); !b.Portable { // which has no sleep to count
		require.Greater(t, r.chip.Slept(), r.end/4, "cycles of sleep")
	}
	r.compare()
	return r
}

// sounds reports whether the routine that plays has a sound that can be stopped.
func (r *recording) sounds() bool {
	s := r.design.States[r.machine.State()]
	routine := r.design.Routine(s.Plays)
	return routine != nil && slices.ContainsFunc(motion.Sheet(r.design, routine), func(c motion.Call) bool { return c.Sound != nil })
}

// pulses compares a servo's or a spinner's pulses.
func (r *recording) pulses(t *testing.T, o *model.Output) {
	var pulses []bench.Pulse
	g := gauge{sight: &onPin, Output: o, s: r.stand}
	if o.Bus != 0 {
		pulses, _ = r.onExpander(t, o)
		g.sight = &onExpander
	} else {
		pulses = r.chip.Pulses(o.Pin, 0, r.end, bench.Microsecond/4)
	}
	require.Greater(t, len(pulses), int(at(r.end)/frame)-5)
	still, moves := 0, 0
	seen := motion.Range{Lo: math.Inf(1), Hi: math.Inf(-1)}
	for _, p := range pulses {
		width := float64(p.Width) / bench.Microsecond
		seen.Lo, seen.Hi = min(seen.Lo, width), max(seen.Hi, width)
		moving, wrong := g.pulse(p)
		require.Empty(t, wrong, "at %v", at(p.At))
		if moving {
			moves++
		} else {
			still++
		}
	}
	assert.Greater(t, still, 50, "pulses at rest")
	assert.Greater(t, moves, 20, "pulses on the move")
	assert.Greater(t, seen.Hi-seen.Lo, 50.0, "µs it moved")
	t.Logf("%d pulses at rest, %d on the move, %.1f to %.1f µs", still, moves, seen.Lo, seen.Hi)
}

// bits holds every bit on a strip's line against the data sheet (Worldsemi,
// "WS2812B Intelligent control LED integrated light source", data transfer
// time): in µs, each ±0.15, a zero is 0.4 high and 0.85 low, a one 0.8 and
// 0.45; the line rests low for 50 or more between two refreshes.
func (r *recording) bits(t *testing.T, o *model.Output) {
	edges := r.chip.Edges(o.Pin)
	require.NotEmpty(t, edges)
	us := func(from, to bench.Edge) float64 { return float64(to.At-from.At) / bench.Microsecond }
	sent, zeros, ones := 0, 0, 0
	for i := 0; i+1 < len(edges); i += 2 {
		if !edges[i].High || edges[i+1].High {
			t.Fatalf("no bit at %v", at(edges[i].At))
		}
		sent++
		high, wantHigh, wantLow := us(edges[i], edges[i+1]), 0.4, 0.85
		if high > 0.6 {
			wantHigh, wantLow = 0.8, 0.45
			ones++
		} else {
			zeros++
		}
		if math.Abs(high-wantHigh) > 0.15 {
			t.Fatalf("high for %.3f µs at %v, want %.2f", high, at(edges[i].At), wantHigh)
		}
		if i+2 == len(edges) || us(edges[i+1], edges[i+2]) >= 50 {
			require.Equal(t, 24*o.Count, sent, "bits of the refresh before %v", at(edges[i+1].At))
			sent = 0
		} else if low := us(edges[i+1], edges[i+2]); math.Abs(low-wantLow) > 0.15 {
			t.Fatalf("low for %.3f µs at %v, want %.2f", low, at(edges[i+1].At), wantLow)
		}
	}
	assert.Positive(t, zeros)
	assert.Positive(t, ones)
}

// colours compares what every pixel shows, in fifty refreshes.
func (r *recording) colours(t *testing.T, o *model.Output) {
	const refreshes = 50
	edges := r.chip.Edges(o.Pin)
	length := uint64(o.Count) * 30 * bench.Microsecond
	var starts []uint64
	for i, e := range edges {
		if i == 0 || e.High && e.At-edges[i-1].At > bench.Millisecond {
			starts = append(starts, e.At)
		}
	}
	require.Greater(t, len(starts), 3*refreshes)
	var stretches []bench.Stretch
	var before []time.Duration // each one's refresh before
	for n := range refreshes {
		i := n * (len(starts) - 1) / refreshes
		start := starts[i]
		before = append(before, at(starts[max(i-1, 0)]))
		stretches = append(stretches, bench.Stretch{From: start - bench.Microsecond, To: start + length + bench.Millisecond/2})
	}
	got := r.chip.Colours(o.Pin, stretches...)
	require.Len(t, got, refreshes)
	lit, exact := 0, 0
	for n, stretch := range stretches {
		now := at(stretch.From + bench.Microsecond)
		var pixels [][3]float64
		for _, rgb := range got[n] { // the decoder takes the wire's order for green, red, blue
			pixels = append(pixels, channels(o, [3]uint8{uint8(rgb >> 8), uint8(rgb >> 16), uint8(rgb)}))
			if rgb != 0 {
				lit++
			}
		}
		known, wrong := r.refresh(o, before[n], now, pixels)
		require.Empty(t, wrong, "at %v", now)
		exact += known
	}
	assert.Positive(t, lit)
	assert.Positive(t, exact)
	t.Logf("%d pixels lit, of %d; %d channels known exactly", lit, refreshes*o.Count, exact)
}

// levels compares the edges of a pulse output or a switch.
func (r *recording) levels(t *testing.T, o *model.Output) {
	type edge struct {
		at     time.Duration
		active bool
	}
	var want, got []edge
	active := false
	for now := time.Duration(0); now < at(r.end); now += time.Millisecond {
		if a := r.want.Active(o.Name, now); a != active {
			active = a
			want = append(want, edge{now, a})
		}
	}
	edges, behind := []bench.Edge(nil), late
	if o.Bus != 0 {
		_, edges = r.onExpander(t, o)
		behind += frame
	} else {
		edges = r.chip.Edges(o.Pin)
	}
	for _, e := range edges {
		if at(e.At) > late { // an active-low pin goes high when the program begins
			got = append(got, edge{at(e.At), e.High == (o.Active == model.High)})
		}
	}
	require.NotEmpty(t, want)
	require.Len(t, got, len(want), "want %v, got %v", want, got)
	for i := range want {
		assert.Equal(t, want[i].active, got[i].active)
		assert.InDelta(t, want[i].at, got[i].at, float64(behind), "edge %d", i)
	}
	t.Logf("%d edges", len(got))
}

// messages compares the bytes on the line and when each message begins.
func (r *recording) messages(t *testing.T, o *model.Output) {
	sent := r.want.Sent(o.Name, at(r.end))
	require.NotEmpty(t, sent)
	bytes := r.chip.UART()
	for _, m := range sent {
		require.GreaterOrEqual(t, len(bytes), len(m.Bytes), "%s at %v", m.Message, m.At)
		first, last := bytes[0], bytes[len(m.Bytes)-1]
		bytes = bytes[len(m.Bytes):]
		assert.InDelta(t, m.At, at(first.At), float64(late), "%s", m.Message)
		// The last byte may wait for the two before it to be sent.
		got := r.chip.Received(o.Baud, first.At-min(first.At, bench.Millisecond), last.At+30*last.BitCycles+bench.Millisecond)
		assert.Equal(t, fmt.Sprintf("% X", m.Bytes), fmt.Sprintf("% X", got), "%s at %v", m.Message, m.At)
	}
	assert.Empty(t, bytes)
	t.Logf("%d messages", len(sent))
}

// However often layers of light cut each other short, what may be off is worked out once
// for each.
func TestDoubtsOfManyLayers(t *testing.T) {
	d := read(t, "harbour-heron.prop.toml")
	o := &d.Outputs[slices.IndexFunc(d.Outputs, func(o model.Output) bool { return o.Kind == model.KindPixels })]
	red, err := model.ParseColour("#ff0000")
	require.NoError(t, err)
	var asked []motion.Asked
	for n := range 100 {
		asked = append(asked, motion.Asked{At: time.Duration(n/2)*time.Second + time.Duration(n%2)*5*time.Millisecond,
			Action: model.Action{Effect: model.EffectSolid, Colour: red, Last: -1, Over: 3 * time.Second}})
	}
	off := doubts{reference(t, d), o, 0, map[doubt]float64{}}
	off.unsure(asked, 0, 50*time.Second)
	assert.Greater(t, len(off.known), 50)
	assert.Less(t, len(off.known), 4*len(asked))
}
