package rehearsal_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/machine"
	"propwright/model/random"
	"propwright/model/rehearsal"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const lark = `format = 1
[prop]
name = "lark"
board = "atmega328p"
[remote]
pin = 2
stop = "sleep"
[[remote.button]]
name = "sleep"
code = "nec:0x04:0x08"
[[remote.button]]
name = "wake"
code = "nec:0x04:0x18"
[[input]]
name = "perch"
pin = 7
[[output]]
name = "beak"
kind = "servo"
pin = 9
min = "-30deg"
max = "40deg"
us_at_min = 1200
us_at_max = 1900
[[output]]
name = "voice"
kind = "message"
pin = 1
baud = 9600
[[output.message]]
name = "trill"
bytes = "7E 01"
[[output]]
name = "lamp"
kind = "switch"
pin = 8
[[output]]
name = "eyes"
kind = "pixels"
pin = 6
count = 4
[[routine]]
name = "sing"
[[routine.cue]]
at = "0s"
output = "beak"
to = "40deg"
over = "400ms"
[[routine.cue]]
at = "500ms"
output = "voice"
send = "trill"
[[routine.cue]]
at = "1s"
output = "lamp"
set = true
[[state]]
name = "roost"
kind = "dormant"
pose = { beak = "0deg", eyes = "#000000" }
[[state]]
name = "watch"
kind = "ambient"
pose = { eyes = "#0000ff" }
drift = [{ output = "beak", between = ["-20deg", "20deg"], every = "500ms..1s", over = "200ms" }]
[[state]]
name = "sing"
kind = "performing"
plays = "sing"
[[transition]]
from = "any"
on = "press sleep"
to = "roost"
[[transition]]
from = "sing"
on = "press sleep"
to = "roost"
defer = true
[[transition]]
from = "roost"
on = ["press wake", "rise perch"]
to = "watch"
[[transition]]
from = "watch"
on = "hold wake for 800ms"
to = "sing"
[[transition]]
from = "sing"
on = "done"
to = "back"
[[transition]]
from = "watch"
on = "after 20s"
to = "roost"
`

func read(t testing.TB, text string) *model.Design {
	d, err := model.Read("lark.prop.toml", []byte(text))
	require.NoError(t, err)
	return d
}

func parse(t testing.TB, text string) *rehearsal.Script {
	s, err := rehearsal.ParseScript("lark.song.rehearsal.txt", []byte(text))
	require.NoError(t, err)
	return s
}

func TestRunTellsWhenAndWhy(t *testing.T) {
	s := parse(t, `# The lark sings.
expect roost
press wake          # frame at 1 ms
expect watch
hold wake for 900ms # frames end at 2 ms, 54 ms, 162 ms, …: 810 ms is 808 ms after the first
expect sing
press sleep
wait 2s
expect roost
rise perch
wait 25s
expect roost
`)
	p, misses, err := rehearsal.Run(machine.Compile(read(t, lark)), s)
	require.NoError(t, err)
	stops := p.Stops()
	require.Empty(t, misses)
	// The ten rules by hand: a NEC frame takes 67.5 ms and its repeat 11.8, so
	// the first repeat ends 52 ms after the frame does and the others 108 ms
	// apart. Hold fires at the eighth repeat, 2+52+7×108 = 810 ms; the hold ends
	// at the ninth, 918 ms, so sleep is pressed at 919 ms; sing takes 1 s; perch
	// rises at 919+2000+1 ms, and 20 s later it is roost again.
	require.Equal(t, []rehearsal.Stop{
		{AtMS: 0, State: "roost", Cause: "power-up"},
		{AtMS: 1, State: "watch", Cause: "press wake"},
		{AtMS: 810, State: "sing", Cause: "hold wake for 800ms"},
		{AtMS: 1810, State: "roost", Cause: "deferred press sleep"},
		{AtMS: 2920, State: "watch", Cause: "rise perch"},
		{AtMS: 22920, State: "roost", Cause: "after 20s"},
	}, stops)
}

func TestRunTellsEveryMiss(t *testing.T) {
	s := parse(t, "press wake\nexpect roost\nexpect watch\nwait 20s\n  expect sing\n")
	_, misses, err := rehearsal.Run(machine.Compile(read(t, lark)), s)
	require.NoError(t, err)
	require.Len(t, misses, 2)
	require.EqualError(t, misses[0], "lark.song.rehearsal.txt:2:1: after 1 ms the prop is in watch, not in roost")
	require.EqualError(t, misses[1], "lark.song.rehearsal.txt:5:3: after 20001 ms the prop is in roost, not in sing")
}

