package check_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"propwright/model"
	"propwright/model/check"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// findingsOf are what a rule finds in a lamp post.
func findingsOf(t *testing.T, rule, states string, transitions ...string) (found []check.Finding) {
	t.Helper()
	for _, f := range replay(t, lampPost(t, states, transitions...)) {
		if f.Rule == rule {
			found = append(found, f)
		}
	}
	return found
}

// lampPost is a design with some states,
// "NAME:KIND:ROUTINE" each, and transitions, "FROM | ON | TO" each. A state
// poses the lamp; with ~ at its end it moves the neck instead, with ! it does
// nothing.
func lampPost(t *testing.T, states string, transitions ...string) *model.Design {
	t.Helper()
	var b strings.Builder
	b.WriteString(`format = 1
[prop]
name = "lamp-post"
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
[[remote.button]]
name = "one"
code = "nec:0x04:0x11"
[[output]]
name = "lamp"
kind = "switch"
pin = 4
[[output]]
name = "shade"
kind = "switch"
pin = 5
[[output]]
name = "bell"
kind = "switch"
pin = 6
note = "nothing that needs time to come to rest"
[[output]]
name = "neck"
kind = "servo"
pin = 9
min = "-30deg"
max = "30deg"
rest = "0deg"
us_at_min = 1000
us_at_max = 2000
max_speed = "200deg/s"
max_accel = "1500deg/s2"
[[track]]
name = "ding"
length = "1s"
play = { output = "bell" }
stop = "off"
[[routine]]
name = "turn"
length = "4s"
[[routine.cue]]
at = "0s"
output = "shade"
set = true
[[routine.cue]]
at = "0s"
track = "ding"
[[routine]]
name = "blink"
length = "1ms"
[[routine]]
name = "ever"
length = "1s"
loop = true
[[input]]
name = "tail"
pin = 7
pull = "up"
debounce = "20ms"
[[state]]
name = "rest"
kind = "dormant"
start = true
`)
	for s := range strings.FieldsSeq(states) {
		what, drifts := strings.CutSuffix(s, "~")
		what, idle := strings.CutSuffix(what, "!")
		name, kind, _ := strings.Cut(what, ":")
		kind, plays, _ := strings.Cut(kind, ":")
		fmt.Fprintf(&b, "[[state]]\nname = %q\nkind = %q\n", name, kind)
		switch {
		case drifts:
			b.WriteString("drift = [ { output = \"neck\", between = [\"-10deg\", \"10deg\"], every = \"2s\", over = \"1s\" } ]\n")
		case !idle:
			b.WriteString("pose = { lamp = true }\n")
		}
		if plays != "" {
			fmt.Fprintf(&b, "plays = %q\n", plays)
		}
	}
	for _, tr := range transitions {
		w := strings.Split(tr, " | ")
		fmt.Fprintf(&b, "[[transition]]\nfrom = %q\non = %q\n%s\n", w[0], w[1], w[2])
	}
	d, err := model.Read("lamp-post.prop.toml", []byte(b.String()))
	require.NoError(t, err)
	return d
}

// The prop can be caught in "spin" and "reel" with another state to go back
// to; that is one trap, not two.
func TestTrapIsToldOnce(t *testing.T) {
	found := findingsOf(t, "trap", "watch:ambient wade:ambient spin:performing reel:performing",
		`rest | press wake | to = "watch"`,
		`watch | press wake | to = "wade"`,
		`watch | press one | to = "spin"`,
		`wade | press one | to = "spin"`,
		`spin | after 1s | to = "reel"`,
		`reel | after 1s | to = "spin"`,
		`spin | after 5s | to = "back"`,
		`watch | press sleep | to = "rest"`,
		`wade | press sleep | to = "rest"`,
	)
	require.Len(t, found, 1)
	assert.Equal(t, `from "spin" and "reel" no dormant state can be reached`, found[0].Message)
}

// The same circle, with either state to go back to.
func TestInstantLoopIsToldOnce(t *testing.T) {
	found := findingsOf(t, "instant-loop", "watch:ambient wade:ambient spin:performing reel:performing",
		`rest | press wake | to = "watch"`,
		`watch | press wake | to = "wade"`,
		`watch | press one | to = "spin"`,
		`wade | press one | to = "spin"`,
		`spin | after 0s | to = "reel"`,
		`reel | after 0s | to = "spin"`,
		`spin | after 5s | to = "back"`,
		`any | press sleep | to = "rest"`,
	)
	require.Len(t, found, 1)
	assert.Equal(t, `the prop can go around through "spin" and "reel" in no time`, found[0].Message)
}

