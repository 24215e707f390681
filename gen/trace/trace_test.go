package trace

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/picture"
	"propwright/model"
	"propwright/model/designs/odd"
	"propwright/model/machine"
	"propwright/model/rehearsal"
)

const buoy = `format = 1
[prop]
name = "buoy"
board = "atmega328p"
rest_within = "5s"
[remote]
pin = 2
stop = "sleep"
[[remote.button]]
name = "sleep"
code = "nec:0x04:0x08"
[[remote.button]]
name = "ring"
code = "nec:0x04:0x18"
[supply]
volts = 5.0
max_ma = 2000
[[output]]
name = "arm"
kind = "servo"
pin = 9
min = "-45deg"
max = "45deg"
rest = "0deg"
us_at_min = 1000
us_at_max = 2000
max_speed = "100deg/s"
max_accel = "5000deg/s2"
stall_ma = 500
[[output]]
name = "lamp"
kind = "pixels"
pin = 8
count = 2
[[output]]
name = "bell"
kind = "pulse"
pin = 4
hold = "5ms"
[[track]]
name = "toll"
file = "toll.wav"
length = "1s"
play = { output = "bell", value = "1" }
latency = "100ms"
[[routine]]
name = "ring"
[[routine.cue]]
at = "200ms"
output = "arm"
to = "40deg"
over = "1s"
ease = "linear"
[[routine.cue]]
at = "0s"
output = "lamp"
effect = "fade"
colour = "#000000"
colour2 = "#ff0000"
over = "1s"
[[routine.cue]]
at = "505ms"
track = "toll"
[[state]]
name = "roost"
kind = "dormant"
[[state]]
name = "ringing"
kind = "performing"
plays = "ring"
[[transition]]
from = "roost"
on = "press ring"
to = "ringing"
[[transition]]
from = "ringing"
on = "done"
to = "back"
[[transition]]
from = "any"
on = "press sleep"
to = "roost"
`

func read(t *testing.T) *model.Design {
	d, err := model.Read("buoy.prop.toml", []byte(buoy))
	require.NoError(t, err)
	return d
}

// table reads a trace's CSV back, by the heads of its columns.
func table(t *testing.T, tr *Trace) (rows int, cell func(head string, row int) string) {
	text, err := tr.CSV()
	require.NoError(t, err)
	all, err := csv.NewReader(bytes.NewReader(text)).ReadAll() // every row has as many cells
	require.NoError(t, err)
	return len(all) - 1, func(head string, row int) string {
		i := slices.Index(all[0], head)
		require.GreaterOrEqual(t, i, 0, "%s in %v", head, all[0])
		return all[row+1][i]
	}
}

