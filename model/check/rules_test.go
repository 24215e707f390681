package check_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"propwright/model"
	"propwright/model/check"
	"propwright/model/random"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// designsDir holds RULE.prop.toml, a design with that fault alone, and
// RULE-mended.prop.toml, the same design without it.
const designsDir = "../designs/rules"

// along are rules whose fault brings another with it.
var along = map[string][]string{
	"trap":          {"no-stop"},          // what cannot rest cannot be stopped either
	"no-stop":       {"never-rests"},      // what the stop button does not end goes on when it was pressed last
	"unused-button": {"unhandled-button"}, // a button that nothing names is named in no state
}

func read(t require.TestingT, name string) *model.Design {
	data, err := os.ReadFile(filepath.Join(designsDir, name+".prop.toml"))
	require.NoError(t, err, "each rule has its design and its mended one")
	d, err := model.Read(name+".prop.toml", data)
	require.NoError(t, err)
	d.File = filepath.Join(designsDir, d.File) // next to which sounds are
	return d
}

func TestRules(t *testing.T) {
	for _, r := range check.Rules() {
		t.Run(r.ID, func(t *testing.T) {
			assert.NotEmpty(t, r.Doc)
			found := replay(t, read(t, r.ID))
			spoke := false
			for _, f := range found {
				if f.Rule == r.ID {
					spoke = true
					assert.Equal(t, r.Severity, f.Severity)
					assert.True(t, f.Pos.IsValid(), f.Message)
					continue
				}
				assert.Contains(t, along[r.ID], f.Rule, f.Message)
			}
			assert.True(t, spoke, "the rule does not speak")

			for _, f := range replay(t, read(t, r.ID+"-mended")) {
				assert.Fail(t, "mended, and yet", "%s: %s", f.Rule, f.Message)
			}
		})
	}
}

func TestRuleIDsAreUnique(t *testing.T) {
	var ids []string
	for _, r := range check.Rules() {
		ids = append(ids, r.ID)
	}
	slices.Sort(ids)
	assert.Len(t, slices.Compact(slices.Clone(ids)), len(ids))
}

// What the findings say, with the shortest way to see it.
func TestFindings(t *testing.T) {
	for _, c := range []struct{ design, want string }{
		{"slow-stop", `slow-stop.prop.toml:48:1: warning: the stop button "sleep", pressed in state "greet", can take 3.999s to bring the prop to rest; rest_within asks for 2s [press wake press one press sleep wait 3.999s] rest`},
		{"never-rests", `never-rests.prop.toml:42:1: warning: left alone in state "watch", the prop never goes to rest [press wake] watch`},
		{"no-stop", `no-stop.prop.toml:47:1: error: the stop button "sleep", pressed in state "greet", leads to state "watch" and not to rest [press wake press one press sleep wait 3.999s] watch`},
		{"dead-end", `dead-end.prop.toml:53:1: error: no event leads out of state "locked" [hold sleep for 3s] locked`},
		{"ambiguous-trigger", `ambiguous-trigger.prop.toml:84:6: error: two transitions wait for "press one" in state "watch": the other is in line 59 [press wake] watch`},
		{"instant-loop", `instant-loop.prop.toml:42:1: error: the prop can go around through "watch" and "blink" in no time [press wake] blink`},
		{"shadowed-timer", `shadowed-timer.prop.toml:89:6: warning: "after 2m" never comes in state "watch": something else always happens before [press wake] watch`},
		{"pin-clash", `pin-clash.prop.toml:27:7: error: the output "lamp" and the remote's receiver (line 9) use the same pin 2 [] `},
	} {
		var got []string
		for _, f := range replay(t, read(t, c.design)) {
			if f.Rule != c.design {
				continue
			}
			got = append(got, fmt.Sprintf("%s: %s: %s %v %s", f.Pos, f.Severity, f.Message, f.Witness, f.Claim.State))
		}
		assert.Equal(t, []string{c.want}, got)
	}
}

func TestFindingJSON(t *testing.T) {
	found := replay(t, read(t, "dead-end"))
	require.Len(t, found, 1)
	got, err := json.Marshal(found)
	require.NoError(t, err)
	assert.JSONEq(t, `[{
		"rule": "dead-end", "severity": "error", "file": "dead-end.prop.toml", "line": 53, "column": 1, "state": "locked",
		"message": "no event leads out of state \"locked\"",
		"advice": "add a transition from it: on a button, on done or after a while",
		"witness": ["hold sleep for 3s"], "claim": {"state": "locked"}
	}]`, string(got))
}

// Whole designs of any shape neither panic nor give two different answers.
func TestCheckOfRandomDesigns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := random.Usual.Design(t)
		one := replay(t, d)
		two, err := check.NewStudy(d).Check(check.Rules())
		require.NoError(t, err)
		require.Equal(t, one, two)
	})
}

func TestCheckRefusesWhatNoFileHolds(t *testing.T) {
	require.Panics(t, func() { check.NewStudy(&model.Design{}).Check(check.Rules()) })
}