// A finding about any ambient state is shown in an ambient state.
func TestAmbiguityIsShownWhereItIs(t *testing.T) {
	found := findingsOf(t, "ambiguous-trigger", "watch:ambient wade:ambient",
		`rest | press wake | to = "watch"`,
		`any ambient | press one | to = "wade"`,
		`any ambient | press one | to = "rest"`,
		`any | press sleep | to = "rest"`,
	)
	require.Len(t, found, 1)
	assert.Equal(t, "watch", found[0].State)
	assert.Equal(t, "[press wake]", fmt.Sprint(found[0].Witness))
}

// What a higher rank decides wherever two transitions contend is in no doubt.
func TestAmbiguityThatNeverCounts(t *testing.T) {
	for _, c := range []struct {
		what, states string
		transitions  []string
		want         int
	}{
		{"a press", "watch:ambient", []string{
			`any | press one | to = "watch"`, `any | press one | to = "rest"`,
			`any dormant | press one | ignore = true`, `watch | press one | ignore = true`,
		}, 0},
		{"in one state it counts", "watch:ambient wade:ambient", []string{
			`any ambient | press one | to = "wade"`, `any ambient | press one | to = "rest"`, `watch | press one | ignore = true`,
		}, 1},
		{"a timer", "watch:ambient", []string{
			`any | after 5s | to = "watch"`, `any | after 5s | to = "rest"`,
			`rest | after 5s | ignore = true`, `watch | after 5000ms | to = "rest"`,
		}, 0},
		{"another timer does not decide", "watch:ambient", []string{
			`any | after 5s | to = "watch"`, `any | after 5s | to = "rest"`,
			`rest | after 5s | ignore = true`, `watch | after 6s | to = "rest"`,
		}, 1},
		{"a routine's end", "watch:performing:turn", []string{
			`any performing | done | to = "watch"`, `any performing | done | to = "back"`, `watch | done | to = "rest"`,
		}, 0},
		{"no state is of the kind", "watch:ambient", []string{
			`any performing | press one | to = "watch"`, `any performing | press one | to = "rest"`,
		}, 0},
	} {
		transitions := append([]string{`rest | press wake | to = "watch"`, `any | press sleep | to = "rest"`}, c.transitions...)
		assert.Len(t, findingsOf(t, "ambiguous-trigger", c.states, transitions...), c.want, c.what)
	}
}

// A routine's end to which nobody answers does not keep a timer waiting.
func TestInstantLoopBesideARoutine(t *testing.T) {
	found := findingsOf(t, "instant-loop", "watch:ambient reel:performing:blink",
		`rest | press wake | to = "watch"`,
		`watch | press one | to = "reel"`,
		`reel | after 0s | to = "reel"`,
		`reel | press one | to = "rest"`+"\ndefer = true",
		`any | press sleep | to = "rest"`,
	)
	require.Len(t, found, 1)
	assert.Equal(t, `the prop can go around through "reel" in no time`, found[0].Message)
}

// Stop that only its release answers is heeded.
func TestStopIsHeededByItsRelease(t *testing.T) {
	assert.Empty(t, findingsOf(t, "no-stop", "watch:ambient",
		`rest | press wake | to = "watch"`,
		`any | release sleep | to = "rest"`,
	))
	found := findingsOf(t, "no-stop", "watch:ambient",
		`rest | press wake | to = "watch"`,
		`any | press sleep | ignore = true`,
		`watch | after 5s | to = "rest"`,
	)
	require.Len(t, found, 1)
	assert.Equal(t, `the stop button "sleep" does nothing in state "watch"`, found[0].Message)
}

// A state that is only ever held by a button whose release leads elsewhere
// never hears stop: the release comes first.
func TestStopIsHeardAfterTheRelease(t *testing.T) {
	transitions := []string{
		`rest | press wake | to = "watch"`,
		`watch | press one | to = "lit"`,
		`lit | release one | to = "watch"`,
		`watch | press sleep | to = "rest"`,
	}
	assert.Empty(t, findingsOf(t, "no-stop", "watch:ambient lit:ambient", transitions...))
	transitions[2] = `watch | release one | ignore = true`
	assert.Len(t, findingsOf(t, "no-stop", "watch:ambient lit:ambient", transitions...), 1)
}