func TestScriptFaults(t *testing.T) {
	for _, c := range []struct{ text, fault string }{
		{"press wake\npres wake", `s:2:1: unknown act "pres"; write "press wake"`},
		{"Hold wake for 2s", `s:1:1: unknown act "Hold"; write "hold wake for 2s"`},
		{"release wake", `s:1:1: unknown act "release"; write "let go wake"`},
		{"expct watch", `s:1:1: unknown act "expct"; write "expect watch"`},
		{"dance", `s:1:1: unknown act "dance"; an act begins with press, hold, let go, rise, fall, event or wait`},
		{"  expect", `s:1:3: "expect" is not complete or has a word too many; write for example "expect watch"`},
		{"wait 20", `s:1:1: "20" has no unit; write "20ms", "20s", "20m" or "20us"`},
		{"press\x00", "s: this is not a text file: it has a zero byte; name a script of acts such as `press wake` and `wait 20s`, one a line"},
	} {
		_, err := rehearsal.ParseScript("s", []byte(c.text))
		require.EqualError(t, err, c.fault, "%q", c.text)
	}
	for _, c := range []struct{ text, fault string }{
		{"expect wacth", `lark.song.rehearsal.txt:1:1: there is no state "wacth"; write "watch"`},
		{"wait 1s\npress five", `lark.song.rehearsal.txt:2:1: there is no button "five"; there are sleep, wake`},
		{"rise tail", `lark.song.rehearsal.txt:1:1: there is no input "tail"; there are perch`},
		{"let go wake", `lark.song.rehearsal.txt:1:1: let go wake: "wake" is not held; write "hold wake" before`},
	} {
		_, _, err := rehearsal.Run(machine.Compile(read(t, lark)), parse(t, c.text))
		require.EqualError(t, err, c.fault, "%q", c.text)
	}
}

func TestUnfinishedDesignIsNotRehearsed(t *testing.T) {
	d := read(t, lark)
	d.States = d.States[1:]
	require.PanicsWithValue(t, "machine: the design was not read: no state is the one to start in", func() { rehearsal.New(machine.Compile(d)) })
	_, err := model.Read(d.File, d.Format())
	var faults model.Faults
	require.ErrorAs(t, err, &faults, "who rehearses a draft reads it first")
}

func do(t testing.TB, p *rehearsal.Player, acts ...string) {
	for _, s := range acts {
		a, err := machine.ParseAct(s)
		require.NoError(t, err)
		require.NoError(t, p.Do(a))
	}
}

func TestPlayerShowsTheOutputs(t *testing.T) {
	p := rehearsal.New(machine.Compile(read(t, lark)))
	do(t, p, "press wake")
	require.Equal(t, 255.0, p.Stage().Pixel("eyes", 3, p.Now())[2].Lo)
	p.Advance(10 * time.Second)
	beak := p.Stage().Value("beak", p.Now())
	require.True(t, beak.Exact() && beak.Lo >= -20 && beak.Lo <= 20, "%v", beak)
	do(t, p, "hold wake")
	p.Advance(808 * time.Millisecond)
	require.Equal(t, "sing", p.State())
	require.Equal(t, "watch", p.Back())
	down, ok := p.Down()
	require.True(t, ok)
	require.Equal(t, "wake", down)
	from := p.Stage().Value("beak", p.Now()).Lo
	do(t, p, "let go wake", "press sleep")
	require.Equal(t, "roost", p.Deferred())
	p.Advance(199 * time.Millisecond)                                          // half of the move: a smooth one is half way
	require.InDelta(t, (from+40)/2, p.Stage().Value("beak", p.Now()).Lo, 0.05) // half a microsecond
	require.False(t, p.Stage().Active("lamp", p.Now()))
	require.Empty(t, p.Stage().Sent("voice", p.Now()))
	p.Advance(300 * time.Millisecond)
	require.InDelta(t, 40, p.Stage().Value("beak", p.Now()).Lo, 1e-9)
	require.InDelta(t, 1900, p.Stage().Us("beak", p.Now()).Lo, 1e-6) // us_at_max
	require.Equal(t, []byte{0x7e, 1}, p.Stage().Sent("voice", p.Now())[0].Bytes)
	for p.State() == "sing" {
		require.True(t, p.Step()) // the release of wake, then the routine's end
	}
	require.Equal(t, "roost", p.State())
	require.Zero(t, p.Since())
	require.Empty(t, p.Deferred())
}

