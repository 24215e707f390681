package prove

import (
	"fmt"
	"math"
	"slices"
	"time"

	"propwright/gen/bench"
	"propwright/model"
	"propwright/model/machine"
	"propwright/model/motion"
)

// How far a chip may be behind or ahead of the ideal course. It computes a servo's
// position out at the beginning of a frame and sends it with the next, and
// counts a move's frames from the first one that begins after its cue. A
// strip shows what is worked out in the same frame. The machine's clock, which
// dates the cues, and the chip's may differ by 2 ms (see near), and the
// loop may be late by as much as a strip takes to send.
const (
	frame = motion.Frame
	late  = 3 * time.Millisecond
)

// eitherSide reports whether something asked for at a time may fall on either side of
// the start of a frame.
func eitherSide(t time.Duration) bool { return (t+late)%frame <= 2*late }

// at returns the time of a cycle.
func at(cycle uint64) time.Duration {
	return time.Duration(cycle) * time.Microsecond / bench.Microsecond
}

// cycle returns the cycle at a time.
func cycle(t time.Duration) uint64 { return uint64(t/time.Microsecond) * bench.Microsecond }

// around returns what a value can be in a stretch of time, by looking every
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

// A sight says how exactly an output's pulses are seen.
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
	moving = !around(since, now+late, us).Exact()
	for i := 1; i < len(asked); i++ {
		a, cut := &asked[i-1], asked[i].At
		if a.At < since || cut-a.At >= frame || !eitherSide(a.At) && !eitherSide(cut) {
			continue
		}
		// It is not to be seen that this moves anything, but it may have had a frame.
		if step := x.step(a); step > 0 {
			moving, x.way = true, max(x.way, step)
		}
	}
	if moving {
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
	if ends := motion.Ends(o); width < ends.Lo-x.exact+0.5 || width > ends.Hi+x.exact-0.5 {
		return moving, fmt.Sprintf("a pulse is %.1f µs wide, outside of %.0f to %.0f", width, ends.Lo, ends.Hi)
	}
	if o.MaxSpeed > 0 && before != nil {
		way := float64(o.MaxSpeed) * frame.Seconds() * math.Abs(float64(o.UsAtMax-o.UsAtMin)) / float64(o.Max-o.Min)
		if by := math.Abs(width - float64(before.Width)/bench.Microsecond); by > x.most*way+2*x.exact-1 {
			return moving, fmt.Sprintf("a pulse is %.1f µs wide, %.1f from the one before: faster than max_speed", width, by)
		}
	}
	return moving, ""
}

// step returns how far, in µs, an output may come in a frame of what it is asked for.
func (x *gauge) step(a *motion.Asked) float64 {
	to, ease := float64(a.Action.To), a.Action.Ease
	if x.Kind == model.KindSpinner {
		to, ease = float64(a.Action.Speed), model.EaseLinear
	}
	is, want := x.s.us(x.Output)(a.At), motion.Width(x.Output, motion.Range{Lo: to, Hi: to})
	way := max(math.Abs(want.Lo-is.Lo), math.Abs(want.Hi-is.Hi))
	if a.Action.By != 0 {
		way = math.Abs(float64(motion.Nudge(x.Output, a.Action.By))) / 2
	}
	return way * min(1, motion.Peak(ease)*float64(frame)/float64(max(a.Action.Over, frame)))
}

func micros(r motion.Range) string {
	if r.Exact() {
		return fmt.Sprintf("%.1f", r.Lo)
	}
	return fmt.Sprintf("%.1f to %.1f", r.Lo, r.Hi)
}

// refresh says what is wrong with the colours that a strip is sent at a time; before is
// its last refresh. A refresh that waited for the remote shows the colours of the time
// when it was due.
func (s *stand) refresh(o *model.Output, before, now time.Duration, pixels [][3]float64) (exact int, wrong string) {
	if len(pixels) != o.Count {
		return 0, fmt.Sprintf("it is sent %d pixels, want %d", len(pixels), o.Count)
	}
	for pixel, rgb := range pixels {
		for channel, v := range rgb {
			off := doubts{s, o, channel, map[doubt]float64{}}
			shows := func(t time.Duration) motion.Range { return s.want.Pixel(o.Name, pixel, t)[channel] }
			from, to, slack := min(before, now-frame)-late, now+frame, 0.0
			want := around(from, to, shows)
			if want.Exact() {
				exact++
			}
			for t := from; t <= to && !want.Holds(v, slack); t += frame {
				asked := s.want.Asked(o.Name, t)
				slack = max(slack, off.unsure(asked, pixel, t), off.hidden(asked, pixel, t))
			}
			if !want.Holds(v, slack) {
				return exact, fmt.Sprintf("pixel %d has %s %.0f, want %.0f to %.0f", pixel, [...]string{"red", "green", "blue"}[channel], v, want.Lo, want.Hi)
			}
		}
	}
	return exact, ""
}