func TestUnfinishedPerformance(t *testing.T) {
	for _, c := range []struct{ state, transition, want string }{
		{"perform:performing", `perform | press one | to = "back"`, `state "perform" is a performance without a routine and without a time`},
		{"perform:performing", `perform | after 2s | to = "back"`, ""},
		{"perform:performing", `perform | done | to = "back"`, `a transition waits for the end of the routine, but state "perform" plays no routine`},
		{"perform:performing:ever", `perform | done | to = "back"`, `a transition waits for the end of the routine, but state "perform" plays "ever", which repeats`},
		{"perform:performing:ever", `perform | press one | to = "back"`, ""},
		{"perform:performing:ever", `perform | done | ignore = true`, ""},
		{"perform:performing:ever", "perform | press one | to = \"back\"\ndefer = true", `a transition waits for the end of the routine, but state "perform" plays "ever", which repeats`},
		{"perform:performing:turn", `perform | press one | to = "back"`, `nothing says what follows when the routine of state "perform" has ended`},
		{"perform:performing:turn", `perform | done | to = "back"`, ""},
		{"perform:performing:turn", `perform | done | ignore = true`, ""},
		{"perform:performing:turn", `perform | after 2s | to = "back"`, ""},
		{"perform:performing", "perform | after 2s | to = \"back\"\ndefer = true", `a transition waits for the end of the routine, but state "perform" plays no routine`},
		{"perform:performing", "any performing | after 2s | to = \"back\"\ndefer = true", `state "perform" is a performance without a routine and without a time`},
		{"perform:performing:turn", "perform | after 3999ms | to = \"back\"\ndefer = true", ""},
		{"perform:performing:turn", "perform | after 4s | to = \"back\"\ndefer = true", `nothing says what follows when the routine of state "perform" has ended`},
		{"perform:performing:turn", "perform | after 1s..9s | to = \"back\"\ndefer = true", `nothing says what follows when the routine of state "perform" has ended`},
		{"perform:ambient:turn", `perform | press one | to = "rest"`, ""},
	} {
		var got string
		for _, f := range findingsOf(t, "unfinished-performance", c.state,
			`rest | press wake | to = "perform"`, c.transition, `any | press sleep | to = "rest"`) {
			got += f.Message
		}
		assert.Equal(t, c.want, got, "%s, %s", c.state, c.transition)
	}
}

// An end that every performance waits for is missed by one that repeats, but
// for those that a hand ends.
func TestUnfinishedPerformanceOfAnyKind(t *testing.T) {
	for _, c := range []struct{ source, more, want string }{
		{"any performing", "", `state "perform" plays "ever", which repeats: the end that "any performing" waits for never comes`},
		{"any", "", `state "perform" plays "ever", which repeats: the end that "any" waits for never comes`},
		{"any performing", `perform | press sleep | to = "rest"`, `state "perform" plays "ever", which repeats: the end that "any performing" waits for never comes`},
		{"any performing", `perform | press one | to = "perform"`, `state "perform" plays "ever", which repeats: the end that "any performing" waits for never comes`},
		{"any performing", `perform | press one | ignore = true`, `state "perform" plays "ever", which repeats: the end that "any performing" waits for never comes`},
		{"any performing", "any performing | press one | to = \"rest\"\ndefer = true", `state "perform" plays "ever", which repeats: the end that "any performing" waits for never comes`},
		{"any performing", `any performing | press one | to = "rest"`, ""},
		{"any performing", `perform | press one | to = "rest"`, ""},
		{"any performing", `any performing | after 30s | to = "rest"`, ""},
		{"any ambient", "", ""},
	} {
		transitions := []string{`rest | press wake | to = "perform"`, c.source + ` | done | to = "rest"`, `any | press sleep | to = "rest"`}
		if c.more != "" {
			transitions = append(transitions, c.more)
		}
		var got string
		for _, f := range findingsOf(t, "unfinished-performance", "perform:performing:ever", transitions...) {
			got += f.Message
		}
		assert.Equal(t, c.want, got, "%s, %s", c.source, c.more)
	}
}

