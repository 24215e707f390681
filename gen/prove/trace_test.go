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
	"propwright/model/designs/odd"
	"propwright/model/machine"
	"propwright/model/motion"
)

// traced are the designs whose outputs are read off the trace: the demo, and
// one that has an output of every kind.
var traced = []string{"harbour-heron.prop.toml", "bell-buoy.prop.toml"}

// What a chip may be behind or ahead of the ideal course. It works a servo's
// position out at the beginning of a frame and sends it with the next, and
// counts a move's frames from the first one that begins after its cue. A
// strip shows what is worked out in the same frame. The machine's clock, which
// dates the cues, and the chip's may differ by 2 ms (see compare), and the
// loop may be late by as much as a strip takes to send.
const (
	frame      = motion.Frame
	late       = 3 * time.Millisecond
	colourSlip = 4 // of 255: colours are mixed in 1/256, a chase moves by 1/16 pixel
)

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
	want *motion.Stage
	end  uint64 // cycle
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
	stop := slices.IndexFunc(d.Remote.Buttons, func(b model.Button) bool { return b.Name == d.Remote.Stop })
	for b := range d.Remote.Buttons {
		if b != stop {
			r.press(b, 0)
			r.to(r.now() + 4700) // the longest routine takes 4.5 s
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

	r.want = motion.New(d, nil)
	visited := map[machine.StateID]bool{r.program.Start: true}
	require.NoError(t, r.want.Enter(r.program.Name(r.program.Start), 0))
	for _, c := range r.handled {
		if c.Outcome == machine.Entered {
			visited[c.To] = true
			require.NoError(t, r.want.Enter(r.program.Name(c.To), time.Duration(c.At)*time.Millisecond))
		}
	}
	require.Len(t, visited, len(d.States), "every state is seen")
	require.Greater(t, r.chip.Slept(), r.end/4, "cycles of sleep")
	r.compare()
	return r
}

// sounds reports whether the routine that plays has a sound that can be stopped.
func (r *recording) sounds() bool {
	s := r.design.States[r.machine.State()]
	routine := r.design.Routine(s.Plays)
	return routine != nil && slices.ContainsFunc(motion.Sheet(r.design, routine), func(c motion.Call) bool { return c.Sound != nil })
}

// at is a cycle's time.
func at(cycle uint64) time.Duration {
	return time.Duration(cycle) * time.Microsecond / bench.Microsecond
}

// around gives what a value can be in a stretch of time, by looking every
// millisecond.
func around(from, to time.Duration, value func(time.Duration) motion.Range) motion.Range {
	all := value(max(from, 0))
	for t := max(from, 0); t <= to; t += time.Millisecond {
		v := value(t)
		all.Lo, all.Hi = min(all.Lo, v.Lo), max(all.Hi, v.Hi)
	}
	return all
}

// pulses compares a servo's or a spinner's pulses: at rest each is as wide as
// the design says within 1 µs, on the move also within what the output moves
// in one frame. None leaves the travel, none is faster than the mechanism.
//
// A frame of 20 ms and pulses around 1 to 2 ms, as hobby servos take them:
// common practice, no published source.
func (r *recording) pulses(t *testing.T, o *model.Output) {
	var pulses []bench.Pulse
	period, exact, behind, most := 20_000.0, 1.0, frame+late, 1.0
	if o.Bus != 0 {
		// A step of an expander is 4.88 µs. It shows in one of its cycles what was sent
		// in the one before, so in one it may show two frames' way.
		pulses, _ = r.onExpander(t, o)
		period, exact, behind, most = 19_988, 1+4.88/2, 2*frame+late+10*time.Millisecond, 2.0
	} else {
		pulses = r.chip.Pulses(o.Pin, 0, r.end, bench.Microsecond/4)
	}
	require.Greater(t, len(pulses), int(at(r.end)/frame)-5)
	us := func(t time.Duration) motion.Range { return r.want.Us(o.Name, t) }
	still, moving := 0, 0
	seen := motion.Range{Lo: math.Inf(1), Hi: math.Inf(-1)}
	for i, p := range pulses {
		now := at(p.At)
		width := float64(p.Width) / bench.Microsecond
		seen.Lo, seen.Hi = min(seen.Lo, width), max(seen.Hi, width)
		assert.InDelta(t, period, float64(p.Period)/bench.Microsecond, 100, "period at %v", now)

		want, slack := around(now-behind, now+late, us), exact
		// A move that cuts another short begins a frame's way off and may be
		// stretched by as much: it is at rest when all of that is over.
		if around(now-2*frame-behind, now+late, us).Exact() {
			still++
		} else {
			moving++
			for s := max(now-2*frame-behind, frame); s <= now+late; s += time.Millisecond {
				slack = max(slack, exact+math.Abs(us(s).Lo-us(s-frame).Lo), exact+math.Abs(us(s).Hi-us(s-frame).Hi))
			}
		}
		assert.True(t, want.Holds(width, slack), "at %v: %v µs, want %v within %v", now, width, want, slack)

		if o.MaxSpeed > 0 && i > 0 {
			way := float64(o.MaxSpeed) * frame.Seconds() * math.Abs(float64(o.UsAtMax-o.UsAtMin)) / float64(o.Max-o.Min)
			assert.InDelta(t, width, float64(pulses[i-1].Width)/bench.Microsecond, most*way+2*exact-1, "too fast at %v", now)
		}
		if t.Failed() {
			t.FailNow() // the first is enough
		}
	}
	lo, hi := float64(min(o.UsAtMin, o.UsAtMax)), float64(max(o.UsAtMin, o.UsAtMax))
	if o.Kind == model.KindSpinner {
		reach := math.Abs(float64(o.FullUs - o.StopUs))
		lo, hi = float64(o.StopUs)-reach, float64(o.StopUs)+reach
	}
	assert.GreaterOrEqual(t, seen.Lo, lo-exact+0.5)
	assert.LessOrEqual(t, seen.Hi, hi+exact-0.5)
	assert.Greater(t, still, 50, "pulses at rest")
	assert.Greater(t, moving, 20, "pulses on the move")
	assert.Greater(t, seen.Hi-seen.Lo, 50.0, "µs it moved")
	t.Logf("%d pulses at rest, %d on the move, %.1f to %.1f µs", still, moving, seen.Lo, seen.Hi)
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
	for n := range refreshes {
		start := starts[n*(len(starts)-1)/refreshes]
		stretches = append(stretches, bench.Stretch{From: start - bench.Microsecond, To: start + length + bench.Millisecond/2})
	}
	got := r.chip.Colours(o.Pin, stretches...)
	require.Len(t, got, refreshes)
	lit, exact := 0, 0
	for n, stretch := range stretches {
		now := at(stretch.From + bench.Microsecond)
		require.Len(t, got[n], o.Count, "the refresh at %v", now)
		for pixel, rgb := range got[n] {
			for channel, v := range channels(o, rgb) {
				shows := func(t time.Duration) motion.Range { return r.want.Pixel(o.Name, pixel, t)[channel] }
				want, slack := around(now-frame-late, now+frame, shows), 0.0
				if !want.Exact() {
					slack = colourSlip + r.cutShort(now, shows)
				} else {
					exact++
				}
				require.True(t, want.Holds(v, slack), "pixel %d, channel %d at %v: %v, want %v", pixel, channel, now, v, want)
				if v > 0 {
					lit++
				}
			}
		}
	}
	assert.Positive(t, lit)
	assert.Positive(t, exact)
	t.Logf("%d channels lit, %d known exactly, of %d", lit, exact, refreshes*3*o.Count)
}

// cutShort is how far off a layer of light may begin that a new state has put
// over one that was changing: by what that one changed in a frame. It matters
// until the layer has come up, within a second.
func (r *recording) cutShort(now time.Duration, shows func(time.Duration) motion.Range) float64 {
	off := 0.0
	for _, h := range r.handled {
		entered := time.Duration(h.At) * time.Millisecond
		if h.Outcome == machine.Entered && entered <= now+frame && now < entered+time.Second {
			was, before := shows(entered-1), shows(entered-1-frame)
			off = max(off, math.Abs(was.Lo-before.Lo), math.Abs(was.Hi-before.Hi))
		}
	}
	return off
}

// channels gives red, green and blue of a pixel that the decoder, which takes
// the wire's order for green, red, blue, read as 0xrrggbb.
func channels(o *model.Output, decoded uint32) [3]float64 {
	wire := [3]uint8{uint8(decoded >> 8), uint8(decoded >> 16), uint8(decoded)}
	var rgb [3]float64
	for i, v := range wire {
		rgb[slices.Index([]byte("rgb"), o.Order[i])] = float64(v)
	}
	return rgb
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
