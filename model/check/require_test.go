package check_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/machine"
	"propwright/model/random"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// wader has every kind of event: it sleeps, watches for 20 to 30 s, greets for
// 4 s, and strikes after greeting where that was asked for.
const wader = `format = 1
[prop]
name = "wader"
board = "atmega328p"
rest_within = "5s"
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
[[input]]
name = "tail"
pin = 7
[[output]]
name = "lamp"
kind = "switch"
pin = 4
[[routine]]
name = "greet"
length = "4s"
[[routine]]
name = "strike"
length = "1s"
[[routine]]
name = "nod"
length = "500ms"
[[state]]
name = "roost"
kind = "dormant"
[[state]]
name = "watch"
kind = "ambient"
pose = { lamp = true }
[[state]]
name = "greet"
kind = "performing"
plays = "greet"
[[state]]
name = "strike"
kind = "performing"
plays = "strike"
[[state]]
name = "nod"
kind = "performing"
plays = "nod"
[[state]]
name = "lost"
kind = "ambient"
[[transition]]
from = "any"
on = "press sleep"
to = "roost"
[[transition]]
from = "roost"
on = "press wake"
to = "watch"
[[transition]]
from = "watch"
on = "press one"
to = "greet"
[[transition]]
from = "greet"
on = "press one"
to = "strike"
defer = true
[[transition]]
from = "any performing"
on = "done"
to = "back"
[[transition]]
from = "watch"
on = "after 20s..30s"
to = "roost"
[[transition]]
from = "watch"
on = "hold wake for 800ms"
to = "nod"
[[transition]]
from = "watch"
on = "rise tail"
to = "nod"
`

// requiring is the wader with a requirement.
func requiring(t require.TestingT, that string) *model.Design {
	d, err := model.Read("wader.prop.toml", []byte(wader+"[[require]]\nthat = \""+that+"\"\n"))
	require.NoError(t, err, that)
	return d
}

// What is said of a requirement; nothing where it holds.
func TestRequirements(t *testing.T) {
	for _, c := range []struct{ that, want string }{
		{"reachable strike", ""},
		{"reachable lost", `nothing leads to it`},

		// The pose of a state is of no account: greet takes 4 s and strike 1 s.
		{"roost within 0s after press sleep", ""},
		{"watch within 0s after press wake", `"press wake", in state "greet", can take 3.999s to lead to "watch" [press wake press one press wake wait 3.999s]`},
		{"watch within 5s after press wake", ""},
		{"watch within 4.999s after press one", `"press one", in state "roost", need not lead to "watch" at all [press one wait 5s]`},
		{"dormant within 34.998s after press one", `"press one", in state "greet", can take 34.999s to lead to a state that is dormant [press wake press one press one wait 3.999s wait 1s wait 30s]`},
		{"dormant within 34.999s after press one", ""},
		{"dormant within 30.499s after rise tail", `"rise tail", in state "watch", can take 30.5s to lead to a state that is dormant [press wake rise tail wait 500ms wait 30s]`},
		{"watch within 500ms after hold wake for 800ms", `"hold wake for 800ms", in state "greet", can take 3.191s to lead to "watch"`},
		{"performing within 499ms after hold wake for 800ms", `"hold wake for 800ms", in state "roost", need not lead to a state that is performing at all`},
		{"dormant within 0s after after 20s..30s", ""},
		{"greet within 1s after done", `"done", in state "greet", need not lead to "greet" at all [press wake press one wait 4s wait 20s]`},
		{"watch within 0s after done", ""},

		{"never strike within 1s after press sleep", ""},
		{"never strike within 4s after press one", `"press one", in state "greet", can be followed by "strike" at once [press wake press one wait 3.999s press one]`},
		{"never nod within 5s after press one", ""},
		{"never roost within 1m after press wake", `"press wake", in state "roost", can be followed by "roost" after 20s [press wake wait 20s]`},
		{"never performing within 1s after rise tail", `"rise tail", in state "watch", is followed by a state that is performing at once [press wake rise tail]`},
		{"never dormant within 19.999s after done", ""},
		{"never dormant within 20s after done", `"done", in state "greet", can be followed by a state that is dormant after 20s [press wake press one wait 4s wait 20s]`},
		{"never watch within 1s after rise tail", `"rise tail", in state "watch", can be followed by "watch" after 500ms [press wake rise tail wait 500ms]`},

		{"from roost press wake, one ends in greet", ""},
		{"from watch press sleep, wake, one ends in greet", ""},
		{"from greet press one, sleep ends in roost", ""},
		{"from greet press one ends in strike", `it can end in "greet" [press wake press one press one]`},
		{"from roost press one, wake ends in roost", `it can end in "watch" [press one press wake]`},

		{"watch within 1s after release wake", `no transition waits for "release wake", so nothing comes of it`},
		{"watch within 1s after repeat wake", `"repeat wake" leads to no state, so nothing comes of it`},
		{"watch within 1s after fall tail", `no transition waits for "fall tail", so nothing comes of it`},
		{"watch within 1s after hold wake for 900ms", `no transition waits for "hold wake for 900ms", so nothing comes of it`},
		{"watch within 1s after after 20s", `no transition waits for "after 20s", so nothing comes of it`},
		{"watch within 1s after after 1s..30s", `no transition waits for "after 1s..30s", so nothing comes of it`},
	} {
		got := ""
		for _, f := range replay(t, requiring(t, c.that)) {
			if f.Rule == "requirement" {
				got = strings.TrimPrefix(f.Message, fmt.Sprintf("%q is broken: ", c.that))
				if f.Witness != nil && strings.Contains(c.want, "[") {
					got += fmt.Sprint(" ", f.Witness)
				}
				assert.Equal(t, check.Error, f.Severity)
				assert.Equal(t, model.Pos{File: "wader.prop.toml", Line: strings.Count(wader, "\n") + 2, Column: 8}, f.Pos)
				assert.Equal(t, strings.HasSuffix(c.want, "so nothing comes of it") || strings.HasPrefix(c.that, "reachable"), f.Witness == nil)
			}
		}
		assert.Equal(t, c.want, got, c.that)
	}
}

