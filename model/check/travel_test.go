package check

import (
	"cmp"
	"math"
	"os"
	"regexp"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/model"
	"propwright/model/motion"
)

const msec = time.Millisecond

// mended reads the design in which the rule is kept.
func mended(t require.TestingT, rule string) *model.Design {
	text, err := os.ReadFile("../designs/rules/" + rule + "-mended.prop.toml")
	require.NoError(t, err)
	d, err := model.Read(rule+".prop.toml", text)
	require.NoError(t, err)
	return d
}

// said are a rule's messages about a design.
func said(t require.TestingT, rule string, d *model.Design) (messages []string) {
	for _, f := range findingsOf(t, rule, d) {
		messages = append(messages, f.Message)
	}
	return messages
}

// findingsOf are those of one rule.
func findingsOf(t require.TestingT, rule string, d *model.Design) Findings {
	i := slices.IndexFunc(Rules(), func(r *Rule) bool { return r.ID == rule })
	require.GreaterOrEqual(t, i, 0, rule)
	found, err := NewStudy(d).Check(Rules()[i : i+1])
	require.NoError(t, err)
	return found
}

// turns are cues of the servo "neck".
func turns(as ...model.Action) []model.Cue {
	var cues []model.Cue
	for i, a := range as {
		cues = append(cues, model.Cue{At: time.Duration(i) * 4 * time.Second, Output: "neck", Action: a})
	}
	return cues
}

// What a move asks for at its peak, by the derivatives of the eases: 10t³-15t⁴+6t⁵
// has the slope 30t²(1-t)², 15/8 at the most, and the bend 60t(1-t)(1-2t), 10/√3 at
// the most; t² has 2 and 2.
func TestTooFast(t *testing.T) {
	for _, c := range []struct {
		name         string
		speed, accel float64
		move         model.Action // from -20deg
		want         string
	}{
		{"smooth, by its speed", 200, 0, model.Action{To: 20, Over: 374 * msec, Ease: model.EaseSmooth}, "max_speed of 200deg/s it needs 375ms"},
		{"smooth, just so", 200, 0, model.Action{To: 20, Over: 375 * msec, Ease: model.EaseSmooth}, ""},
		{"smooth, by its acceleration", 200, 1500, model.Action{To: 20, Over: 392 * msec, Ease: model.EaseSmooth}, "max_accel of 1500deg/s2 it needs 393ms"},
		{"smooth, accelerates just so", 200, 1500, model.Action{To: 20, Over: 393 * msec, Ease: model.EaseSmooth}, ""},
		{"in, by its speed", 200, 0, model.Action{To: 20, Over: 399 * msec, Ease: model.EaseIn}, "it needs 400ms"},
		{"in, by its acceleration", 1000, 500, model.Action{To: 20, Over: 399 * msec, Ease: model.EaseIn}, "max_accel of 500deg/s2 it needs 400ms"},
		{"out, by its acceleration", 1000, 500, model.Action{To: 20, Over: 399 * msec, Ease: model.EaseOut}, "max_accel of 500deg/s2 it needs 400ms"},
		{"linear, by its speed", 200, 1, model.Action{To: 20, Over: 199 * msec, Ease: model.EaseLinear}, "max_speed of 200deg/s it needs 200ms"},
		{"linear, whatever its acceleration", 200, 1, model.Action{To: 20, Over: 200 * msec, Ease: model.EaseLinear}, ""},
		{"no limits", 0, 0, model.Action{To: 20, Over: msec, Ease: model.EaseSmooth}, ""},
		{"as fast as it stands", 10, 10, model.Action{To: 20, Ease: model.EaseSmooth}, ""},
		{"hardly any acceleration", 0, 1e-300, model.Action{To: 20, Over: 300 * msec, Ease: model.EaseSmooth}, "it needs 525600m"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := mended(t, "too-fast")
			o := d.Output("neck")
			o.MaxSpeed, o.MaxAccel = model.DegPerS(c.speed), model.DegPerS2(c.accel)
			d.Routines[0].Length = 0
			d.Routines[0].Cues = turns(model.Action{To: -20, Over: msec}, c.move)
			got := said(t, "too-fast", d)
			if c.want == "" {
				assert.Empty(t, got)
				return
			}
			require.Len(t, got, 1)
			assert.Contains(t, got[0], `turns "neck" from -20deg to 20deg`)
			assert.Contains(t, got[0], c.want)
		})
	}
}

