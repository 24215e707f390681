package prove

import (
	"fmt"
	"math"
	"slices"
	"time"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/motion"
)

// What a chip may be behind or ahead of the ideal course. It works a servo's
// position out at the beginning of a frame and sends it with the next, and
// counts a move's frames from the first one that begins after its cue. A
// strip shows what is worked out in the same frame. The machine's clock, which
// dates the cues, and the chip's may differ by 2 ms (see changes), and the
// loop may be late by as much as a strip takes to send.
const (
	frame      = motion.Frame
	late       = 3 * time.Millisecond
	colourSlip = 4 // of 255: colours are mixed in 1/256, a chase moves by 1/16 pixel
)

// at is a cycle's time.
func at(cycle uint64) time.Duration {
	return time.Duration(cycle) * time.Microsecond / bench.Microsecond
}

// cycle is a time's.
func cycle(t time.Duration) uint64 { return uint64(t/time.Microsecond) * bench.Microsecond }

// around gives what a value can be in a stretch of time, by looking every
// millisecond.
func around(from, to time.Duration, value func(time.Duration) motion.Range) motion.Range {
	from = max(from, 0).Truncate(time.Millisecond)
	all := value(from)
	for t := from; t < to+time.Millisecond; t += time.Millisecond {
		v := value(t)
		all.Lo, all.Hi = min(all.Lo, v.Lo), max(all.Hi, v.Hi)
	}
	return all
}

// A sight is how exactly an output's pulses are seen.
type sight struct {
	period float64       // µs from pulse to pulse
	exact  float64       // µs by which a width may be off
	behind time.Duration // how old what a pulse shows may be
	most   float64       // frames' ways that may show in one pulse
}

// onPin is the sight of a pin, onExpander of an expander: a step of it is 4.88 µs, and
// it shows in one of its cycles what was sent in the one before, so in one it may show
// two frames' way.
//
// A frame of 20 ms and pulses around 1 to 2 ms, as hobby servos take them: common
// practice, no published source.
var (
	onPin      = sight{20_000, 1, frame + late, 1}
	onExpander = sight{19_988, 1 + 4.88/2, 2*frame + late + 10*time.Millisecond, 2}
)

// A gauge measures a servo's or a spinner's pulses, one after the other.
type gauge struct {
	*sight
	*model.Output
	s      *stand
	before *bench.Pulse
	still  time.Duration // when it was at rest last
	way    float64       // µs that it has moved in a frame at most since
}

