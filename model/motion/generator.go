package motion

import (
	"math"

	"propwright/model"
)

// A Generator makes the positions that are sent to a servo or a spinner, one a
// frame, in the firmware's own arithmetic: positions are pulse widths in 1/256
// of half a microsecond, speeds in 1/32 of half a microsecond a frame. Its inputs
// are moves, which may come at any time, and lost frames; what comes out keeps its
// Limits (see the package comment).
type Generator struct {
	Limits
	at, speed     int32
	sent          uint16 // pulse width in half microseconds
	plan          int32  // where the move was planned to be at the last step
	from, to      uint16 // the move's ends, pulse widths in half microseconds
	frame, frames uint16 // of the move
	ease          model.Ease
}

// Limits are what a generator keeps. Lowest and Highest are pulse widths in half
// microseconds. Fastest is in 1/32 of half a microsecond a frame, and Accel is how
// much the speed may change from one frame to the next.
type Limits struct {
	Lowest, Highest uint16
	Fastest, Accel  int32
}

// NoLimit is the speed, and the change of speed, where no limit is known: 512
// half microseconds a frame, which no hobby servo follows (twice as fast as one
// that turns 60° in 0.06 s; common practice, no published source).
const NoLimit = 512*speedUnit - 1

// What a half microsecond is of a position, and of a speed.
const (
	one       = 256
	speedUnit = 32
)

// mostAccel is the largest change of speed that a servo may need several of before it is at
// its fastest: the firmware, which counts in 16 bits, adds one more than it needs.
const mostAccel = math.MaxInt16 / 3

// LimitsOf are the limits of a servo or a spinner. Those of speed and
// acceleration are rounded down, to 1 at the least (see LeastSpeed); where there is
// none it is NoLimit. Nothing limits a spinner but the widths of its pulses.
func LimitsOf(o *model.Output) Limits {
	ends, frame := Ends(o), Frame.Seconds()
	l := Limits{
		Lowest: Ticks(ends.Lo), Highest: Ticks(ends.Hi),
		Fastest: limit(float64(o.MaxSpeed) * perDegree(o) * frame),
		Accel:   limit(float64(o.MaxAccel) * perDegree(o) * frame * frame),
	}
	if l.Accel < l.Fastest {
		l.Accel = min(l.Accel, mostAccel)
	}
	return l
}

// SlowSpeed is how fast a servo may go on its first way after a reset that has
// left the firmware knowing where it was sent: at most a quarter of its MaxSpeed.
const SlowSpeed model.DegPerS = 30

// Slow is SlowSpeed of an output as a generator counts, its MaxSpeed regarded.
func Slow(o *model.Output) int32 {
	slow := SlowSpeed
	if o.MaxSpeed > 0 {
		slow = min(slow, o.MaxSpeed/4)
	}
	return limit(float64(slow) * perDegree(o) * Frame.Seconds())
}

// LeastSpeed and LeastAccel are the least limits of a servo that a generator keeps,
// rounded up to a tenth: one unit of its own.
func LeastSpeed(o *model.Output) model.DegPerS {
	return model.DegPerS(math.Ceil(10/(perDegree(o)*speedUnit*Frame.Seconds())) / 10)
}

// LeastAccel is the same for the acceleration.
func LeastAccel(o *model.Output) model.DegPerS2 {
	return model.DegPerS2(math.Ceil(10/(perDegree(o)*speedUnit*Frame.Seconds()*Frame.Seconds())) / 10)
}

// perDegree is how many half microseconds a degree is, 0 for a spinner.
func perDegree(o *model.Output) float64 {
	if o.Max <= o.Min {
		return 0
	}
	return 2 * math.Abs(float64(o.UsAtMax-o.UsAtMin)) / float64(o.Max-o.Min)
}

func limit(halfUs float64) int32 {
	if halfUs <= 0 {
		return NoLimit
	}
	return int32(max(1, min(math.Floor(halfUs*speedUnit), NoLimit)))
}

// Ticks is a pulse width in half microseconds, the nearest that 16 bits hold.
func Ticks(us float64) uint16 {
	return uint16(min(max(math.Round(2*us), 0), math.MaxUint16))
}

// NewGenerator is a generator at rest at a pulse width.
func NewGenerator(l Limits, width uint16) Generator {
	return Generator{Limits: l, at: int32(width) * one, sent: width, to: width}
}

// Move begins a move to a pulse width within the limits, from wherever the
// output is. It takes so many frames, or longer where the limits ask for it;
// with none it is as quick as they let it be, whatever the ease.
func (g *Generator) Move(to uint16, frames int, e model.Ease) {
	g.from, g.to, g.ease, g.plan = g.sent, to, e, g.at
	g.frame, g.frames = 0, uint16(min(frames, math.MaxUint16))
}

