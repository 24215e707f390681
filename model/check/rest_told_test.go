package check_test

import (
	"slices"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/check"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestNeverRests(t *testing.T) {
	still := func(s string) string { return `left alone in state "` + s + `", the prop never goes to rest` }
	around := func(s string) string {
		return `left alone, the prop can go on and on through ` + s + ` and never go to rest`
	}
	for _, c := range []struct {
		what, states string
		transitions  []string
		want         []string
	}{
		{"nothing happens by itself", "watch:ambient", nil, []string{still("watch")}},
		{"a timer leads to rest", "watch:ambient", []string{`watch | after 5s | to = "rest"`}, nil},
		{"a state enters itself", "watch:ambient", []string{`watch | after 5s | to = "watch"`}, []string{around(`"watch"`)}},
		{"chance can keep it going", "watch:ambient wade:ambient", []string{
			`watch | after 5s..9s | to = "wade"`, `watch | after 7s | to = "rest"`, `wade | after 1s | to = "watch"`,
		}, []string{around(`"watch" and "wade"`)}},
		{"it wakes by itself, and rests again", "watch:ambient", []string{
			`rest | after 5s | to = "watch"`, `watch | after 5s | to = "rest"`,
		}, nil},
		{"a show without end, begun from two states", "watch:ambient wade:ambient perform:performing:ever", []string{
			`any ambient | after 5s | to = "rest"`, `watch | press wake | to = "wade"`,
			`any ambient | press one | to = "perform"`, `perform | press one | to = "back"`,
		}, []string{still("perform")}},
		{"a circle, begun from two states", "watch:ambient wade:ambient spin:performing reel:performing", []string{
			`any ambient | after 5s | to = "rest"`, `watch | press wake | to = "wade"`,
			`any ambient | press one | to = "spin"`, `spin | press one | to = "back"`,
			`spin | after 2s | to = "reel"`, `reel | after 2s | to = "spin"`,
		}, []string{around(`"spin" and "reel"`)}},
		// What errors speak of.
		{"dead end", "watch:ambient", []string{`watch | press sleep | ignore = true`}, nil},
		{"trap", "watch:ambient wade:ambient", []string{
			`watch | press sleep | ignore = true`, `wade | press sleep | ignore = true`,
			`watch | after 5s | to = "wade"`, `wade | after 5s | to = "watch"`,
		}, nil},
		{"performance without an end", "watch:performing", []string{`watch | press one | to = "rest"`}, nil},
		{"instant loop", "watch:ambient wade:ambient", []string{
			`watch | after 0s | to = "wade"`, `wade | after 0s | to = "watch"`,
		}, nil},
		{"a dormant state that is left at once", "nest:dormant watch:ambient", []string{
			`nest | after 0s | to = "watch"`, `watch | after 5s | to = "nest"`,
		}, []string{around(`"nest" and "watch"`)}},
		{"a dormant state that may be left at once", "nest:dormant watch:ambient", []string{
			`nest | after 0s..1m | to = "watch"`, `watch | after 5s | to = "nest"`,
		}, []string{around(`"nest" and "watch"`)}},
	} {
		transitions := append([]string{`rest | press wake | to = "watch"`, `any | press sleep | to = "rest"`}, c.transitions...)
		var got []string
		for _, f := range findingsOf(t, "never-rests", c.states, transitions...) {
			assert.True(t, f.Claim.Alone && (f.Claim.Still || f.Claim.Lap > 0), c.what)
			got = append(got, f.Message)
		}
		assert.Equal(t, c.want, got, c.what)
	}
}

