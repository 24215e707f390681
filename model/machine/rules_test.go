package machine_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/machine"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The ten rules, each with the test that shows it. What is expected is read
// off the rules' text.

func TestRule1FlatStatesStartAndBack(t *testing.T) {
	t.Run("the only dormant state is the start", func(t *testing.T) {
		d := heron(t)
		d.States[0], d.States[2] = d.States[2], d.States[0]
		pl := play(t, d)
		assert.Equal(t, "roost", pl.state())
		assert.Equal(t, "roost", pl.p.Name(pl.Machine.Back()))
	})
	t.Run("the marked one of several", func(t *testing.T) {
		d := heron(t)
		d.States = append(d.States, model.State{Name: "nest", Kind: model.Dormant, Start: true})
		assert.Equal(t, "nest", play(t, d).state())
	})
	t.Run("back from a performance that began at the start", func(t *testing.T) {
		pl := play(t, heron(t, tr(t, "roost", "press one", "greet"), tr(t, "greet", "done", "back")), "press one")
		assert.Equal(t, "greet", pl.state())
		pl.do("wait 3s")
		assert.Equal(t, "roost", pl.state())
	})
}

func TestRule2Precedence(t *testing.T) {
	all := []model.Transition{
		tr(t, "any", "press one", "roost"),
		tr(t, "any ambient", "press one", "fish"),
		tr(t, "watch", "press one", "greet"),
	}
	for _, c := range []struct {
		leave []int // which of the transitions there are
		want  string
	}{
		{[]int{0, 1, 2}, "greet"},
		{[]int{2, 1, 0}, "greet"},
		{[]int{0, 1}, "fish"},
		{[]int{1, 0}, "fish"},
		{[]int{0}, "roost"},
	} {
		ts := []model.Transition{tr(t, "roost", "press wake", "watch")}
		for _, i := range c.leave {
			ts = append(ts, all[i])
		}
		pl := play(t, heron(t, ts...), "press wake", "press one")
		assert.Equal(t, c.want, pl.state(), c.leave)
	}

	t.Run("of one kind only", func(t *testing.T) {
		pl := play(t, heron(t, all[1], all[0], tr(t, "roost", "press wake", "greet")), "press wake", "press one")
		assert.Equal(t, "roost", pl.state())
	})
	t.Run("a named ignore beats any", func(t *testing.T) {
		pl := play(t, heron(t, all[0], tr(t, "watch", "press one", "ignore"), tr(t, "roost", "press wake", "watch")),
			"press wake", "press one")
		assert.Equal(t, "watch", pl.state())
	})
	t.Run("done and after too", func(t *testing.T) {
		pl := play(t, heron(t,
			tr(t, "any", "after 1s", "fish"), tr(t, "roost", "after 1s", "greet"),
			tr(t, "any", "done", "watch"), tr(t, "greet", "done", "dance"),
			tr(t, "greet", "after 1s", "ignore")), "wait 1s")
		assert.Equal(t, "greet", pl.state())
		pl.do("wait 2s")
		assert.Equal(t, "dance", pl.state())
	})
}

func TestRule2Ambiguity(t *testing.T) {
	d := heron(t,
		tr(t, "any ambient", "press one", "roost"),
		tr(t, "watch", "press one", "greet"),
		tr(t, "watch", "press one", "dance"),      // with the one before
		tr(t, "any ambient", "press one", "fish"), // with the first
		tr(t, "any", "press one", "fish"),
		tr(t, "watch", "after 1s", "fish"),
		tr(t, "watch", "after 1s..2s", "fish"),  // another trigger
		tr(t, "watch", "after 1000ms", "roost"), // the same
		tr(t, "greet", "done", "back"),
		tr(t, "greet", "done", "roost"),
	)
	d.Transitions = append(d.Transitions, model.Transition{ // one candidate, not two
		From: []model.From{{State: "fish"}, {State: "fish"}},
		On:   []model.Trigger{{Kind: model.Press, Name: "two"}}, To: "watch",
	})
	p := machine.Compile(d)
	var pairs [][2]int
	for _, a := range p.Ambiguities() {
		pairs = append(pairs, [2]int{a.First.Transition, a.Second.Transition})
	}
	assert.Equal(t, [][2]int{{1, 2}, {0, 3}, {5, 7}, {8, 9}}, pairs)
	assert.Equal(t, machine.RankKind, p.Ambiguities()[1].Rank)
	assert.Equal(t, model.Ambient, p.Ambiguities()[1].Kind)
	assert.Equal(t, "watch", p.Name(p.Ambiguities()[0].State))

	one, _ := p.Event(model.Trigger{Kind: model.Press, Name: "one"})
	watch, _ := p.State("watch")
	assert.Equal(t, 1, p.Move(watch, one).Transition, "the first in file order is taken")
}