// A timer of any state, or of any of a kind, is a fallback: it is shadowed only
// where no state waits for it long enough.
func TestShadowedFallback(t *testing.T) {
	for _, c := range []struct{ source, wade, want string }{
		{"any ambient", "", ""},
		{"any", "", ""},
		{"any ambient", `wade | after 2s | to = "watch"`, `"after 5s" never comes in states "watch" and "wade": something else always happens before`},
		{"watch", "", `"after 5s" never comes in state "watch": something else always happens before`},
	} {
		transitions := []string{
			`rest | press wake | to = "watch"`, `watch | after 2s | to = "wade"`,
			c.source + ` | after 5s | to = "rest"`, `any | press sleep | to = "rest"`,
		}
		if c.wade != "" {
			transitions = append(transitions, c.wade)
		}
		var got string
		for _, f := range findingsOf(t, "shadowed-timer", "watch:ambient wade:ambient", transitions...) {
			got += f.Message
		}
		assert.Equal(t, c.want, got, "%s, %s", c.source, c.wade)
	}
}

// States that are named mean each of them.
func TestShadowedInOneOfTwoNamed(t *testing.T) {
	d := lampPost(t, "watch:ambient wade:ambient",
		`rest | press wake | to = "watch"`, `watch | after 2s | to = "wade"`,
		`watch | after 5s | to = "rest"`, `any | press sleep | to = "rest"`)
	d.Transitions[2].From = append(d.Transitions[2].From, model.From{State: "wade"})
	found := of(replay(t, d), "shadowed-timer")
	require.Len(t, found, 1)
	assert.Equal(t, `"after 5s" never comes in state "watch": something else always happens before`, found[0].Message)
}

// A stop whose release wakes the prop is none; one that leads to idle life is
// slow.
func TestStopThatWakesOrIdles(t *testing.T) {
	const states = "watch:ambient greet:performing:turn dim:ambient"
	stay := []string{
		`rest | press wake | to = "watch"`,
		`watch | press one | to = "greet"`,
		`greet | done | to = "back"`,
		`any | press sleep | to = "rest"`,
		`dim | after 1s..20s | to = "rest"`,
	}
	for _, c := range []struct{ more, noStop, advice, slowStop string }{
		{`rest | release sleep | to = "watch"`,
			`the stop button "sleep", pressed in state "rest", leads to state "watch" and not to rest; the same is true of "greet"`,
			`the transition on "release sleep" in line LINE wakes the prop again: let it lead to a dormant state, or remove it`, ""},
		{`greet | press sleep | to = "watch"`,
			`the stop button "sleep", pressed in state "greet", leads to state "watch" and not to rest`,
			`let the transition on "press sleep" in line LINE lead to a dormant state`, ""},
		{`greet | press sleep | to = "dim"`, "", "",
			`the stop button "sleep", pressed in state "greet", can take 20s to bring the prop to rest; rest_within asks for 3s`},
	} {
		transitions := append(stay[:5:5], c.more)
		d := lampPost(t, states, transitions...)
		found := findingsOf(t, "no-stop", states, transitions...)
		if c.noStop == "" {
			assert.Empty(t, found, c.more)
		} else if assert.NotEmpty(t, found, c.more) {
			assert.Equal(t, c.noStop, found[0].Message)
			assert.Equal(t, strings.ReplaceAll(c.advice, "LINE", fmt.Sprint(d.Transitions[5].Pos.Line)), found[0].Advice)
		}
		var got string
		for _, f := range findingsOf(t, "slow-stop", states, transitions...) {
			got += f.Message
		}
		assert.Equal(t, c.slowStop, got, c.more)
	}
}

// A deferred stop is heeded only while the end that it waits for is to come.
func TestDeferredStopThatComesTooLate(t *testing.T) {
	deferred := "greet | press sleep | to = \"rest\"\ndefer = true"
	for _, c := range []struct{ routine, done, want string }{
		{"turn", `greet | done | to = "back"`, ""},
		{"turn", `greet | done | ignore = true`, `the stop button "sleep" does nothing in state "greet", once its routine has ended`},
		{"ever", `greet | done | ignore = true`, `the stop button "sleep" does nothing in state "greet"`},
	} {
		var got string
		for _, f := range findingsOf(t, "no-stop", "watch:ambient greet:performing:"+c.routine,
			`rest | press wake | to = "watch"`, `watch | press one | to = "greet"`, `any | press sleep | to = "rest"`,
			`greet | after 10m | to = "rest"`, c.done, deferred) {
			got += f.Message
			assert.Regexp(t, `^let the transition on "press sleep" in line \d+ lead to a dormant state at once, without defer$`, f.Advice)
		}
		assert.Equal(t, c.want, got)
	}
}