// Tick lets a frame of the move's time go by. Frames that are not sent do not
// count.
func (g *Generator) Tick() {
	if g.frame < g.frames {
		g.frame++
	}
}

// Step goes one step on, for a frame that is sent. While the plan lasts it is
// followed, and a quarter of what is missing is made up for; then the output goes to
// the end as quickly as it can. It is never so fast that it could not stop at the end.
func (g *Generator) Step() {
	at := g.at
	if width(at) != uint32(g.sent) { // the memory is not what it was
		at = int32(clamp(g.sent, g.Lowest, g.Highest)) * one
	}
	plan := g.planned()
	way := int32(clamp(g.to, g.Lowest, g.Highest))*one - at
	was := clamp(g.speed, -g.Fastest, g.Fastest)
	back := way < 0
	if back {
		way, was = -way, -was
	}
	stop := canStop(way/(one/speedUnit), g.Accel, g.Fastest)
	speed := stop
	if g.frame < g.frames {
		want := 4*plan - 3*g.plan - at // the plan's way in this frame and the quarter, both by 4
		if back {
			want = -want
		}
		speed = clamp(want/(4*one/speedUnit), 0, stop)
	}
	speed = clamp(speed, was-g.Accel, was+g.Accel)
	if back {
		speed = -speed
	}
	g.at, g.speed, g.plan = at+speed*(one/speedUnit), speed, plan
	g.sent = clamp(uint16(width(g.at)), g.Lowest, g.Highest)
}

// planned is where the move would be in its frame if nothing limited it.
func (g *Generator) planned() int32 {
	if g.frame >= g.frames {
		return int32(g.to) * one
	}
	t := uint16(uint32(g.frame) << 16 / uint32(g.frames)) // the share of its time, of 65536
	switch g.ease {
	case model.EaseLinear:
	case model.EaseOut:
		t = ^shareOf(^t, ^t)
	case model.EaseIn:
		t = shareOf(t, t)
	default:
		t = minimumJerk(t)
	}
	return int32(g.from)*one + int32(int16(g.to-g.from))*int32(t)>>8
}

// shareOf is a·b/65536: a share of a.
func shareOf(a, b uint16) uint16 { return uint16(uint32(a) * uint32(b) >> 16) }

// minimumJerk is Eased of EaseSmooth, in shares of 65536. The second half is the
// first one turned round; with u = 2t that is u³·(20 - 15u + 3u²)/16, in which no
// term needs more than 16 bits.
func minimumJerk(t uint16) uint16 {
	late := t >= 1<<15
	if late {
		t = ^t
	}
	u := t << 1
	square := shareOf(u, u)
	t = uint16(uint32(shareOf(square, u)) * uint32(40960-shareOf(u, 30720)+shareOf(square, 6144)) >> 15)
	if late {
		return ^t
	}
	return t
}

// canStop is the highest speed, up to the fastest, from which an output can still
// stop within a way. It goes m·speed - accel·m(m-1)/2 in m frames, of which m
// is the largest number for which accel·m(m-1)/2 ≤ way.
func canStop(way, accel, fastest int32) int32 {
	m := int32(1)
	slower := accel
	for ; way >= slower && slower < fastest; slower += accel {
		way -= slower
		m++
	}
	if way >= slower {
		return fastest
	}
	return min(way/m+slower-accel, fastest)
}

// Width is the pulse width that is sent, in half microseconds.
func (g *Generator) Width() uint16 { return g.sent }

// Degrees is the angle of a servo at that width.
func (g *Generator) Degrees(o *model.Output) float64 { return degrees(o, g.sent) }

// Takes is how many frames the move still takes, up to the one in which the output
// has come to its end.
func (g Generator) Takes() int {
	n := 0
	for ; !g.Still(); n++ {
		g.Tick()
		g.Step()
	}
	return n
}

// DegreesPerS is how fast a servo was in the last step.
func (g *Generator) DegreesPerS(o *model.Output) model.DegPerS {
	return model.DegPerS(float64(g.speed) / speedUnit / perDegree(o) / Frame.Seconds())
}

// Speed is how far the last step went, in 1/32 of half a microsecond.
func (g *Generator) Speed() int32 { return g.speed }

// width is the nearest pulse width to a position, more than 16 bits where it is none.
func width(at int32) uint32 { return (uint32(at) + one/2) >> 8 }

// Still reports whether the move has come to its end, and the output to rest
// there.
func (g *Generator) Still() bool {
	return g.frame >= g.frames && g.speed == 0 && g.at == int32(g.to)*one
}

func clamp[T int32 | uint16](x, least, most T) T { return min(max(x, least), most) }