func TestRule3NothingHappens(t *testing.T) {
	pl := play(t, heron(t, tr(t, "roost", "press one", "ignore"), tr(t, "roost", "after 1s", "watch")))
	var seen []machine.Outcome
	pl.Machine.Observe = func(c machine.Change) { seen = append(seen, c.Outcome) }
	pl.do("wait 500ms", "press one", "press two")
	assert.Equal(t, []machine.Outcome{machine.Ignored, machine.Unanswered}, seen)
	assert.Equal(t, "roost", pl.state())
	pl.do("wait 497ms")
	assert.Equal(t, "roost", pl.state())
	pl.do("wait 1ms") // the state was not entered anew
	assert.Equal(t, "watch", pl.state())
}

func TestRule4Defer(t *testing.T) {
	d := heron(t,
		tr(t, "roost", "press wake", "greet"),
		tr(t, "greet", "done", "watch"),
		deferred(tr(t, "greet", "press one", "dance")),
		deferred(tr(t, "greet", "press two", "fish")),
	)
	t.Run("taken at the end in place of done", func(t *testing.T) {
		pl := play(t, d, "press wake", "press one", "wait 1998ms")
		assert.Equal(t, "greet", pl.state())
		var causes []machine.Cause
		pl.Machine.Observe = func(c machine.Change) { causes = append(causes, c.Cause) }
		pl.do("wait 1ms")
		assert.Equal(t, "dance", pl.state())
		assert.Equal(t, []machine.Cause{machine.CauseDeferred}, causes)
	})
	t.Run("the latest wins", func(t *testing.T) {
		assert.Equal(t, "fish", play(t, d, "press wake", "press one", "press two", "wait 2s").state())
		assert.Equal(t, "dance", play(t, d, "press wake", "press two", "press one", "wait 2s").state())
	})
	t.Run("without one, done", func(t *testing.T) {
		assert.Equal(t, "watch", play(t, d, "press wake", "wait 2s").state())
	})
	t.Run("an ignored done does not stand in its way", func(t *testing.T) {
		d := heron(t, tr(t, "roost", "press wake", "greet"), tr(t, "greet", "done", "ignore"),
			deferred(tr(t, "greet", "press one", "dance")))
		assert.Equal(t, "dance", play(t, d, "press wake", "press one", "wait 2s").state())
	})
	t.Run("a timer may be deferred, and is spent", func(t *testing.T) {
		d := heron(t, tr(t, "roost", "press wake", "greet"), tr(t, "greet", "done", "watch"),
			deferred(tr(t, "greet", "after 500ms", "dance")), deferred(tr(t, "greet", "press two", "fish")))
		assert.Equal(t, "dance", play(t, d, "press wake", "wait 2s").state())
		assert.Equal(t, "fish", play(t, d, "press wake", "wait 1s", "press two", "wait 1s").state())
	})
}

