package motion

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
)

// drawLimits draws the limits of a servo, from a sluggish to an unlimited one.
func drawLimits(t *rapid.T) Limits {
	lowest := rapid.Uint16Range(1000, 3000).Draw(t, "lowest")
	limit := rapid.OneOf(rapid.Int32Range(1, 100), rapid.Int32Range(100, 5000), rapid.Just[int32](NoLimit))
	return Limits{
		Lowest: lowest, Highest: lowest + rapid.Uint16Range(1, 2000).Draw(t, "travel"),
		Fastest: limit.Draw(t, "fastest"), Accel: limit.Draw(t, "accel"),
	}
}

// The firmware adds up what a servo gains in each frame, in 16 bits, until the sum without
// the last is its greatest speed.
func TestLimitsFitTheFirmware(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := LimitsOf(&model.Output{
			Name: "beak", Kind: model.KindServo, Min: -40, Max: 40, UsAtMin: 600, UsAtMax: 2400,
			MaxSpeed: model.DegPerS(rapid.IntRange(0, 2000).Draw(t, "speed")), MaxAccel: model.DegPerS2(rapid.IntRange(0, 40_000).Draw(t, "accel")),
		})
		for sum := l.Accel; ; sum += l.Accel {
			require.LessOrEqual(t, sum, int32(math.MaxInt16))
			if sum-l.Accel >= l.Fastest {
				break
			}
		}
	})
}

func drawMove(t *rapid.T, g *Generator) {
	g.Move(rapid.Uint16Range(g.Lowest, g.Highest).Draw(t, "to"), rapid.IntRange(0, 60).Draw(t, "frames"), rapid.SampledFrom(model.Eases).Draw(t, "ease"))
}

// Moves begin at any time, whatever was going on, and frames are lost: no limit
// is passed, not by a unit, and the output comes to rest at the last move's end.
func TestGeneratorKeepsLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLimits(t)
		g := NewGenerator(l, rapid.Uint16Range(l.Lowest, l.Highest).Draw(t, "rest"))
		chance := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "lost frames"), 1))
		step := func() {
			was := g
			g.Step()
			require.LessOrEqual(t, abs(g.speed), l.Fastest)
			require.LessOrEqual(t, abs(g.speed-was.speed), l.Accel)
			require.Equal(t, was.at+g.speed*(one/speedUnit), g.at)
			require.GreaterOrEqual(t, g.at, int32(l.Lowest)*one)
			require.LessOrEqual(t, g.at, int32(l.Highest)*one)
		}
		for range rapid.IntRange(1, 8).Draw(t, "moves") {
			drawMove(t, &g)
			for range rapid.IntRange(0, 80).Draw(t, "frames sent") {
				for range [...]int{1, 1, 1, 1, 1, 0, 2, 45}[chance.IntN(8)] { // frames gone by
					g.Tick()
				}
				step()
			}
		}
		for range int(g.frames) + 1 {
			g.Tick()
		}
		for range l.settle(l.Lowest, l.Highest, g.to, 0, g.ease) {
			step()
		}
		require.True(t, g.Still(), "%+v", g)
	})
}

func abs(x int32) int32 { return max(x, -x) }

// A move that no plan slows down takes the time of the fastest one under the
// same limits, which begins and ends at rest: 2√(d/a), or d/v + v/a where the
// highest speed is reached. (The closed forms of bang-bang control of a double
// integrator, for example D. Kirk, "Optimal Control Theory", 1970, section 5.4.)
// Each of its parts is a whole number of frames.
func TestGeneratorIsTimeOptimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLimits(t)
		l.Accel = rapid.Int32Range(3, 5000).Draw(t, "acceleration")
		g := NewGenerator(l, l.Lowest)
		g.Move(l.Highest, 0, model.EaseSmooth)
		n := 0
		for ; !g.Still(); n++ {
			g.Tick()
			g.Step()
		}
		d, a, v := float64(l.Highest-l.Lowest)*speedUnit, float64(l.Accel), float64(l.Fastest)
		want := 2 * math.Sqrt(d/a)
		if d > v*v/a {
			want = d/v + v/a
		}
		require.InDelta(t, want, n, 3, "%+v", l)
		require.GreaterOrEqual(t, float64(n), math.Floor(want))
	})
}