// A timer that is the first of its state is shadowed like any other.
func TestShadowedTimer(t *testing.T) {
	for _, c := range []struct{ state, more, want string }{
		{"watch:performing:turn", `watch | done | to = "rest"`, `"after 5s" never comes in state "watch": something else always happens before`},
		{"watch:performing:turn", `watch | done | ignore = true`, ""},
		{"watch:performing:ever", `watch | press one | to = "rest"`, ""},
		{"watch:ambient", `watch | after 4s..5s | to = "watch"`, ""},
		{"watch:ambient", `watch | after 3s..4s | to = "watch"`, `"after 5s" never comes in state "watch": something else always happens before`},
	} {
		var got string
		for _, f := range findingsOf(t, "shadowed-timer", c.state,
			`rest | press wake | to = "watch"`, `watch | after 5s | to = "rest"`, c.more, `any | press sleep | to = "rest"`) {
			got += f.Message
		}
		assert.Equal(t, c.want, got, "%s, %s", c.state, c.more)
	}
}

// A stop that may roam is no-stop's, however slow it is where it does not.
func TestSlowStopLeavesRoamingToNoStop(t *testing.T) {
	transitions := []string{
		`rest | press wake | to = "watch"`,
		`any | press one | to = "greet"`,
		`greet | press sleep | to = "bow"`,
		`any performing | done | to = "back"`, // to rest, or to watch
		`any | press sleep | to = "rest"`,
	}
	states := "watch:ambient greet:performing:turn bow:performing:turn"
	found := findingsOf(t, "no-stop", states, transitions...)
	require.Len(t, found, 1)
	assert.Equal(t, "greet", found[0].State)
	assert.Empty(t, findingsOf(t, "slow-stop", states, transitions...))

	transitions[1] = `rest | press one | to = "greet"`
	found = findingsOf(t, "slow-stop", states, transitions...)
	require.Len(t, found, 1)
	assert.Equal(t, "greet", found[0].State)
}

// That nothing waits for the stop button is no-stop's to say.
func TestUnusedButtonLeavesStopToNoStop(t *testing.T) {
	found := findingsOf(t, "unused-button", "watch:ambient",
		`rest | press wake | to = "watch"`, `watch | after 5s | to = "rest"`)
	require.Len(t, found, 1)
	assert.Equal(t, `no transition names the button "one"`, found[0].Message)
}

// A button of which only the repeats are used is used, and answered.
func TestRepeatUsesButton(t *testing.T) {
	transitions := []string{
		`rest | press wake | to = "watch"`, `any | press sleep | to = "rest"`, `watch | press wake | ignore = true`,
		`any | repeat one | do = { output = "lamp", toggle = true }`,
	}
	assert.Empty(t, findingsOf(t, "unused-button", "watch:ambient", transitions...))
	assert.Empty(t, findingsOf(t, "unhandled-button", "watch:ambient", transitions...))
}

// A state that says nothing about stop is no-stop's, but for a dormant one.
func TestUnhandledButtonLeavesStopToNoStop(t *testing.T) {
	transitions := []string{
		`rest | press wake | to = "watch"`, `any | press wake | ignore = true`, `any | press one | ignore = true`,
		`watch | after 5s | to = "rest"`,
	}
	found := findingsOf(t, "unhandled-button", "watch:ambient", transitions...)
	require.Len(t, found, 1)
	assert.Equal(t, `state "rest" says nothing about "sleep"`, found[0].Message)
	assert.Len(t, findingsOf(t, "no-stop", "watch:ambient", transitions...), 1)
}