func TestSlowStop(t *testing.T) {
	for _, c := range []struct {
		what, states string
		transitions  []string
		want         string // the time
	}{
		{"at once", "watch:ambient", []string{`any | press sleep | to = "rest"`}, ""},
		{"in time to the millisecond", "watch:ambient pause:ambient", []string{
			`watch | press sleep | to = "pause"`, `pause | press sleep | to = "rest"`, `pause | after 3s | to = "rest"`,
		}, ""},
		{"a millisecond late", "watch:ambient pause:ambient", []string{
			`watch | press sleep | to = "pause"`, `pause | press sleep | to = "rest"`, `pause | after 3001ms | to = "rest"`,
		}, "3.001s"},
		{"a timer drawn late", "watch:ambient pause:ambient", []string{
			`watch | press sleep | to = "pause"`, `pause | press sleep | to = "rest"`, `pause | after 1s..4s | to = "rest"`,
		}, "4s"},
		{"the routine just begun", "watch:performing:turn", []string{
			"watch | press sleep | to = \"rest\"\ndefer = true", `watch | done | to = "rest"`,
		}, "3.999s"},
		{"one pause after the other", "watch:ambient pause:ambient wait:ambient", []string{
			`watch | press sleep | to = "pause"`, `pause | press sleep | to = "rest"`, `wait | press sleep | to = "rest"`,
			`pause | after 1s..2s | to = "wait"`, `wait | after 1s..2s | to = "rest"`,
		}, "4s"},
		{"the button let go", "watch:ambient pause:ambient", []string{
			`watch | press sleep | to = "pause"`, `pause | press sleep | to = "rest"`,
			`pause | release sleep | to = "rest"`, `pause | after 9s | to = "rest"`,
		}, ""},
		{"not woken by the button let go, which a timer has done before", "nest:dormant watch:ambient", []string{
			`any | press sleep | to = "nest"`, `nest | after 100ms | to = "watch"`, `watch | release sleep | to = "watch"`,
		}, ""},
		// What no-stop speaks of.
		{"woken by the button let go", "nest:dormant watch:ambient", []string{
			`any | press sleep | to = "nest"`, `nest | after 100ms | to = "rest"`, `rest | release sleep | to = "watch"`,
		}, ""},
		{"deaf", "watch:ambient", []string{`watch | after 9s | to = "rest"`}, ""},
		{"it need not rest", "watch:ambient pause:ambient", []string{
			`watch | press sleep | to = "pause"`, `pause | press sleep | to = "rest"`,
			`pause | after 4s..9s | to = "pause"`, `pause | after 5s..9s | to = "rest"`,
		}, ""},
	} {
		found := findingsOf(t, "slow-stop", c.states, append([]string{`rest | press wake | to = "watch"`}, c.transitions...)...)
		if c.want == "" {
			assert.Empty(t, found, c.what)
			continue
		}
		if assert.Len(t, found, 1, c.what) {
			assert.Equal(t, `the stop button "sleep", pressed in state "watch", can take `+c.want+` to bring the prop to rest; rest_within asks for 3s`, found[0].Message, c.what)
			assert.Equal(t, c.want, model.FormatDuration(found[0].Claim.Took), c.what)
		}
	}
}

// A sound that goes on when all else rests is named.
func TestSlowStopNamesTheSound(t *testing.T) {
	d := read(t, "unsilenced-sound")
	d.Prop.RestWithin = 2 * time.Second
	slow := func() (all []string) {
		found, err := check.NewStudy(d).Check(check.Rules())
		require.NoError(t, err)
		for _, f := range found {
			if f.Rule == "slow-stop" {
				all = append(all, f.Message+": "+f.Advice)
			}
		}
		return all
	}
	assert.Equal(t, []string{`the stop button "sleep", pressed in state "rest", can take 2.6s to bring the prop to rest, as nothing silences the track "call"; ` +
		`rest_within asks for 2s; the same is true of "watch" and "greet": give the track "call" a stop, or say a longer rest_within`}, slow())

	// The pulse at the lamp's output takes longer than the sound.
	o := d.Output("lamp")
	o.Kind, o.Hold = model.KindPulse, 5*time.Second
	d.Routines[0].Cues[0].Action = model.Action{Fire: true}
	d.States[1].Pose = nil
	if all := slow(); assert.Len(t, all, 1) {
		assert.NotContains(t, all[0], "silences")
	}
}