func TestRule5Taking(t *testing.T) {
	d := heron(t,
		tr(t, "roost", "press wake", "watch"),
		tr(t, "watch", "press wake", "watch"),
		tr(t, "watch", "press two", "fish"),
		tr(t, "any ambient", "press one", "greet"),
		tr(t, "greet", "press two", "dance"),
		tr(t, "any performing", "press wake", "back"),
		tr(t, "greet", "done", "back"),
		deferred(tr(t, "greet", "press one", "roost")),
		tr(t, "watch", "after 1s", "roost"),
		tr(t, "greet", "rise tail", "greet"),
	)
	t.Run("back is the state left last that does not perform", func(t *testing.T) {
		assert.Equal(t, "watch", play(t, d, "press wake", "press one", "wait 2s").state())
		assert.Equal(t, "fish", play(t, d, "press wake", "press two", "press one", "press two", "press wake").state())
	})
	t.Run("entered anew", func(t *testing.T) {
		pl := play(t, d, "press wake", "wait 999ms", "press wake", "wait 999ms")
		assert.Equal(t, "watch", pl.state())
		assert.Equal(t, "watch", pl.p.Name(pl.Machine.Back()))
		pl.do("wait 1ms")
		assert.Equal(t, "roost", pl.state())
	})
	t.Run("the memory of defer is cleared", func(t *testing.T) {
		pl := play(t, d, "press wake", "press one", "press one")
		require.NotNil(t, pl.Machine.Deferred())
		pl.do("rise tail")
		assert.Nil(t, pl.Machine.Deferred())
		pl.do("wait 2s")
		assert.Equal(t, "watch", pl.state())
	})
}

func TestRule6Deadlines(t *testing.T) {
	d := heron(t, tr(t, "roost", "after 5ms..14ms", "watch"), tr(t, "watch", "after 1ms..3ms", "roost"))
	p := machine.Compile(d)
	m := machine.New(p, 7)
	stays := map[string]map[uint32]int{"roost": {}, "watch": {}}
	last := uint32(0)
	m.Observe = func(c machine.Change) {
		stays[p.Name(c.From)][c.At-last]++
		last = c.At
	}
	m.Advance(200000)
	// Uniform: with n stays over k values each comes n/k times, give or take;
	// the bound is five standard deviations (of a Poisson count).
	for name, k := range map[string]int{"roost": 10, "watch": 3} {
		assert.Len(t, stays[name], k, name)
		n := 0
		for _, times := range stays[name] {
			n += times
		}
		for stay, times := range stays[name] {
			mean := float64(n) / float64(k)
			assert.InDelta(t, mean, times, 5*math.Sqrt(mean), "%s stays %d ms", name, stay)
		}
	}
}

func TestRule7Done(t *testing.T) {
	d := heron(t,
		tr(t, "roost", "press one", "greet"), tr(t, "any performing", "done", "watch"),
		tr(t, "roost", "press two", "dance"), tr(t, "roost", "press wake", "wink"))
	t.Run("to the millisecond", func(t *testing.T) {
		pl := play(t, d, "press one", "wait 1999ms")
		assert.Equal(t, "greet", pl.state())
		pl.do("wait 1ms")
		assert.Equal(t, "watch", pl.state())
	})
	t.Run("not from a loop", func(t *testing.T) {
		assert.Equal(t, "dance", play(t, d, "press two", "wait 60m").state())
	})
	t.Run("an empty routine ends in the step that begins it", func(t *testing.T) {
		assert.Equal(t, "watch", play(t, d, "press wake").state())
	})
	t.Run("the last cue counts to its end", func(t *testing.T) {
		d := heron(t, tr(t, "roost", "press one", "greet"), tr(t, "greet", "done", "watch"))
		d.Outputs = []model.Output{{Name: "neck", Kind: model.KindServo}}
		d.Routines[0] = model.Routine{Name: "bow", Cues: []model.Cue{{
			At: 100 * time.Millisecond, Output: "neck", Action: model.Action{Over: 150 * time.Millisecond},
		}}}
		pl := play(t, d, "press one", "wait 249ms")
		assert.Equal(t, "greet", pl.state())
		pl.do("wait 1ms")
		assert.Equal(t, "watch", pl.state())
	})
	t.Run("once", func(t *testing.T) {
		pl := play(t, heron(t, tr(t, "roost", "press one", "greet")))
		n := 0
		pl.Machine.Observe = func(c machine.Change) {
			if c.Cause == machine.CauseDone {
				n++
			}
		}
		pl.do("press one", "wait 10s")
		assert.Equal(t, 1, n)
	})
}