// pulse says what is wrong with a pulse. At rest it is as wide as the design says; on the
// move it may be off by what the output moves in one frame, and by as much for each time
// that it was asked for something on the way: a move that cuts another short begins a
// frame's way off. It is no wider than the travel, and no further from the pulse before
// than the mechanism stands.
func (x *gauge) pulse(p bench.Pulse) (moving bool, wrong string) {
	o, us, before, behind := x.Output, x.s.us(x.Output), x.before, x.behind
	if o.Kind == model.KindSpinner { // the player takes a jump in steps
		l := motion.LimitsOf(o)
		behind += frame * time.Duration(32*int32(l.Highest-l.Lowest)/motion.NoLimit)
	}
	x.before = &p
	now := at(p.At)
	width := float64(p.Width) / bench.Microsecond
	if period := float64(p.Period) / bench.Microsecond; math.Abs(period-x.period) > 100 {
		return false, fmt.Sprintf("a pulse lasts until the next for %.0f µs, want %.0f", period, x.period)
	}
	ahead := late
	asked := x.s.want.Asked(x.Name, now)
	if asked[len(asked)-1].At%frame < late { // by the chip's clock before the frame
		ahead += frame
	}
	want, slack := around(now-behind, now+ahead, us), x.exact
	if o.Kind == model.KindSpinner && now < behind { // it stands at power-up
		want.Lo, want.Hi = min(want.Lo, float64(o.StopUs)), max(want.Hi, float64(o.StopUs))
	}
	cuts := time.Duration(1)
	for i, a := range slices.Backward(asked) {
		if a.At < x.still-2*frame || i == 0 {
			break
		}
		cuts++
	}
	// What is off may take as much longer: it is at rest when all of that is over.
	since := max(now-2*cuts*frame-behind, 0).Truncate(time.Millisecond)
	if moving = !around(since, now+late, us).Exact(); moving {
		for s := since; s <= now+late; s += time.Millisecond {
			was := us(max(s-frame, 0))
			x.way = max(x.way, math.Abs(us(s).Lo-was.Lo), math.Abs(us(s).Hi-was.Hi))
		}
		slack += x.way * float64(cuts)
	} else {
		x.still, x.way = now, 0
	}
	if !want.Holds(width, slack) {
		return moving, fmt.Sprintf("a pulse is %.1f µs wide, want %s", width, micros(want))
	}
	lo, hi := float64(min(o.UsAtMin, o.UsAtMax)), float64(max(o.UsAtMin, o.UsAtMax))
	if o.Kind == model.KindSpinner {
		reach := math.Abs(float64(o.FullUs - o.StopUs))
		lo, hi = float64(o.StopUs)-reach, float64(o.StopUs)+reach
	}
	if width < lo-x.exact+0.5 || width > hi+x.exact-0.5 {
		return moving, fmt.Sprintf("a pulse is %.1f µs wide, outside of %.0f to %.0f", width, lo, hi)
	}
	if o.MaxSpeed > 0 && before != nil {
		way := float64(o.MaxSpeed) * frame.Seconds() * math.Abs(float64(o.UsAtMax-o.UsAtMin)) / float64(o.Max-o.Min)
		if by := math.Abs(width - float64(before.Width)/bench.Microsecond); by > x.most*way+2*x.exact-1 {
			return moving, fmt.Sprintf("a pulse is %.1f µs wide, %.1f from the one before: faster than max_speed", width, by)
		}
	}
	return moving, ""
}

func micros(r motion.Range) string {
	if r.Exact() {
		return fmt.Sprintf("%.1f", r.Lo)
	}
	return fmt.Sprintf("%.1f to %.1f", r.Lo, r.Hi)
}

// refresh says what is wrong with the colours that a strip is sent at a time; before is
// when it was refreshed last. While the remote is heard it is not, and what is sent then
// was worked out when it was due.
func (s *stand) refresh(o *model.Output, before, now time.Duration, pixels [][3]float64) (exact int, wrong string) {
	if len(pixels) != o.Count {
		return 0, fmt.Sprintf("it is sent %d pixels, want %d", len(pixels), o.Count)
	}
	for pixel, rgb := range pixels {
		for channel, v := range rgb {
			shows := func(t time.Duration) motion.Range { return s.want.Pixel(o.Name, pixel, t)[channel] }
			want, slack := around(min(before, now-frame)-late, now+frame, shows), 0.01
			if !want.Exact() {
				slack = colourSlip + s.cutShort(now, shows)
			} else {
				exact++
			}
			if !want.Holds(v, slack) {
				return exact, fmt.Sprintf("pixel %d has %s %.0f, want %.0f to %.0f", pixel, [...]string{"red", "green", "blue"}[channel], v, want.Lo, want.Hi)
			}
		}
	}
	return exact, ""
}

// cutShort is how far off a layer of light may begin that a new state has put
// over one that was changing: by what that one changed in a frame. It matters
// until the layer has come up, within a second; what comes over it begins off by
// as much more.
func (s *stand) cutShort(now time.Duration, shows func(time.Duration) motion.Range) float64 {
	off := 0.0
	for _, asked := range slices.Backward(s.asked) {
		if now >= asked+time.Second {
			break
		}
		if asked <= now+frame {
			was, before := shows(asked-1), shows(asked-1-frame)
			off += 1 + max(math.Abs(was.Lo-before.Lo), math.Abs(was.Hi-before.Hi)) // and rounded once more
		}
	}
	return off
}

// channels gives red, green and blue of a pixel from its bytes in the wire's order.
func channels(o *model.Output, wire [3]uint8) [3]float64 {
	var rgb [3]float64
	for i, v := range wire {
		rgb[slices.Index([]byte("rgb"), o.Order[i])] = float64(v)
	}
	return rgb
}