// doubts are by how much a channel of an output's pixels may rightly be off. Each is worked
// out once: there may be two for each of the layers before.
type doubts struct {
	*stand
	o       *model.Output
	channel int
	known   map[doubt]float64
}

type doubt struct {
	layers, pixel int
	at            time.Duration
	more          bool
}

// unsure is by how much a channel of a pixel may rightly be off. A layer of light begins
// with what the first of its pixels showed. Where it was put by a frame's beginning, that
// is what was there before or after, and if that was on its way it is off by what it
// changed in a frame, and by what it was off itself: less and less until the layer has
// come up, and one more for rounding. So is light that ceases to follow a voice.
func (s *doubts) unsure(asked []motion.Asked, pixel int, now time.Duration) float64 {
	i := topmost(asked, pixel, now)
	if i < 0 {
		return 0
	}
	a := &asked[i]
	if a.Voice != nil {
		for _, h := range s.handled {
			left := time.Duration(h.At) * time.Millisecond
			if h.Outcome == machine.Entered && left > a.At && left <= now {
				if eitherSide(left) {
					return span(s.o, a, s.channel)
				}
				break
			}
		}
		return 0
	}
	over := motion.Frames(a.Action.Over)
	gone, before := now-a.At-frame, 0.0
	if gone < 0 { // what was there before may still be shown
		gone, before = 0, s.unsureAt(asked[:i], pixel, a.At, true)
	}
	if gone >= over || a.Action.Effect == model.EffectFade && !a.Action.Toggle {
		return before
	}
	off := s.unsureAt(asked[:i], max(a.Action.First, 0), a.At, eitherSide(a.At))
	if off == 0 {
		return before
	}
	return max(before, off*(1-float64(gone)/float64(over))+1)
}

// hidden is by how much a channel of a pixel may be off because a layer of light that another
// one hid within a frame has had a frame.
func (s *doubts) hidden(asked []motion.Asked, pixel int, now time.Duration) (off float64) {
	for top := topmost(asked, pixel, now); top >= 0; {
		below := topmost(asked[:top], pixel, now)
		if below < 0 || asked[below].At < now-2*frame {
			break
		}
		a, cut := &asked[below], asked[top].At
		if cut-a.At < frame && (eitherSide(a.At) || eitherSide(cut)) {
			was := s.want.Pixel(s.o.Name, pixel, max(a.At-1, 0))[s.channel]
			part := min(1, float64(frame)/float64(max(a.Action.Over, frame)))
			if a.Action.Effect == model.EffectFade {
				part = 1
			}
			for _, c := range []model.Colour{a.Action.Colour, a.Action.Colour2} {
				c = motion.Scaled(s.o, c)
				shows := float64([3]uint8{c.R, c.G, c.B}[s.channel])
				off = max(off, part*max(math.Abs(shows-was.Lo), math.Abs(shows-was.Hi))+1)
			}
		}
		top = below
	}
	return off
}

// unsureAt returns the same of the moment at which another layer was put; more says that
// there may have been another frame.
func (s *doubts) unsureAt(asked []motion.Asked, pixel int, at time.Duration, more bool) (off float64) {
	key := doubt{len(asked), pixel, at, more}
	if off, ok := s.known[key]; ok {
		return off
	}
	defer func() { s.known[key] = off }()
	off = s.unsure(asked, pixel, at)
	i := topmost(asked, pixel, at)
	if i < 0 || !more && !eitherSide(asked[i].At) {
		return off
	}
	shows := func(t time.Duration) motion.Range { return s.want.Pixel(s.o.Name, pixel, max(t, 0))[s.channel] }
	was, before := shows(at-1), shows(at-1-frame)
	off += max(math.Abs(was.Lo-before.Lo), math.Abs(was.Hi-before.Hi))
	a := &asked[i]
	if at < a.At+motion.Frames(a.Action.Over)+frame {
		off++ // the next frame's way is as long, but for rounding
	}
	if a.Voice != nil || a.Action.Effect.Cycles() {
		off += span(s.o, a, s.channel)
	}
	return off
}

// topmost is which layer a pixel shows at a time, -1 where it has none.
func topmost(asked []motion.Asked, pixel int, now time.Duration) int {
	for i, a := range slices.Backward(asked) {
		if a.At <= now && a.Action.First <= pixel && (pixel <= a.Action.Last || a.Action.Last < 0) {
			return i
		}
	}
	return -1
}

// span returns how far a layer's two colours are apart.
func span(o *model.Output, a *motion.Asked, channel int) float64 {
	pick := func(c model.Colour) float64 {
		c = motion.Scaled(o, c)
		return float64([3]uint8{c.R, c.G, c.B}[channel])
	}
	return math.Abs(pick(a.Action.Colour) - pick(a.Action.Colour2))
}

// channels returns red, green and blue of a pixel from its bytes in the wire's order.
func channels(o *model.Output, wire [3]uint8) [3]float64 {
	var rgb [3]float64
	for i, v := range wire {
		rgb[slices.Index([]byte("rgb"), o.Order[i])] = float64(v)
	}
	return rgb
}