// An output that comes to rest last is named, with what would make it faster.
func TestSlowStopNamesTheOutput(t *testing.T) {
	for _, c := range []struct {
		over     time.Duration
		maxSpeed model.DegPerS
		want     string
	}{
		{0, 0, ""}, // it rests at once
		{3 * time.Second, 0, `output "neck" may need that long; rest_within asks for 2s: shorten over in state "rest", or say a longer rest_within`},
		{0, 5, `output "neck" may need that long; rest_within asks for 2s: give "neck" a higher max_speed and max_accel, if its mechanism stands that, or say a longer rest_within`},
		{3 * time.Second, 5, `shorten over in state "rest", or give "neck" a higher max_speed`},
	} {
		d := lampPost(t, "watch:ambient", `rest | press wake | to = "watch"`, `watch | after 5m | to = "rest"`)
		d.Prop.RestWithin = 2 * time.Second
		neck := d.Output("neck")
		neck.MaxSpeed, neck.MaxAccel = c.maxSpeed, 0
		i := slices.IndexFunc(d.States, func(s model.State) bool { return s.Name == "rest" })
		d.States[i].Over = c.over
		d.States[slices.IndexFunc(d.States, func(s model.State) bool { return s.Name == "watch" })].Pose = []model.Pose{{Output: "neck", Action: model.Action{To: 30}}}
		found, err := check.NewStudy(d).Check(check.Rules())
		require.NoError(t, err)
		told := ""
		for _, f := range found {
			if f.Rule == "slow-stop" {
				told += f.Message + ": " + f.Advice
			}
		}
		if c.want == "" {
			assert.Empty(t, told)
		}
		assert.Contains(t, told, c.want)
	}
}

// A stop that one state's own rest makes slow is one finding, which names the states; what
// comes before it in one of them is another.
func TestSlowStopOfOneCause(t *testing.T) {
	d := lampPost(t, "watch:ambient nod:ambient bow:ambient dim:ambient", `rest | press wake | to = "watch"`, `watch | press one | to = "bow"`,
		`bow | press one | to = "nod"`, `any | press sleep | to = "rest"`, `nod | press sleep | to = "dim"`, `dim | after 2s | to = "rest"`)
	state := func(name string) *model.State {
		return &d.States[slices.IndexFunc(d.States, func(s model.State) bool { return s.Name == name })]
	}
	state("rest").Over = 4 * time.Second
	state("watch").Pose = []model.Pose{{Output: "neck", Action: model.Action{To: 30}}}
	found, err := check.NewStudy(d).Check(check.Rules())
	require.NoError(t, err)
	var slow check.Findings
	for _, f := range found {
		if f.Rule == "slow-stop" {
			slow = append(slow, f)
		}
	}
	require.Len(t, slow, 2)
	assert.Equal(t, []string{"rest", "watch", "bow", "dim"}, slow[0].States)
	assert.Equal(t, "nod", slow[1].State)
	assert.Empty(t, slow[1].States)
	assert.Contains(t, slow[0].Message, `as the output "neck" may need that long; rest_within asks for 3s; the same is true of `)
}

// A design that does not say how fast it is to rest is not slow.
func TestSlowStopIsAskedFor(t *testing.T) {
	d := read(t, "slow-stop")
	d.Prop.RestWithin = 0
	found, err := check.NewStudy(d).Check(check.Rules())
	require.NoError(t, err)
	assert.Empty(t, found)
}