// A state that takes no time is come to, but nothing can be pressed in it.
func TestRequirementsAboutNoTime(t *testing.T) {
	for _, c := range []struct{ that, want string }{
		{"flash within 0s after press one", ""},
		{"from flash press wake ends in rest", ""},
		{"from watch press one ends in rest", `"from watch press one ends in rest" is broken: it can end in "watch"`},
		{"from snap press wake ends in rest", ""},
		{"from ended press wake ends in rest", `"from ended press wake ends in rest" is broken: it can end in "watch"`},
	} {
		d := lampPost(t, "watch:ambient flash:performing snap:performing:blink ended:performing:blink",
			`rest | press wake | to = "watch"`,
			`any | press one | to = "flash"`,
			`flash | after 0s | to = "back"`,
			`flash | press wake | to = "watch"`,
			`watch | press wake | to = "snap"`,
			`snap | press wake | to = "watch"`,
			`snap | done | to = "ended"`,
			`ended | done | ignore = true`,
			`ended | press wake | to = "watch"`,
			`any | press sleep | to = "rest"`,
		)
		d.Routine("blink").Length = 0
		d.Requires = []model.Require{{That: c.that}}
		got := ""
		for _, f := range replay(t, d) {
			if f.Rule == "requirement" {
				got += f.Message
			}
		}
		assert.Equal(t, c.want, got, c.that)
	}
}

// requirements draws requirements of a design, each of its forms.
func requirements(t *rapid.T, d *model.Design, unit time.Duration, most int) {
	state := func() string { return rapid.SampledFrom(d.States).Draw(t, "state").Name }
	button := func() string { return rapid.SampledFrom(d.Remote.Buttons).Draw(t, "button").Name }
	events := []model.Trigger{{Kind: model.Done}}
	for _, b := range d.Remote.Buttons {
		events = append(events, model.Trigger{Kind: model.Press, Name: b.Name})
	}
	for _, tr := range d.Transitions {
		events = append(events, tr.On...)
	}
	d.Requires = nil
	for range rapid.IntRange(1, 4).Draw(t, "requirements") {
		q := model.Requirement{State: state()}
		switch q.Form = model.RequireForm(rapid.IntRange(1, 4).Draw(t, "form")); q.Form {
		case model.EndsIn:
			q.From = state()
			for range rapid.IntRange(1, 3).Draw(t, "presses") {
				q.Press = append(q.Press, button())
			}
		case model.Never, model.Within:
			if rapid.Bool().Draw(t, "kind") {
				q.State, q.Kind = "", rapid.SampledFrom(model.StateKinds).Draw(t, "kind")
			}
			q.Time = time.Duration(rapid.IntRange(0, most).Draw(t, "time")) * unit
			q.After = rapid.SampledFrom(events).Draw(t, "event")
		}
		d.Requires = append(d.Requires, model.Require{That: q.String()})
	}
}