func TestRule8OneStep(t *testing.T) {
	t.Run("events in order, then done, then the earliest after", func(t *testing.T) {
		pl := play(t, heron(t,
			tr(t, "roost", "press one", "watch"),
			tr(t, "watch", "press two", "wink"),
			tr(t, "wink", "done", "fish"),
			tr(t, "fish", "after 0s", "greet"),
			tr(t, "greet", "after 0s", "dance")))
		var seen []string
		pl.Machine.Observe = func(c machine.Change) {
			seen = append(seen, fmt.Sprint(c.At, " ", c.Cause, " ", pl.p.Name(c.To)))
		}
		pl.post("press one")
		pl.post("press two")
		pl.Machine.Advance(1)
		assert.Equal(t, []string{"1 event watch", "1 event wink", "1 done fish", "1 after greet"}, seen)
		pl.Machine.Advance(1)
		assert.Equal(t, "2 after dance", seen[len(seen)-1])
	})
	t.Run("done before after", func(t *testing.T) {
		d := heron(t, tr(t, "roost", "press one", "greet"), tr(t, "greet", "after 2s", "dance"), tr(t, "greet", "done", "watch"))
		assert.Equal(t, "watch", play(t, d, "press one", "wait 2s").state())
	})
	t.Run("an event before a timer that is due", func(t *testing.T) {
		d := heron(t, tr(t, "roost", "after 1s", "greet"), tr(t, "roost", "press one", "watch"))
		assert.Equal(t, "watch", play(t, d, "wait 999ms", "press one").state())
	})
	t.Run("the earliest, and file order on a tie", func(t *testing.T) {
		d := heron(t, tr(t, "roost", "after 2s", "fish"), tr(t, "roost", "after 1s", "watch"))
		assert.Equal(t, "watch", play(t, d, "wait 2s").state())
		d = heron(t, tr(t, "any", "after 1s..1001ms", "fish"), tr(t, "roost", "after 1s", "watch"))
		m := machine.NewDrawing(machine.Compile(d), func(lo, hi uint32) uint32 { return lo })
		m.Advance(1000)
		assert.Equal(t, machine.StateID(2), m.State())
	})
	t.Run("one timer a step, the one due longest first", func(t *testing.T) {
		pl := play(t, heron(t, tr(t, "roost", "press one", "greet"),
			deferred(tr(t, "greet", "after 11ms", "watch")),
			deferred(tr(t, "greet", "after 10ms", "fish")),
			deferred(tr(t, "any performing", "after 10ms..12ms", "dance"))))
		var at []string
		pl.Machine.Observe = func(c machine.Change) {
			if c.Cause == machine.CauseAfter {
				at = append(at, fmt.Sprint(c.At, " ", pl.p.Name(c.Move.Target)))
			}
		}
		m := machine.NewDrawing(pl.p, func(lo, hi uint32) uint32 { return lo })
		m.Observe = pl.Machine.Observe
		m.Post(2)
		m.Advance(20)
		assert.Equal(t, []string{"11 fish", "12 dance", "13 watch"}, at)
	})
	t.Run("the queue holds 8", func(t *testing.T) {
		pl := play(t, heron(t, tr(t, "roost", "press one", "watch")))
		for range 8 {
			pl.post("press two")
		}
		pl.post("press one")
		assert.Equal(t, 1, pl.Machine.Dropped())
		pl.Machine.Advance(1)
		assert.Equal(t, "roost", pl.state())
		pl.post("press one")
		pl.Machine.Advance(1)
		assert.Equal(t, "watch", pl.state())
		assert.Equal(t, 1, pl.Machine.Dropped())
	})
}