// The stop button's release counts from the last frame of a tap, 378 ms.
func TestStopByItsRelease(t *testing.T) {
	for _, c := range []struct {
		transitions []string
		want        time.Duration
	}{
		{[]string{`watch | release sleep | to = "rest"`}, 378 * time.Millisecond},
		{[]string{`watch | release sleep | to = "pause"`, `pause | after 1s | to = "rest"`}, 1378 * time.Millisecond},
		{[]string{`watch | after 100ms..150ms | to = "rest"`, `watch | release sleep | ignore = true`}, 149 * time.Millisecond},
		{[]string{`watch | press sleep | to = "pause"`, `pause | after 100ms | to = "rest"`, `pause | release sleep | to = "watch"`}, 100 * time.Millisecond},
		{[]string{`watch | press one | to = "perform"`, "perform | release sleep | to = \"rest\"\ndefer = true",
			`perform | done | to = "rest"`, `watch | after 1s | to = "rest"`}, 3999 * time.Millisecond},
		// Each press of stop wakes the prop for five minutes.
		{[]string{`any | press sleep | to = "nest"`, `nest | after 100ms | to = "rest"`, `rest | release sleep | to = "watch"`,
			`watch | after 5m | to = "nest"`}, 5*time.Minute + 378*time.Millisecond},
		// From one state of rest to another is no way out of rest.
		{[]string{`any | press sleep | to = "nest"`, `nest | after 100ms | to = "rest"`, `rest | release sleep | to = "nest"`}, 0},
	} {
		d := lampPost(t, "watch:ambient pause:ambient nest:dormant perform:performing:turn", append([]string{`rest | press wake | to = "watch"`}, c.transitions...)...)
		times, err := check.NewStudy(d).Rest()
		require.NoError(t, err)
		assert.True(t, times.Stops, "%v", c.transitions)
		assert.Equal(t, c.want, times.Stop, "%v", c.transitions)
	}
}

// One line that ignores stop in two states, or leads them astray, is one finding.
func TestNoStopByOneLine(t *testing.T) {
	for wrong, want := range map[string]string{
		`any ambient | press sleep | ignore = true`: `the stop button "sleep" does nothing in state "watch"; the same is true of "wade"`,
		`any ambient | press sleep | to = "dim"`:    `the stop button "sleep", pressed in state "watch", leads to state "dim" and not to rest; the same is true of "wade"`,
	} {
		found := findingsOf(t, "no-stop", "watch:ambient wade:ambient dim:performing:turn",
			`rest | press wake | to = "watch"`, `watch | after 2s | to = "wade"`, `wade | after 2s | to = "rest"`,
			`dim | press wake | to = "rest"`, `dim | done | ignore = true`, `any | press sleep | to = "rest"`, `dim | press sleep | ignore = true`, wrong)
		require.NotEmpty(t, found, wrong)
		assert.Equal(t, want, found[0].Message)
		assert.Contains(t, found[0].Advice, "the transition on \"press sleep\" in line")
	}
}

func TestNoStop(t *testing.T) {
	leads := func(from, to string) string {
		return `the stop button "sleep", pressed in state "` + from + `", leads to state "` + to + `" and not to rest`
	}
	for _, c := range []struct {
		what, states string
		transitions  []string
		want         []string
	}{
		{"a dormant state that is left at once", "nest:dormant watch:ambient", []string{
			`any | press sleep | to = "nest"`, `nest | after 0s | to = "watch"`,
		}, []string{leads("rest", "watch"), `the stop button "sleep" does not lead out of state "watch"`}},
		{"a dormant state that is left after a while", "nest:dormant watch:ambient", []string{
			`any | press sleep | to = "nest"`, `nest | after 5m | to = "watch"`,
		}, nil},
		{"woken by the button let go, once a timer has led on", "nest:dormant watch:ambient", []string{
			`any | press sleep | to = "nest"`, `nest | after 100ms | to = "rest"`, `rest | release sleep | to = "watch"`,
		}, []string{leads("rest", "watch") + `; the same is true of "nest"`, `the stop button "sleep" does not lead out of state "watch"`}},
		{"the button is let go before", "nest:dormant watch:ambient", []string{
			`any | press sleep | to = "nest"`, `nest | after 400ms | to = "rest"`, `rest | release sleep | to = "watch"`,
		}, nil},
		{"from one state of rest to another", "nest:dormant watch:ambient", []string{
			`any | press sleep | to = "nest"`, `nest | after 100ms | to = "rest"`, `rest | release sleep | to = "nest"`,
		}, nil},
	} {
		var got []string
		for _, f := range findingsOf(t, "no-stop", c.states, append([]string{`rest | press wake | to = "watch"`}, c.transitions...)...) {
			got = append(got, f.Message)
			assert.NotContains(t, f.Advice, `"press sleep"`, c.what)
		}
		assert.Equal(t, c.want, got, c.what)
	}
}
