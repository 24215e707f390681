package model_test

import (
	"testing"
	"time"

	"propwright/model"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseRequirement(t *testing.T) {
	press := func(b string) model.Trigger { return model.Trigger{Kind: model.Press, Name: b} }
	for _, c := range []struct {
		text string
		want model.Requirement
	}{
		{"reachable greet", model.Requirement{Form: model.Reachable, State: "greet"}},
		{"reachable dormant", model.Requirement{Form: model.Reachable, State: "dormant"}},
		{"never greet within 500ms after press sleep", model.Requirement{Form: model.Never, State: "greet", Time: 500 * time.Millisecond, After: press("sleep")}},
		{"never performing within 3s after done", model.Requirement{Form: model.Never, Kind: model.Performing, Time: 3 * time.Second, After: model.Trigger{Kind: model.Done}}},
		{"dormant within 5m after fall tail", model.Requirement{Form: model.Within, Kind: model.Dormant, Time: 5 * time.Minute, After: model.Trigger{Kind: model.Fall, Name: "tail"}}},
		{" roost  within 0s after hold wake for 800ms ", model.Requirement{Form: model.Within, State: "roost", After: model.Trigger{Kind: model.Hold, Name: "wake", For: 800 * time.Millisecond}}},
		{"roost within 1m after after 20s..40s", model.Requirement{Form: model.Within, State: "roost", Time: time.Minute, After: model.Trigger{Kind: model.After, After: model.Span{Lo: 20 * time.Second, Hi: 40 * time.Second}}}},
		{"from roost press wake ends in watch", model.Requirement{Form: model.EndsIn, From: "roost", Press: []string{"wake"}, State: "watch"}},
		{"from roost press wake,one , two ends in greet", model.Requirement{Form: model.EndsIn, From: "roost", Press: []string{"wake", "one", "two"}, State: "greet"}},
	} {
		got, err := model.ParseRequirement(c.text)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, got, c.text)
		again, err := model.ParseRequirement(got.String())
		require.NoError(t, err, got.String())
		assert.Equal(t, got, again)
	}
}

func TestParseRequirementRefuses(t *testing.T) {
	const forms = `the forms are "reachable STATE", "never STATE|KIND within T after EVENT", "STATE|KIND within T after EVENT" or "from STATE press A, B, C ends in STATE"`
	const ends = `its form is "from STATE press A, B, C ends in STATE"`
	for _, c := range []struct{ text, want string }{
		{" ", `the requirement says nothing; write for example "reachable STATE"; ` + forms},
		{"greet", `"greet" is not a requirement; ` + forms},
		{"greet is nice", `"greet is nice" is not a requirement; ` + forms},
		{"reachabel greet", `"reachabel" begins no requirement; write "reachable"`},
		{"nevr greet within 3s after done", `"nevr" begins no requirement; write "never"`},
		{"reachable", `"reachable" is not a whole requirement; its form is "reachable STATE"`},
		{"reachable any", `"any" stands where a state is wanted; name it: a requirement speaks of one`},
		{"reachable greet, watch", `"," stands behind a whole requirement; leave it out`},
		{"never greet wihtin 3s after done", `"wihtin" stands where "within" is wanted; write "within"`},
		{"never greet within 3s", `"never greet within 3s" is not a whole requirement; its form is "never STATE|KIND within T after EVENT"`},
		{"never greet within 3s after", `"never greet within 3s after" is not a whole requirement; its form is "never STATE|KIND within T after EVENT"`},
		{"greet within 3 after done", `"3" has no unit; write "3ms", "3s", "3m" or "3us"`},
		{"greet within 1.5ms after done", `1.5ms is not in whole milliseconds; write "2ms"`},
		{"greet within 3s after pres wake", `"pres wake" is not a trigger; write "press wake"`},
		{"greet within 3s after hold wake", `"hold wake" is not a whole trigger; its form is "hold BUTTON for 800ms"`},
		{"greet within 3s after hold wake for 0s", `0s is too short; write a time of 1ms or more`},
		{"greet within 3s after done soon", `"done soon" is not a whole trigger; its form is "done"`},
		{"from roost press wake one ends in greet", `no comma stands between "wake" and "one"; write "wake, one"`},
		{"from roost press wake, ends in greet", `no comma stands between "ends" and "in"; write "ends, in"`},
		{"from roost press ends in greet", `no comma stands between "ends" and "in"; write "ends, in"`},
		{"from roost press wake, , one ends in greet", `"from roost press wake, , one ends in greet" is not a whole requirement; ` + ends},
		{"from roost press wake end in greet", `"end" stands where "ends" is wanted; write "ends"`},
		{"from roost press wake ends greet", `"from roost press wake ends greet" is not a whole requirement; ` + ends},
		{"from roost press a, a, a, a, a, a, a, a, a ends in greet", `the requirement presses 9 buttons; press 8 at most, or make two requirements of it`},
	} {
		_, err := model.ParseRequirement(c.text)
		require.EqualError(t, err, c.want, c.text)
	}
}

func TestParseRequirementOfAnyText(t *testing.T) {
	word := rapid.SampledFrom([]string{"reachable", "never", "from", "press", "within", "after", "ends", "in", ",", "a", "done", "3s", "any", "dormant", "hold", "for", "é", "\x00"})
	rapid.Check(t, func(t *rapid.T) {
		text := ""
		for _, w := range rapid.SliceOfN(word, 0, 12).Draw(t, "words") {
			text += w + " "
		}
		q, err := model.ParseRequirement(text)
		if err != nil {
			require.Zero(t, q)
			return
		}
		again, err := model.ParseRequirement(q.String())
		require.NoError(t, err, q.String())
		require.Equal(t, q, again)
	})
}