func TestMalformedRequirementIsAFinding(t *testing.T) {
	d := random.Usual.Design
	rapid.Check(t, func(t *rapid.T) {
		d := d(t)
		state := d.States[0].Name
		d.Requires = []model.Require{
			{That: "reachable"},
			{That: "reachable nowhere-at-all"},
			{That: "from " + state + " press no-such-button ends in " + state},
			{That: state + " within 1s after press no-such-button"},
		}
		found, err := check.NewStudy(d).Check(check.Rules())
		require.NoError(t, err)
		said := 0
		for _, f := range found {
			if f.Rule == "requirement" {
				said++
			}
		}
		require.Equal(t, len(d.Requires), said)
	})
}

func TestCases(t *testing.T) {
	for _, c := range []struct{ that, want string }{
		{"reachable strike", "strike: [press wake press one press one wait 3.999s]"},
		{"from watch press sleep, wake, one ends in greet", "greet: [press wake press sleep press wake press one]"},
		{"watch within 5s after press wake", "watch: [press wake press one press one press wake wait 3.998s wait 1s]"},
		{"never roost within 19s after done", "roost: [press wake press one wait 4s wait 20s]"},
		{"never strike within 1s after press sleep", ""}, // it never follows
		{"roost within 0s after press sleep", ""},        // it is there at once
		{"reachable lost", ""}, // broken
	} {
		cases, err := check.NewStudy(requiring(t, c.that)).Cases()
		require.NoError(t, err)
		got := ""
		for _, c := range cases {
			got += fmt.Sprint(c.State, ": ", c.Acts)
		}
		assert.Equal(t, c.want, got, c.that)
	}
}

// A case is played as it says, and its requirement holds in it.
func TestCasesOfRandomDesigns(t *testing.T) {
	checkBehaving(t, func(t *rapid.T, s *check.Study) {
		d, p := s.Written, s.Program
		cases, err := s.Cases()
		if errors.Is(err, check.ErrTooLarge) {
			return
		}
		require.NoError(t, err)
		for _, c := range cases {
			m := c.Machine(p)
			came := map[string]uint32{p.Name(p.Start): 0} // when last
			m.Observe = func(c machine.Change) {
				if c.Outcome == machine.Entered {
					came[p.Name(c.To)] = c.At
				}
			}
			require.NoError(t, machine.Rehearse(m, check.RepeatPeriod(d)).Play(c.Acts...))
			at, ok := came[c.State]
			require.True(t, ok && (at == m.Now() || p.Name(m.State()) == c.State), "%s: %v ends in %s, not in %s\n%s", c.Requirement, c.Acts, p.Name(m.State()), c.State, d.Format())
			if c.Requirement.Form == model.EndsIn {
				require.Equal(t, c.Requirement.State, p.Name(m.State()))
			}
		}
	})
}

// Two holds in one frame: after the first of them the prop is where it was.
func TestRequirementBetweenTwoHoldsOfAFrame(t *testing.T) {
	d := lampPost(t, "watch:ambient wade:ambient",
		`rest | press wake | to = "watch"`,
		`watch | hold one for 60ms | ignore = true`,
		`any | hold one for 60ms | to = "watch"`,
		`watch | hold one for 70ms | to = "wade"`,
		`any | press sleep | to = "rest"`,
	)
	for that, want := range map[string]int{
		"watch within 100ms after hold one for 60ms": 0,
		"watch within 100ms after hold one for 70ms": 1,
		"wade within 0ms after hold one for 60ms":    0,
	} {
		d.Requires = []model.Require{{That: that}}
		assert.Len(t, of(replay(t, d), "requirement"), want, that)
	}
}

// A release after the time is over takes back the rest that there was before it.
func TestRequirementOfRestThatAReleaseEnds(t *testing.T) {
	d := lampPost(t, "watch:ambient",
		`any | release one | to = "watch"`,
		`any | press sleep | to = "rest"`,
	)
	d.Requires = []model.Require{{That: "dormant within 0s after press one"}}
	assert.Len(t, of(replay(t, d), "requirement"), 1)
}