// A state that poses the servo and plays the routine leaves no doubt where the
// first cue finds it, once the pose has been taken.
func TestTooFastFromAPose(t *testing.T) {
	d := mended(t, "too-fast")
	r, o := &d.Routines[0], d.Output("neck")
	o.MaxAccel = 0
	player := &d.States[slices.IndexFunc(d.States, func(s model.State) bool { return s.Plays == r.Name })]
	player.Over = 100 * msec
	player.Pose = []model.Pose{{Output: "neck", Action: model.Action{To: -40}}}
	cue := func(at time.Duration) []model.Cue {
		return []model.Cue{{At: at, Output: "neck", Action: model.Action{To: 40, Over: 20 * msec}}}
	}
	// From anywhere, 80 degrees at the most, the pose takes 80/200 s, and a few
	// frames to be sure.
	known := motion.Settle(o, -40, player.Over, "", motion.Range{Lo: float64(o.Min), Hi: float64(o.Max)})
	assert.InDelta(t, 400*msec, known, float64(100*msec))
	r.Cues = cue(known - msec)
	assert.Empty(t, said(t, "too-fast", d))
	r.Cues = cue(620 * msec)
	assert.Equal(t, []string{`the cue at 620ms of routine "greet" turns "neck" from -40deg to 40deg in 20ms; by its max_speed of 200deg/s it needs 750ms at the least`}, said(t, "too-fast", d))

	// Another state that plays it may find the servo elsewhere.
	other := *player
	other.Name, other.Pose = "again", nil
	d.States = append(d.States, other)
	assert.Empty(t, said(t, "too-fast", d))
	d.States[len(d.States)-1].Pose = []model.Pose{{Output: "neck", Action: model.Action{To: 30}}}
	assert.Equal(t, []string{`the cue at 620ms of routine "greet" turns "neck" from 30deg to 40deg in 20ms; by its max_speed of 200deg/s it needs 94ms at the least`}, said(t, "too-fast", d))
}

// A routine's first cue is judged from where a prop has the servo that is left in peace
// on the way there.
func TestLateStart(t *testing.T) {
	d := mended(t, "too-fast")
	o := d.Output("neck")
	o.MaxAccel = 0
	d.Routines[0].Cues = turns(model.Action{To: 40, Over: 20 * msec})
	d.Routines[0].Length = 0
	watch := &d.States[1]
	from := func(place, needs string) {
		t.Helper()
		assert.Equal(t, []string{`the cue at 0s of routine "greet" turns "neck" from ` + place + ` to 40deg in 20ms; by its max_speed of 200deg/s it needs ` + needs + ` at the least`}, said(t, "late-start", d))
	}
	from("0deg", "375ms")
	o.Rest = -40
	from("-40deg", "750ms")
	watch.Pose = []model.Pose{{Output: "neck", Action: model.Action{To: 20}}}
	from("20deg", "188ms")
	watch.Pose[0].To = 40
	assert.Empty(t, said(t, "late-start", d))

	// A routine that ends by itself leaves it where its last cue has sent it.
	hello := model.Routine{Name: "hello", Length: time.Second, Cues: turns(model.Action{To: -10})}
	d.Routines = append(d.Routines, hello)
	watch.Kind, watch.Plays = model.Performing, "hello"
	d.Transitions[1].On = []model.Trigger{{Kind: model.Done}}
	from("-10deg", "469ms")
	d.Routines[1].Loop = true
	assert.Empty(t, said(t, "late-start", d), "nothing leads on")
	d.Routines[1].Loop, d.Routines[1].Length = false, msec
	assert.Empty(t, said(t, "late-start", d), "it is still on its way")

	// So it is where a timer does not wait for the pose.
	watch.Kind, watch.Plays = model.Ambient, ""
	watch.Pose[0].To = -10
	after := func(t time.Duration) {
		d.Transitions[1].On = []model.Trigger{{Kind: model.After, After: model.Span{Lo: t, Hi: t}}}
	}
	after(time.Second)
	from("-10deg", "469ms")
	after(100 * msec)
	assert.Empty(t, said(t, "late-start", d))

	// So it is after a drift.
	watch.Pose, watch.Drift = nil, []model.Drift{{Output: "neck", Between: [2]float64{-10, -5}, Every: model.Span{Lo: time.Second, Hi: time.Second}}}
	after(2 * time.Second)
	assert.Empty(t, said(t, "late-start", d))
	watch.Drift = nil
	from("-40deg", "750ms")
	assert.Empty(t, said(t, "too-fast", d))
}