// A plan within the limits is followed: behind it by less than a microsecond, and
// there in its time.
func TestGeneratorFollowsThePlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.Uint16Range(2000, 4000).Draw(t, "from")
		to := rapid.Uint16Range(2000, 4000).Draw(t, "to")
		frames := rapid.IntRange(2, 200).Draw(t, "frames")
		d := math.Abs(float64(to) - float64(from))
		g := NewGenerator(Limits{
			Lowest: 2000, Highest: 4000,
			Fastest: int32(Peak(model.EaseSmooth)*d*speedUnit/float64(frames)) + 2*speedUnit,
			Accel:   int32(1.3*PeakAccel(model.EaseSmooth)*d*speedUnit/float64(frames*frames)) + 2*speedUnit,
		}, from)
		g.Move(to, frames, model.EaseSmooth)
		for n := 1; n <= frames; n++ {
			g.Tick()
			g.Step()
			plan := float64(from) + (float64(to)-float64(from))*Eased(model.EaseSmooth, float64(n)/float64(frames))
			require.InDelta(t, plan, float64(g.Width()), 2+d/float64(frames*frames)*8, "frame %d of %d", n, frames)
		}
		require.InDelta(t, float64(to), float64(g.Width()), 1)
	})
}

// Whatever has happened to the memory, what is sent is within the travel, and
// from the second frame on within the speed.
func TestGeneratorWithCorruptedMemory(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLimits(t)
		g := Generator{
			Limits: l, at: rapid.Int32().Draw(t, "at"), sent: rapid.Uint16().Draw(t, "sent"), plan: rapid.Int32().Draw(t, "plan"), speed: rapid.Int32().Draw(t, "speed"),
			from: rapid.Uint16().Draw(t, "from"), to: rapid.Uint16().Draw(t, "to"),
			frame: rapid.Uint16().Draw(t, "frame"), frames: rapid.Uint16().Draw(t, "frames"),
			ease: rapid.SampledFrom(model.Eases).Draw(t, "ease"),
		}
		for n := range 200 {
			was := g.Width()
			g.Tick()
			g.Step()
			require.GreaterOrEqual(t, g.Width(), l.Lowest)
			require.LessOrEqual(t, g.Width(), l.Highest)
			if n > 0 {
				require.LessOrEqual(t, abs(int32(g.Width())-int32(was)), l.Fastest/speedUnit+1)
			}
		}
	})
}

// From wherever a generator is, and whatever it does there if it can stop within
// a range, it comes to rest in the time that settle gives.
func TestSettleIsNeverTooShort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLimits(t)
		lo := rapid.Uint16Range(l.Lowest, l.Highest).Draw(t, "lo")
		hi := rapid.Uint16Range(lo, l.Highest).Draw(t, "hi")
		g := NewGenerator(l, rapid.Uint16Range(lo, hi).Draw(t, "at"))
		ahead, back := canStop(int32(hi-g.sent)*speedUnit, l.Accel, l.Fastest), canStop(int32(g.sent-lo)*speedUnit, l.Accel, l.Fastest)
		g.speed = rapid.Int32Range(-back, ahead).Draw(t, "speed")
		g.Move(rapid.Uint16Range(lo, hi).Draw(t, "to"), rapid.IntRange(0, 100).Draw(t, "frames"), rapid.SampledFrom(model.Eases).Draw(t, "ease"))
		most := l.settle(lo, hi, g.to, int(g.frames), g.ease)
		for range most {
			g.Tick()
			g.Step()
		}
		require.True(t, g.Still(), "%+v, not after %d frames", g, most)
	})
}