func num(t *testing.T, s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// A fade by hand: it is from black to red within 1 s, so after the part k, in 256ths, a
// pixel shows 255 k of red and draws 1 mA + 20 k mA (see model/motion).
func TestRoutineByHand(t *testing.T) {
	tr, err := OfRoutine(read(t), "ring")
	require.NoError(t, err)
	rows, cell := table(t, tr)
	assert.Equal(t, 77, rows, "the toll is heard from 505 ms for 1 s: the last frame is at 1520 ms")
	for r := range rows {
		at := 0.02 * float64(r)
		assert.Equal(t, fmt.Sprintf("%.2f", at), cell("time [s]", r))
		red := int(255*float64(min(256*r/50, 256))/256 + 0.5)
		assert.Equal(t, fmt.Sprintf("#%02x0000", red), cell("lamp 1 [#rrggbb]", r))
		assert.InDelta(t, 2*(1+20*float64(red)/255), num(t, cell("lamp [mA]", r)), 0.051)
		arm, lamp := num(t, cell("arm [mA]", r)), num(t, cell("lamp [mA]", r))
		assert.InDelta(t, arm+lamp, num(t, cell("all [mA]", r)), 0.11)
		sound := ""
		if at >= 0.505 && at < 1.505 {
			sound = "toll"
		}
		assert.Equal(t, sound, cell("sound", r), "at %.2f s", at)
		// Between frames: it is called at 405 ms and held for 5 ms.
		assert.Equal(t, map[bool]string{true: "1", false: "0"}[r == 21], cell("bell [on]", r), "at %.2f s", at)
	}
	assert.Equal(t, "0", cell("arm [deg]", 9), "its first frame is at 200 ms")
	assert.InDelta(t, 40, num(t, cell("arm [deg]", rows-1)), 0.01)
}

// What holds for any motion: a servo is within its travel and its speed, its
// speed is the difference of its positions, and it draws its stall current
// while it moves.
func TestServo(t *testing.T) {
	tr, err := OfRoutine(read(t), "ring")
	require.NoError(t, err)
	rows, cell := table(t, tr)
	for r := 1; r < rows; r++ {
		was, is := num(t, cell("arm [deg]", r-1)), num(t, cell("arm [deg]", r))
		assert.InDelta(t, (is-was)/0.02, num(t, cell("arm [deg/s]", r)), 0.11)
		assert.LessOrEqual(t, is-was, 100*0.02+0.002)
		want := "100"
		if tr.stage.Value("arm", at(r)) != tr.stage.Value("arm", at(r-1)) {
			want = "500"
		}
		assert.Equal(t, want, cell("arm [mA]", r))
	}
}

// A servo's positions are those of the closed forms, frame by frame: minimum jerk,
// 10τ³-15τ⁴+6τ⁵ (T. Flash, N. Hogan, Journal of Neuroscience 5(7), 1985), where the
// limits allow it; else the fastest move under them, which takes 2√(d/a), or d/v + v/a
// where it reaches v (D. Kirk, "Optimal Control Theory", 1970, section 5.4). A pulse is
// rounded to half a microsecond, 0.045 degrees, and the fastest move keeps each speed
// for a whole frame: it is off by up to half a frame's way.
func TestServoInClosedForm(t *testing.T) {
	const d, v = 40.0, 100.0 // degrees, degrees per second
	jerk := func(took float64) func(x float64) float64 {
		return func(x float64) float64 {
			k := min(x/took, 1)
			return d * (10*math.Pow(k, 3) - 15*math.Pow(k, 4) + 6*math.Pow(k, 5))
		}
	}
	fastest := func(a float64) func(x float64) float64 {
		took, peak := 2*math.Sqrt(d/a), math.Sqrt(d*a)
		if peak > v {
			took, peak = d/v+v/a, v
		}
		return func(x float64) float64 {
			x = min(x, took)
			half := func(x float64) float64 { // from rest on
				speedup := min(x, peak/a)
				return a*speedup*speedup/2 + peak*(x-speedup)
			}
			if x <= took/2 {
				return half(x)
			}
			return d - half(took-x)
		}
	}
	for _, c := range []struct {
		over, accel string
		want        func(x float64) float64
		within      float64
	}{
		{"1s", "5000deg/s2", jerk(1), 0.03},
		{"2s", "5000deg/s2", jerk(2), 0.03},
		{"0s", "500deg/s2", fastest(500), 0.01*v + 0.03},
		{"0s", "1000deg/s2", fastest(1000), 0.01*v + 0.03},
		{"0s", "100deg/s2", fastest(100), 0.01*math.Sqrt(100*d) + 0.03},
		{"0s", "50deg/s2", fastest(50), 0.01*math.Sqrt(50*d) + 0.03},
	} {
		text := strings.Replace(buoy, `over = "1s"
ease = "linear"`, `over = "`+c.over+`"`, 1)
		design, err := model.Read("buoy.prop.toml", []byte(strings.Replace(text, "5000deg/s2", c.accel, 1)))
		require.NoError(t, err)
		tr, err := OfRoutine(design, "ring")
		require.NoError(t, err)
		rows, cell := table(t, tr)
		worst := 0.0
		for r := 10; r < rows; r++ { // the pulse of the first frame, at 200 ms, is that of its end
			worst = max(worst, math.Abs(c.want(0.02*float64(r-9))-num(t, cell("arm [deg]", r))))
		}
		assert.LessOrEqual(t, worst, c.within, "over %s with %s", c.over, c.accel)
	}
}

func rehearse(t *testing.T, script string) (*Trace, error) {
	s, err := rehearsal.ParseScript("s", []byte(script))
	require.NoError(t, err)
	p, _, err := rehearsal.Run(machine.Compile(read(t)), s)
	require.NoError(t, err)
	return Of(p)
}

func TestRehearsal(t *testing.T) {
	tr, err := rehearse(t, "wait 1s\npress ring\nwait 3s\n")
	require.NoError(t, err)
	rows, cell := table(t, tr)
	assert.Equal(t, 201, rows, "4.001 s")
	for r := range rows {
		state, heard := "roost", ""
		switch {
		case r == 0:
			heard = "power-up"
		case r == 51: // the press is at 1001 ms
			heard = "press ring"
		case cell("state", r) == "roost" && cell("state", r-1) == "ringing":
			heard = "done"
			assert.GreaterOrEqual(t, r, 51+60, "the routine takes 1.2 s at least")
		}
		assert.Equal(t, heard, cell("heard", r))
		if r >= 51 && r <= 51+59 {
			state = "ringing"
			assert.Equal(t, state, cell("state", r))
		}
	}
	assert.Equal(t, "roost", cell("state", rows-1))
}

func TestRefusals(t *testing.T) {
	_, err := OfRoutine(read(t), "rin")
	assert.EqualError(t, err, `there is no routine "rin": did you mean "ring"?`)
	_, err = OfRoutine(read(t), "somersault")
	assert.EqualError(t, err, `there is no routine "somersault": the design has ring`)
	_, err = rehearse(t, "wait 61m\n")
	assert.EqualError(t, err, "a trace shows 60m at most, and this takes 61m: make it shorter")
}

// Every routine of the odd designs gives a table and a picture, the same each
// time, whose letters can be read in print and are on the page.
func TestOddDesigns(t *testing.T) {
	for name, d := range odd.Whole(t) {
		for i := range d.Routines {
			var texts [2][]byte
			for k := range texts {
				tr, err := OfRoutine(d, d.Routines[i].Name)
				require.NoError(t, err)
				texts[k], err = tr.SVG()
				require.NoError(t, err)
				table(t, tr)
				p := tr.picture()
				for _, g := range p.Figures {
					for _, s := range g.Shapes {
						requireOnPage(t, p, s, name+" "+d.Routines[i].Name)
					}
				}
			}
			require.True(t, bytes.Equal(texts[0], texts[1]))
			require.True(t, Drawn(texts[0]), "%s", texts[0][:400])
			x := xml.NewDecoder(bytes.NewReader(texts[0]))
			for {
				if _, err := x.Token(); err == io.EOF {
					break
				} else {
					require.NoError(t, err)
				}
			}
		}
	}
}

func requireOnPage(t *testing.T, p *picture.Picture, shape any, where string) {
	switch s := shape.(type) {
	case picture.Words:
		w := picture.Faces{}.Width(s.Text, s.Weight == "bold", float64(s.Size))
		l := float64(s.X)
		switch s.Anchor {
		case "middle":
			l -= w / 2
		case "end":
			l -= w
		}
		require.True(t, l >= 0 && l+w <= p.W && s.Y > 0 && float64(s.Y) <= p.H, "%s: %q is on the page", where, s.Text)
		require.GreaterOrEqual(t, float64(s.Size), 8.0)
	case picture.Path:
		for _, step := range s.D {
			for i := 0; i < len(step.At); i += 2 {
				require.True(t, step.At[i] >= 0 && step.At[i] <= p.W && step.At[i+1] >= 0 && step.At[i+1] <= p.H, "%s: %v is on the page", where, step)
			}
		}
	}
}

// The picture of a routine with a voice shows how loud that is, and what the light follows.
func TestVoiceIsDrawn(t *testing.T) {
	d := odd.Whole(t)["voices"]
	tr, err := OfRoutine(d, "speaks")
	require.NoError(t, err)
	svg, err := tr.SVG()
	require.NoError(t, err)
	assert.Contains(t, string(svg), ">#ff8000, as loud as line<")
	silent := *d
	silent.Tracks = slices.Clone(d.Tracks)
	for i := range silent.Tracks {
		silent.Tracks[i].Loudness = "0000000000"
	}
	other, err := OfRoutine(&silent, "speaks")
	require.NoError(t, err)
	quiet, err := other.SVG()
	require.NoError(t, err)
	lane := func(svg []byte) string {
		_, rest, _ := strings.Cut(string(svg), "<title>line sound</title>")
		before, _, _ := strings.Cut(rest, "</g>")
		return before
	}
	assert.NotEmpty(t, lane(svg))
	assert.NotEqual(t, lane(svg), lane(quiet), "a flat line")
}