// What can never be reached has no more to answer for.
func TestUnreachableStateIsToldOnce(t *testing.T) {
	for _, rule := range []string{"unhandled-button", "shadowed-timer", "dead-end"} {
		assert.Empty(t, findingsOf(t, rule, "watch:ambient lost:ambient",
			`rest | press wake | to = "watch"`,
			`watch | press sleep | to = "rest"`,
			`rest | press sleep | ignore = true`,
			`rest | press one | ignore = true`,
			`watch | press wake | ignore = true`,
			`watch | press one | ignore = true`,
			`lost | after 2s | to = "lost"`,
			`lost | after 3s | to = "lost"`,
		), rule)
	}
}

func TestSilentState(t *testing.T) {
	for state, want := range map[string]int{
		"watch:ambient": 0, "watch:ambient~": 0, "watch:ambient:turn!": 0, // and rest, which is dormant
		"watch:ambient!": 1, "watch:performing!": 1, "watch:ambient:blink!": 1, // which has no cue
	} {
		assert.Len(t, findingsOf(t, "silent-state", state,
			`rest | press wake | to = "watch"`, `any | press sleep | to = "rest"`), want, state)
	}
}

func TestUnusedOutput(t *testing.T) {
	assert.Empty(t, findingsOf(t, "unused-output", "watch:ambient moves:ambient~")) // pose, drift, cue and track
	var got []string
	for _, f := range findingsOf(t, "unused-output", "watch:ambient!") {
		got = append(got, f.Message)
	}
	assert.Equal(t, []string{`no cue, pose, drift or order uses the output "lamp"`, `no cue, pose, drift or order uses the output "neck"`}, got)
}

// Trigger pins of a sound board that start nothing are one finding, by their tracks.
func TestUnusedTracksOfASoundBoard(t *testing.T) {
	text, err := os.ReadFile("../designs/odd/sound-boards.prop.toml")
	require.NoError(t, err)
	d, err := model.Read("boards.prop.toml", []byte(strings.Replace(string(text), "pins = [4, 5]", "pins = [4, 5, 9, 10]", 1)))
	require.NoError(t, err)
	found := of(replay(t, d), "unused-output")
	require.Len(t, found, 1)
	assert.Equal(t, `nothing plays tracks 3 and 4 of the sound board "dog"`, found[0].Message)
	assert.Equal(t, 39, found[0].Pos.Line)
}

// A routine and a drift may go on together, each with outputs of its own.
func TestOutputContest(t *testing.T) {
	assert.Empty(t, findingsOf(t, "output-contest", "watch:ambient:turn~",
		`rest | press wake | to = "watch"`, `any | press sleep | to = "rest"`))
}

func TestPinClashOfAnInput(t *testing.T) {
	d := lampPost(t, "watch:ambient", `rest | press wake | to = "watch"`, `any | press sleep | to = "rest"`)
	for pin, want := range map[int]string{
		9:  `the output "neck" and the input "door" (line 1) use the same pin 9`,
		10: "",
	} {
		d.Inputs = []model.Input{{Source: model.Source{Pos: model.Pos{Line: 1, Column: 1}}, Name: "door", Pin: pin}}
		found, err := check.NewStudy(d).Check(check.Rules())
		require.NoError(t, err)
		var got string
		for _, f := range found {
			if f.Rule == "pin-clash" {
				got += f.Message
			}
		}
		assert.Equal(t, want, got)
	}
}

// It speaks of presses only, and once.
func TestTogglePressIsToldOnce(t *testing.T) {
	for on, want := range map[string]int{"press": 1, "hold": 0} {
		sleep, wake := "press sleep", "press wake"
		if on == "hold" {
			sleep, wake = "hold sleep for 1s", "hold wake for 1s"
		}
		d := lampPost(t, "watch:ambient", "rest | "+wake+` | to = "watch"`, "any | "+sleep+` | to = "rest"`)
		for i, code := range []string{"rc5:0x05:0x01", "rc5:0x05:0x02", "rc5:0x05:0x03"} {
			d.Remote.Buttons[i].Code = code
		}
		found, err := check.NewStudy(d).Check(check.Rules())
		require.NoError(t, err)
		assert.Len(t, of(found, "toggle-press"), want, on)
	}
}