// The NEC remote's figures: a frame every 108 ms while the button is down
// (Vishay, "Data Formats for IR Remote Control", document 80071, section "NEC
// Code"); three and a half of that are 378 ms.
func TestRule9PressHoldRelease(t *testing.T) {
	d := heron(t,
		tr(t, "roost", "press one", "watch"),
		tr(t, "watch", "hold one for 500ms", "fish"),
		tr(t, "fish", "hold one for 1s", "dance"),
		tr(t, "any", "release one", "roost"),
	)
	p := machine.Compile(d)
	event := func(s string) machine.EventID {
		tr, err := model.ParseTrigger(s)
		require.NoError(t, err)
		e, ok := p.Event(tr)
		require.True(t, ok)
		return e
	}
	press, short, long, release := event("press one"), event("hold one for 500ms"), event("hold one for 1s"), event("release one")
	two := event("press two")
	ids := func(es ...machine.EventID) []machine.EventID { return es }

	type call struct {
		at   uint32
		what string // tick, first, repeat; first two, repeat two
		want []machine.EventID
	}
	for name, calls := range map[string][]call{
		"a tap": {
			{1000, "first", ids(press)}, {1377, "tick", nil}, {1378, "tick", ids(release)}, {1379, "tick", nil},
		},
		"a hold fires at the first repeat after its time, once": {
			{1000, "first", ids(press)}, {1108, "repeat", nil}, {1216, "repeat", nil}, {1324, "repeat", nil},
			{1432, "repeat", nil}, {1500, "tick", nil}, {1540, "repeat", ids(short)}, {1648, "repeat", nil},
			{1756, "repeat", nil}, {1864, "repeat", nil}, {1972, "repeat", nil}, {2080, "repeat", ids(long)},
			{2188, "repeat", nil}, {2565, "tick", nil}, {2566, "tick", ids(release)},
		},
		"a release that is due comes before the frame": {
			{1000, "first", ids(press)}, {1378, "first", ids(release, press)},
		},
		"a repeat that comes too late is nobody's": {
			{1000, "first", ids(press)}, {1378, "repeat", ids(release)}, {1400, "repeat", nil}, {1800, "tick", nil},
		},
		"a repeat of another button changes nothing": {
			{1000, "first", ids(press)}, {1108, "repeat two", nil}, {1378, "tick", ids(release)},
		},
		"another button ends a press": {
			{1000, "first", ids(press)}, {1100, "first two", ids(release, two)}, {1478, "tick", nil}, {1500, "repeat", nil},
		},
		"a new press of the same button too": {
			{1000, "first", ids(press)}, {1050, "first", ids(release, press)}, {1427, "tick", nil}, {1428, "tick", ids(release)},
		},
		"two repeats are lost, again and again": {
			{1000, "first", ids(press)}, {1324, "repeat", nil}, {1648, "repeat", ids(short)}, {1972, "repeat", nil},
			{2296, "repeat", ids(long)}, {2674, "tick", ids(release)},
		},
		"two holds in one frame, the shorter first": {
			{1000, "first", ids(press)}, {1377, "repeat", nil}, {1499, "repeat", nil}, {1800, "tick", nil},
			{1876, "repeat", ids(short)}, {2253, "repeat", ids(long)},
		},
		"the clock may pass its end": {
			{0xffffffc0, "first", ids(press)}, {0x20, "repeat", nil}, {0x199, "tick", nil}, {0x19a, "tick", ids(release)},
		},
	} {
		t.Run(name, func(t *testing.T) {
			k := machine.NewKeypad(p, machine.RepeatPeriodNEC)
			for _, c := range calls {
				var got []machine.EventID
				switch c.what {
				case "tick":
					got = k.Tick(c.at)
				case "first", "repeat":
					got = k.Frame(2, c.what == "repeat", c.at)
				default:
					got = k.Frame(3, c.what == "repeat two", c.at)
				}
				assert.Equal(t, c.want, got, "at %d", c.at)
			}
		})
	}

	t.Run("a button that sends one frame a press", func(t *testing.T) {
		code := d.Remote.Buttons[2].Code
		defer func() { d.Remote.Buttons[2].Code = code }()
		d.Remote.Buttons[2].Code = "raw:0x0000:0x12345678"
		pl := play(t, d, "hold one", "wait 161ms")
		assert.Equal(t, "watch", pl.state(), "nothing repeats it")
		pl.do("wait 1ms")
		assert.Equal(t, "roost", pl.state())
		pl.do("wait 2s", "let go one")
		assert.Equal(t, "roost", pl.state(), "no frame repeats the first")
		pl = play(t, d, "hold one for 1s")
		assert.Equal(t, "roost", pl.state())
		assert.Equal(t, uint32(1001), pl.Machine.Now(), "the time goes by all the same")
	})
	t.Run("through the machine", func(t *testing.T) {
		pl := play(t, d, "press one", "wait 377ms")
		assert.Equal(t, "watch", pl.state(), "pressed at 1, let go at 379")
		pl.do("wait 1ms")
		assert.Equal(t, "roost", pl.state())
		assert.Equal(t, "fish", play(t, d, "hold one for 500ms").state())
		assert.Equal(t, "dance", play(t, d, "hold one for 1s").state())
		pl = play(t, d, "hold one", "wait 2s")
		assert.Equal(t, "dance", pl.state())
		pl.do("let go one", "wait 1s")
		assert.Equal(t, "roost", pl.state())
	})
}