func TestPlayerStepsToWhatHappensNext(t *testing.T) {
	p := rehearsal.New(machine.Compile(read(t, lark)))
	require.False(t, p.Step(), "a dormant prop without a timer waits for ever")
	require.Zero(t, p.Now())
	do(t, p, "press wake")
	require.Equal(t, []rehearsal.Deadline{{Trigger: p.Design().Transitions[5].On[0], Left: 20 * time.Second}}, p.Deadlines())
	require.True(t, p.Step()) // 3.5 repeat periods after the frame the press is over
	require.Equal(t, 379*time.Millisecond, p.Now())
	_, down := p.Down()
	require.False(t, down)
	require.True(t, p.Step())
	require.Equal(t, 20001*time.Millisecond, p.Now())
	require.Equal(t, "roost", p.State())
	log := p.Log()
	require.Equal(t, rehearsal.Event{
		At: 20001 * time.Millisecond, Cause: "after 20s", Outcome: machine.Entered, From: "watch", State: "roost", Transition: 5,
	}, log[len(log)-1])
}

// What was done by hand can be played again from its script, and is the same
// through a file.
func TestScriptPlaysWhatWasDone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := random.Design(t)
		p := rehearsal.New(machine.Compile(d))
		held := ""
		for range rapid.IntRange(0, 20).Draw(t, "acts") {
			a := machine.Act{Kind: rapid.SampledFrom([]machine.ActKind{
				machine.ActPress, machine.ActHold, machine.ActLetGo, machine.ActRise, machine.ActFall, machine.ActWait, machine.ActWait,
			}).Draw(t, "act")}
			switch a.Kind {
			case machine.ActWait:
				a.For = time.Duration(rapid.IntRange(0, 5000).Draw(t, "wait")) * time.Millisecond
				if rapid.Bool().Draw(t, "by the clock") {
					p.Advance(a.For)
					continue
				}
			case machine.ActRise, machine.ActFall:
				if len(d.Inputs) == 0 {
					continue
				}
				a.Name = rapid.SampledFrom(d.Inputs).Draw(t, "input").Name
			case machine.ActLetGo:
				if held == "" {
					continue
				}
				a.Name, held = held, ""
			default:
				a.Name = rapid.SampledFrom(d.Remote.Buttons).Draw(t, "button").Name
				held = ""
				if a.Kind == machine.ActHold && rapid.Bool().Draw(t, "for ever") {
					held = a.Name
				} else if a.Kind == machine.ActHold {
					a.For = time.Duration(rapid.IntRange(1, 2000).Draw(t, "for")) * time.Millisecond
				}
			}
			require.NoError(t, p.Do(a), "%s", a)
		}
		p.Expect()
		text := p.Script().Format("what was done\nby hand")
		s, err := rehearsal.ParseScript("s", text)
		require.NoError(t, err, "%s", text)
		again, misses, err := rehearsal.Run(machine.Compile(d), s)
		require.NoError(t, err)
		require.Empty(t, misses)
		require.Equal(t, p.Stops(), again.Stops())
	})
}

func TestScriptsBesideADesign(t *testing.T) {
	dir := t.TempDir()
	design := filepath.Join(dir, "lark.prop.toml")
	write := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666))
	}
	write("lark.song.rehearsal.txt", "press wake\n")
	write("lark.evening.rehearsal.txt", "wait 20s\n")
	write("larkspur.song.rehearsal.txt", "press wake\n")
	write("lark.rehearsal.txt", "press wake\n")
	scripts, err := rehearsal.Beside(design)
	require.NoError(t, err)
	require.Len(t, scripts, 2)
	require.Equal(t, "evening", scripts[0].Title(design))
	require.Equal(t, "song", scripts[1].Title(design))
	require.Equal(t, rehearsal.File(design, "song"), scripts[1].File)

	write("lark.bad.rehearsal.txt", "dance\n")
	scripts, err = rehearsal.Beside(design)
	require.ErrorContains(t, err, `lark.bad.rehearsal.txt:1:1: unknown act "dance"`)
	require.Len(t, scripts, 2)
}
