package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/compare"
	"propwright/model/designs"
)

// A routine is added to a design that was built long ago: the machine, the
// player, the remote's code and the board's stay as they are, and the edited hooks.cpp
// is the maker's.
func TestRoutineForAYearOldDesign(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("heron.prop.toml", designs.HarbourHeron, 0o666))
	must := func(args ...string) string {
		t.Helper()
		code, out, errs := call(args...)
		require.Equal(t, exitFine, code, out+errs)
		return out
	}
	must("fmt", "heron.prop.toml")
	must("build", "heron.prop.toml")
	const dir = "out/harbour_heron"
	hooks := filepath.Join(dir, "hooks.cpp")
	text, err := os.ReadFile(hooks)
	require.NoError(t, err)
	mine := strings.Replace(string(text), "case PW_STATE_ROOST:", "case PW_STATE_ROOST:\n        Serial.println(\"good night\");", 1)
	require.NoError(t, os.WriteFile(hooks, []byte(mine), 0o666))
	before, err := readTree(dir)
	require.NoError(t, err)
	old, err := model.Load("heron.prop.toml")
	require.NoError(t, err)

	must("add", "routine", "heron.prop.toml", "bow", "--on", "press six", "--code", "nec:0x04:0x16", "--like", "greet")
	assert.Contains(t, must("check", "heron.prop.toml"), "no findings")
	var s summary
	require.NoError(t, json.Unmarshal([]byte(must("build", "heron.prop.toml", "--json")), &struct{ *summary }{&s}))
	assert.Equal(t, []string{
		"card.html", "chart.svg", "harness/firmware.go", "harness/tables.go", "tables.c", "tables.h", "tour.txt",
	}, s.Files.Written)
	assert.Equal(t, []string{"hooks.cpp"}, s.Files.Kept)
	assert.Equal(t, []string{"  for your code on entering bow, add to hook_enter: case PW_STATE_BOW: break;"}, s.Hooks)
	after, err := readTree(dir)
	require.NoError(t, err)
	assert.Equal(t, mine, string(after["hooks.cpp"]))

	// The tables' lines that were there are there, but for counts and places.
	was := map[string]int{}
	for _, l := range strings.Split(string(before["tables.c"]), "\n") {
		was[l]++
	}
	fresh := 0
	for _, l := range strings.Split(string(after["tables.c"]), "\n") {
		if was[l]--; was[l] < 0 {
			fresh++
		}
	}
	lost := 0
	for _, n := range was {
		lost += max(0, n)
	}
	assert.LessOrEqual(t, fresh, 40)
	assert.LessOrEqual(t, lost, 12, "the mark, four sums, and where each performing state's cues begin")

	now, err := model.Load("heron.prop.toml")
	require.NoError(t, err)
	c := compare.Compare(old, now)
	var said []string
	for _, x := range c.Changes {
		said = append(said, string(x.Area)+" "+string(x.Kind)+" "+x.Name)
	}
	assert.Equal(t, []string{
		"behaviour new press six", "state new state bow", "routine new routine bow", "remote new button six",
	}, said, "nothing that was there has changed")
	file, err := os.ReadFile("heron.prop.toml")
	require.NoError(t, err)
	for _, comment := range []string{"# Everything else means nothing, and is meant to.", "# A pack of five cells through a 5 A fuse and a switch on the post."} {
		assert.Contains(t, string(file), comment)
	}
}

// Hooks that nobody has edited name the states that there are.
func TestHooksFollowARenamedState(t *testing.T) {
	if testing.Short() {
		t.Skip("it compiles much")
	}
	t.Chdir(t.TempDir())
	code, _, errs := call("new", "owl")
	require.Equal(t, exitFine, code, errs)
	code, _, errs = call("build", "owl.prop.toml")
	require.Equal(t, exitFine, code, errs)
	text, err := os.ReadFile("owl.prop.toml")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile("owl.prop.toml", []byte(strings.ReplaceAll(string(text), `"watching"`, `"awake"`)), 0o666))
	code, out, errs := call("build", "owl.prop.toml")
	require.Equal(t, exitFine, code, errs)
	assert.Contains(t, out, "measured with avr-gcc")
	hooks, err := os.ReadFile(filepath.Join("out", "owl", "hooks.cpp"))
	require.NoError(t, err)
	assert.Contains(t, string(hooks), "PW_STATE_AWAKE")
	assert.NotContains(t, string(hooks), "PW_STATE_WATCHING")
}

func TestAddRefuses(t *testing.T) {
	t.Chdir(t.TempDir())
	code, _, errs := call("new", "owl")
	require.Equal(t, exitFine, code, errs)
	before, err := os.ReadFile("owl.prop.toml")
	require.NoError(t, err)
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"bow", "--on", "press hoot"}, "no button hoot; name one that it has, or give its code with --code"},
		{[]string{"bow", "--on", "press wake", "--code", "nec:0x01:0x02"}, "has the button wake already"},
		{[]string{"bow", "--on", "press hoot", "--code", "morse:1"}, "morse"},
		{[]string{"bow", "--on", "press greet", "--from", "watching"}, "leads to greeting already"},
		{[]string{"bow", "--on", "pres greet"}, `write "press greet"`},
		{[]string{"bow", "--on", "press wake", "--from", "any ambinet"}, `write "any ambient"`},
		{[]string{"bow", "--on", "press wake", "--like", "nood"}, `no routine "nood"; write nod`},
		{[]string{"nod", "--on", "press wake"}, "nod"},
		{[]string{"Bow!", "--on", "press wake"}, "Bow!"},
		{[]string{"bow", "--on", "press wake", "--length", "3"}, "3s"},
		{[]string{"bow"}, `"on" not set`},
	} {
		code, _, errs := call(append([]string{"add", "routine", "owl.prop.toml"}, c.args...)...)
		assert.Equal(t, exitCall, code, c.args)
		assert.Contains(t, errs, c.want)
		after, err := os.ReadFile("owl.prop.toml")
		require.NoError(t, err)
		require.Equal(t, string(before), string(after), c.args)
	}
}