func TestRule10RandomSequence(t *testing.T) {
	// Marsaglia 2003, section 3: the period is 2^32-1 for (13, 17, 5). One
	// step is linear over the two-element field, a 32 × 32 matrix M; its order
	// is 2^32-1 when M to that power is the identity and M to that power
	// divided by each of its prime factors 3, 5, 17, 257, 65537 is not.
	step := func(x uint32) uint32 {
		s := machine.Xorshift(x)
		return s.Next()
	}
	var m matrix
	for i := range m {
		m[i] = step(1 << i)
	}
	for _, x := range []uint32{1, 3, 0x9E3779B9, 0xffffffff, 0x12345678} {
		assert.Equal(t, step(x), m.times(x), "the step is linear")
	}
	const period = 1<<32 - 1
	assert.Equal(t, identity(), m.power(period))
	for _, prime := range []uint64{3, 5, 17, 257, 65537} {
		assert.NotEqual(t, identity(), m.power(period/prime), prime)
	}

	// The seed that the same paper's section 3 starts its example with, and
	// the first number after it (the number from memory).
	s := machine.Seed(2463534242)
	assert.Equal(t, uint32(723471715), s.Next())

	// By hand: 1 -> 1^1<<13 = 0x2001 -> no change by >>17 -> ^<<5 = 0x42021.
	s = machine.Seed(0)
	assert.Equal(t, uint32(0x42021), s.Next())

	s = machine.Seed(1)
	assert.Equal(t, 10+uint32(0x42021%7), s.Draw(10, 16))
	s = machine.Seed(1)
	assert.Equal(t, uint32(5), s.Draw(5, 5))
	assert.Equal(t, machine.Seed(1), s, "nothing is drawn for one value")
}

func TestTell(t *testing.T) {
	next, wait := machine.Act{Kind: machine.ActPress, Name: "next"}, machine.Act{Kind: machine.ActWait, For: time.Second}
	for _, c := range []struct {
		acts []machine.Act
		want string
	}{
		{nil, ""},
		{[]machine.Act{next, next, wait, next}, "press next, press next, wait 1s, press next"},
		{slices.Concat([]machine.Act{wait}, slices.Repeat([]machine.Act{next}, 9998), []machine.Act{wait}), "wait 1s, press next, 9,998 times, wait 1s"},
	} {
		assert.Equal(t, c.want, machine.Tell(c.acts))
	}
}