// Where a routine finds the servo nobody knows: its first cue takes the time
// that it needs. The next round's first cue is a cue like others.
func TestTooFastFromWhereTheServoIs(t *testing.T) {
	d := mended(t, "too-fast")
	r := &d.Routines[0]
	d.Output("neck").MaxAccel = 0

	r.Cues = turns(model.Action{To: 40, Over: 20 * msec})
	assert.Empty(t, said(t, "too-fast", d))

	r.Cues = turns(model.Action{To: 40, Over: 20 * msec}, model.Action{To: 0, Over: time.Second})
	r.Loop, r.Length = true, 0
	assert.Equal(t, []string{`the cue at 0s of routine "greet" turns "neck" from 0deg to 40deg in 20ms; by its max_speed of 200deg/s it needs 375ms at the least`}, said(t, "too-fast", d))

	r.Cues[1].Over = 20 * msec
	assert.Len(t, said(t, "too-fast", d), 2, "a cue that is too fast in both rounds is told once")

	// Half of a second's smooth way from -40 to 40 is 0: 15/8·40/200 s back.
	back := model.Cue{At: 4500 * msec, Output: "neck", Action: model.Action{To: -40, Over: 374 * msec}}
	r.Loop, r.Length = false, 0
	r.Cues = append(turns(model.Action{To: -40, Over: msec}, model.Action{To: 40, Over: time.Second}), back)
	assert.Equal(t, []string{`the cue at 4.5s of routine "greet" turns "neck" from 0deg to -40deg in 374ms; by its max_speed of 200deg/s it needs 375ms at the least`}, said(t, "too-fast", d))

	// A first cue that is cut short leaves it unknown how far there is to go.
	r.Cues = turns(model.Action{To: 40, Over: time.Second})
	back.At = 500 * msec
	r.Cues = append(r.Cues, back)
	assert.Equal(t, []string{`the cue at 500ms of routine "greet" turns "neck" from 0deg to -40deg in 374ms; by its max_speed of 200deg/s it needs 375ms at the least`}, said(t, "too-fast", d), "0deg is the least it can have come to")
	r.Cues[0].Over, r.Cues[1].At = 0, 380*msec
	assert.Empty(t, said(t, "too-fast", d), "on its way from anywhere for as long as that takes, 80/200 s")

	// Of two cues of one time only the later one moves anything.
	r.Cues = turns(model.Action{To: 40, Over: time.Second}, model.Action{To: -40, Over: msec}, model.Action{To: 30, Over: time.Second})
	r.Cues[2].At = r.Cues[1].At
	assert.Empty(t, said(t, "too-fast", d))
}

// sheet draws a routine of the neck. Its first cue is where the neck rests, so
// that every other begins at a known place.
func sheet(t *rapid.T, d *model.Design, degrees *rapid.Generator[int]) *model.Routine {
	o, r := d.Output("neck"), &d.Routines[0]
	o.MaxSpeed = model.DegPerS(rapid.IntRange(20, 400).Draw(t, "speed"))
	o.MaxAccel = model.DegPerS2(rapid.IntRange(0, 3000).Draw(t, "accel"))
	o.Rest = model.Degrees(rapid.IntRange(-40, 40).Draw(t, "rest"))
	r.Cues = turns(model.Action{To: o.Rest, Over: motion.Frame})
	r.Length = 0
	for range rapid.IntRange(1, 4).Draw(t, "cues") {
		r.Cues = append(r.Cues, model.Cue{
			At:     motion.Frame + time.Duration(rapid.IntRange(0, 3000).Draw(t, "at"))*msec,
			Output: "neck",
			Action: model.Action{
				To:   model.Degrees(degrees.Draw(t, "to")),
				Over: time.Duration(rapid.IntRange(1, 1500).Draw(t, "over")) * msec,
				Ease: rapid.SampledFrom(model.Eases).Draw(t, "ease"),
			},
		})
	}
	slices.SortStableFunc(r.Cues, func(a, b model.Cue) int { return cmp.Compare(a.At, b.At) })
	return r
}