// A button whose code the remote sends once a press cannot be held.
func TestNothingComesOfAHoldWithoutRepeat(t *testing.T) {
	d := read(t, "hold-without-repeat")
	d.States = append(d.States, model.State{Name: "held", Kind: model.Ambient, Pose: d.States[1].Pose})
	for i := range d.Transitions {
		if on := d.Transitions[i].On[0]; on.Kind == model.Hold {
			d.Transitions[i].To = "held"
		}
	}
	var unreachable []string
	for _, f := range replay(t, d) {
		if f.Rule == "unreachable-state" {
			unreachable = append(unreachable, f.State)
		}
	}
	assert.Equal(t, []string{"held"}, unreachable)
}

// Of two timers that are due in one step, the one that is not first in file order
// comes a step later where the first is deferred, and a third one after that
// (rule 8). Times are from the press to the state asked for.
func TestTimersInTurn(t *testing.T) {
	for _, c := range []struct {
		what        string
		transitions []string
		within      string
		want        string
	}{
		{"another is due", []string{"greet | after 6ms | to = \"watch\"\ndefer = true", `greet | after 2ms..6ms | to = "wade"`}, "6ms", "7ms"},
		{"it is due in time to the millisecond", []string{"greet | after 6ms | to = \"watch\"\ndefer = true", `greet | after 2ms..5ms | to = "wade"`}, "5ms", ""},
		{"it is first in file order", []string{`greet | after 2ms..6ms | to = "wade"`, "greet | after 6ms | to = \"watch\"\ndefer = true"}, "6ms", ""},
		{"two others are due", []string{"greet | after 5ms..6ms | to = \"watch\"\ndefer = true",
			"greet | after 6ms | to = \"watch\"\ndefer = true", `greet | after 2ms..6ms | to = "wade"`}, "7ms", "8ms"},
		{"at once", []string{"greet | after 0s..1ms | to = \"watch\"\ndefer = true", `greet | after 1ms | to = "wade"`}, "1ms", "2ms"},
	} {
		d := lampPost(t, "watch:ambient wade:ambient greet:performing:turn", append([]string{
			`rest | press one | to = "greet"`, `any | press sleep | to = "rest"`, `greet | done | to = "rest"`,
		}, c.transitions...)...)
		d.Requires = []model.Require{{That: "wade within " + c.within + " after press one"}}
		var got []string
		for _, f := range replay(t, d) {
			if f.Rule == "requirement" {
				got = append(got, f.Message)
				assert.NotEmpty(t, f.Witness, c.what)
			}
		}
		var want []string
		if c.want != "" {
			want = []string{`"wade within ` + c.within + ` after press one" is broken: "press one", in state "rest", can take ` + c.want + ` to lead to "wade"`}
		}
		assert.Equal(t, want, got, c.what)
	}
}

// One frame brings both holds: the prop is in "watch" between the two (rule 8), for
// no time.
func TestStatesPassedInOneStep(t *testing.T) {
	d := lampPost(t, "watch:ambient wade:ambient",
		`rest | hold one for 60ms | to = "watch"`, `watch | hold one for 100ms | to = "wade"`, `any | press sleep | to = "rest"`)
	d.Requires = []model.Require{{That: "reachable watch"}}
	for _, f := range replay(t, d) {
		assert.NotContains(t, []string{"unreachable-state", "dead-end", "requirement", "trap"}, f.Rule, f.Message)
	}
}

// An input that is active must become inactive before it becomes active again.
func TestInputsAlternate(t *testing.T) {
	for _, c := range []struct {
		what        string
		transitions []string
		unreachable []string
	}{
		{"a second rise needs a fall, which leads elsewhere",
			[]string{`rest | rise tail | to = "watch"`, `watch | rise tail | to = "wade"`, `watch | fall tail | to = "rest"`}, []string{"wade"}},
		{"the fall may come where nothing is said of it",
			[]string{`rest | rise tail | to = "watch"`, `watch | rise tail | to = "wade"`, `wade | fall tail | to = "rest"`}, nil},
		{"nobody waits for the fall",
			[]string{`rest | rise tail | to = "watch"`, `watch | rise tail | to = "wade"`}, nil},
		{"at power-up it is either",
			[]string{`rest | fall tail | to = "watch"`, `rest | rise tail | to = "wade"`}, nil},
	} {
		var got []string
		for _, f := range findingsOf(t, "unreachable-state", "watch:ambient wade:ambient", append(c.transitions, `any | press sleep | to = "rest"`)...) {
			got = append(got, f.State)
		}
		assert.Equal(t, c.unreachable, got, c.what)
	}
}