// A routine that the rules pass is played as it is written: every move ends
// where its cue says, and not two frames later, and on the way the servo is never
// faster, and never quicker to become so, than its mechanism stands.
func TestWhatPassesIsPlayedAsWritten(t *testing.T) {
	passed := 0
	rapid.Check(t, func(t *rapid.T) {
		d := mended(t, "too-fast")
		r := sheet(t, d, rapid.IntRange(-44, 44))
		if len(said(t, "too-fast", d)) > 0 || len(said(t, "over-travel", d)) > 0 {
			return
		}
		passed++
		o := d.Output("neck")
		s := motion.New(d, nil)
		require.NoError(t, s.Enter("greet", 0))
		at := func(t time.Duration) float64 { return s.Value("neck", t).Lo }
		// A pulse is rounded to half a microsecond.
		tick := 0.5 * float64(o.Max-o.Min) / math.Abs(float64(o.UsAtMax-o.UsAtMin))
		const f = motion.Frame
		last := r.Cues[len(r.Cues)-1]
		for τ := 2 * f; τ <= last.At+motion.Frames(last.Over); τ += f {
			v, before, earlier := at(τ), at(τ-f), at(τ-2*f)
			require.True(t, float64(o.Min) <= v && v <= float64(o.Max), "%v at %v", v, τ)
			require.LessOrEqual(t, math.Abs(v-before), float64(o.MaxSpeed)*f.Seconds()+tick+1e-9, "speed at %v", τ)
			if o.MaxAccel > 0 {
				require.LessOrEqual(t, math.Abs(v-2*before+earlier), float64(o.MaxAccel)*f.Seconds()*f.Seconds()+2*tick+1e-9, "acceleration at %v", τ)
			}
		}
		for i := range r.Cues {
			c := &r.Cues[i]
			end := motion.Frames(c.At) + motion.Frames(c.Over) + 2*f
			jumps := c.Ease != model.EaseSmooth && o.MaxAccel > 0 // then it may come in late
			if !jumps && (i+1 == len(r.Cues) || end < r.Cues[i+1].At) {
				require.InDelta(t, float64(c.To), at(end), tick, "where cue %d ends", i)
			}
		}
	})
	if !testing.Short() { // of a few draws perhaps none passes
		assert.NotZero(t, passed)
	}
}

var (
	advised = regexp.MustCompile(`^write over = "(.*)" or more`)
	cueTime = regexp.MustCompile(`^the cue at (\S+) `)
)

// spoken reports whether too-fast speaks of a cue at a time.
func spoken(t *rapid.T, d *model.Design, at string) bool {
	return slices.ContainsFunc(said(t, "too-fast", d), func(m string) bool { return cueTime.FindStringSubmatch(m)[1] == at })
}

// The time that a finding asks for is the least that will do.
func TestLeastTimeIsTheLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := mended(t, "too-fast")
		r := sheet(t, d, rapid.IntRange(-40, 40))
		for range 3 * len(r.Cues) {
			found := findingsOf(t, "too-fast", d)
			if len(found) == 0 {
				return
			}
			// The cues have no places in a file: find the first that is said.
			f := found[0]
			least, err := time.ParseDuration(advised.FindStringSubmatch(f.Advice)[1])
			require.NoError(t, err)
			at := cueTime.FindStringSubmatch(f.Message)[1]
			k := 0
			for j := range r.Cues {
				if model.FormatDuration(r.Cues[j].At) == at {
					k = j // of two of one time the later one moves
				}
			}
			r.Cues[k].Over = least - msec
			require.True(t, spoken(t, d, at), "a millisecond less")
			r.Cues[k].Over = least
			require.False(t, spoken(t, d, at), "%s", f.Message)
		}
		t.Fatal("mending every cue thrice does not mend the routine")
	})
}

func TestOverTravel(t *testing.T) {
	d := mended(t, "over-travel")
	d.Routines[0].Cues = turns(model.Action{To: 41})
	d.States[1].Pose = append(d.States[1].Pose, model.Pose{Output: "neck", Action: model.Action{To: -40.5}})
	d.States[2].Plays = ""
	d.States[2].Drift = []model.Drift{{Output: "neck", Between: [2]float64{-50, 50}}}
	assert.Equal(t, []string{
		`the cue at 0s of routine "greet" sends "neck" to 41deg, outside of its travel -40deg to 40deg`,
		`the pose of state "watch" sends "neck" to -40.5deg, outside of its travel -40deg to 40deg`,
		`the drift of state "greet" sends "neck" to -50deg, outside of its travel -40deg to 40deg`,
	}, said(t, "over-travel", d))
}
