package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/designs"
)

// inRepository makes a git repository with two revisions of a design in a
// folder of it, and a third one that is not committed.
func inRepository(t *testing.T) {
	t.Helper()
	if _, err := exec.LookPath("git"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("git is not installed")
		}
		t.Skip("git is not installed")
	}
	t.Chdir(t.TempDir())
	require.NoError(t, os.Mkdir("props", 0o777))
	git := func(args ...string) {
		t.Helper()
		cmd := exec.Command("git", append([]string{"-c", "user.name=maker", "-c", "user.email=maker@example.org"}, args...)...)
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, string(out))
	}
	write := func(text string) {
		require.NoError(t, os.WriteFile("props/heron.prop.toml", []byte(text), 0o666))
	}
	git("init", "-q", "-b", "main")
	text := string(designs.HarbourHeron)
	write(text)
	git("add", ".")
	git("commit", "-q", "-m", "A heron")
	text = strings.Replace(text, "after 90s", "after 2m", 1)
	write(text)
	git("commit", "-q", "-a", "-m", "Sleep later")
	text = strings.Replace(text, "\"press hush\", \"after 2m\"", "\"after 2m\"", 1)
	write(text)
}

func call(args ...string) (code int, stdout, stderr string) {
	var o, e bytes.Buffer
	code = run(args, &o, &e)
	return code, o.String(), e.String()
}

func TestDiffOfRevisions(t *testing.T) {
	inRepository(t)
	code, out, errs := call("diff", "HEAD~1:props/heron.prop.toml", "HEAD:props/heron.prop.toml")
	require.Equal(t, exitFine, code, errs)
	assert.Contains(t, out, "~ the way to roost in watch: after 2m (after 90s before)")
	assert.NotContains(t, out, "hush")

	code, out, errs = call("diff", "HEAD:props/heron.prop.toml", "props/heron.prop.toml")
	require.Equal(t, exitFine, code, errs)
	assert.Contains(t, out, "- press hush in watch: nothing now (roost before)")

	t.Chdir("props") // a path is taken from here
	code, out, errs = call("diff", "HEAD~1:heron.prop.toml", "heron.prop.toml", "--json", "--chart", "d.svg")
	require.Equal(t, exitFine, code, errs)
	var d struct {
		Old, New string
		Changes  []struct{ Area, Kind, Name, In, Was, Is string }
		Verdicts struct{ New, Gone []json.RawMessage }
		OldSize  size `json:"old_size"`
		NewSize  size `json:"new_size"`
	}
	require.NoError(t, json.Unmarshal([]byte(out), &d))
	assert.Equal(t, "HEAD~1:heron.prop.toml", d.Old)
	assert.Len(t, d.Changes, 2)
	assert.Positive(t, d.OldSize.Flash)
	assert.Less(t, d.NewSize.Flash, d.OldSize.Flash, "a rule less")
	svg, err := os.ReadFile("d.svg")
	require.NoError(t, err)
	assert.Contains(t, string(svg), ">+ after 2m</text>")

	code, _, errs = call("diff", "HEAD~9:heron.prop.toml", "heron.prop.toml")
	assert.Equal(t, exitCall, code)
	assert.Contains(t, errs, "git has no heron.prop.toml in revision HEAD~9")
	code, _, errs = call("diff", "--output=x:heron.prop.toml", "heron.prop.toml")
	assert.Equal(t, exitCall, code, errs)
	code, _, errs = call("diff", "--", "--output=x:heron.prop.toml", "heron.prop.toml")
	assert.Equal(t, exitCall, code, "a revision is not an option of git: %s", errs)
	assert.NoFileExists(t, "x:heron.prop.toml")
}

// What git itself prints when it is set up as --help says.
func TestDiffAsGitsDriver(t *testing.T) {
	inRepository(t)
	exe := asCommand(t)
	require.NoError(t, os.WriteFile(".gitattributes", []byte("*.prop.toml diff=prop\n"), 0o666))
	git := func(args ...string) string {
		t.Helper()
		out, err := exec.Command("git", args...).CombinedOutput()
		require.NoError(t, err, string(out))
		return string(out)
	}
	git("config", "diff.prop.command", exe+" diff --git")
	git("config", "diff.prop.textconv", exe+" diff --facts")
	said := git("--no-pager", "diff")
	assert.Regexp(t, `^props/heron\.prop\.toml at [0-9a-f]{7} → props/heron\.prop\.toml\n`, said)
	assert.Contains(t, said, "- press hush in watch: nothing now (roost before)")
	shown := git("--no-pager", "show", "HEAD")
	assert.Contains(t, shown, "-behaviour: in watch, after 90s → roost\n")
	assert.Contains(t, shown, "+behaviour: in watch, after 2m → roost\n")
}

// What a change costs: how long the prop takes to rest, and the chip's memory.
func TestDiffOfBudgets(t *testing.T) {
	t.Chdir(t.TempDir())
	heron := string(designs.HarbourHeron)
	require.NoError(t, os.WriteFile("old.prop.toml", []byte(heron), 0o666))
	write := func(old, new string) {
		require.Contains(t, heron, old)
		require.NoError(t, os.WriteFile("new.prop.toml", []byte(strings.ReplaceAll(heron, old, new)), 0o666))
	}
	write("after 90s", "after 4m")
	code, out, errs := call("diff", "old.prop.toml", "new.prop.toml")
	require.Equal(t, exitFine, code, errs)
	assert.Regexp(t, `\nComing to rest\n  ~ left alone: within 4m[^\n]* \(within [^\n]* before\)\n`, out)
	assert.NotContains(t, out, "after the stop button")

	write("[\"press hush\", \"after 90s\"]", "\"press hush\"")
	code, out, errs = call("diff", "old.prop.toml", "new.prop.toml", "--json")
	require.Equal(t, exitFine, code, errs)
	var d struct {
		OldRest rest `json:"old_rest"`
		NewRest rest `json:"new_rest"`
	}
	require.NoError(t, json.Unmarshal([]byte(out), &d))
	require.NotNil(t, d.OldRest.Alone)
	assert.Nil(t, d.NewRest.Alone)
	assert.Equal(t, d.OldRest.Stop, d.NewRest.Stop)

	write("from = \"any\"\non = \"press sleep\"\nto = \"roost\"", "from = \"any ambient\"\non = \"press sleep\"\nto = \"roost\"")
	code, out, errs = call("diff", "old.prop.toml", "new.prop.toml")
	require.Equal(t, exitFine, code, errs)
	assert.Contains(t, out, "  ~ after the stop button: within 2m 19.2s (within 1.1s before)\n")

	// Strips too long for the chip is a verdict, as in check.
	write("count = 24", "count = 550\n[[output]]\nname = \"more\"\nkind = \"pixels\"\npin = 13\ncount = 500")
	code, out, errs = call("diff", "old.prop.toml", "new.prop.toml")
	require.Equal(t, exitFine, code, errs)
	assert.Contains(t, out, "  + error memory: ")
}

// Files that are new, gone, renamed or no designs: git goes on to the next,
// and its user learns of each.
func TestGitGoesOnWhateverTheFiles(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	inRepository(t)
	exe := asCommand(t)
	git := func(args ...string) string {
		t.Helper()
		out, err := exec.Command("git", append([]string{"--no-pager", "-c", "user.name=maker", "-c", "user.email=maker@example.org"}, args...)...).CombinedOutput()
		require.NoError(t, err, string(out))
		return string(out)
	}
	write := func(name, text string) {
		require.NoError(t, os.WriteFile(name, []byte(text), 0o666))
	}
	git("config", "diff.prop.command", exe+" diff --git")
	git("config", "diff.prop.textconv", exe+" diff --facts")
	write(".gitattributes", "*.prop.toml diff=prop\n")
	heron := string(designs.HarbourHeron)
	for _, name := range []string{"a", "gone", "old", "was-broken", "z"} {
		write(name+".prop.toml", heron)
	}
	write("was-broken.prop.toml", "format = 1\n[prop\n")
	git("add", ".")
	git("commit", "-q", "-m", "Before")
	write("a.prop.toml", heron+"nonsense [\n")
	write("new.prop.toml", heron)
	write("was-broken.prop.toml", heron)
	write("z.prop.toml", strings.Replace(heron, "after 90s", "after 91s", 1))
	write("renamed.prop.toml", strings.Replace(heron, "after 90s", "after 92s", 1))
	require.NoError(t, os.Remove("gone.prop.toml"))
	require.NoError(t, os.Remove("old.prop.toml"))
	git("add", "-A")

	said := git("diff", "--cached", "-M")
	for _, want := range []string{
		`(?m)^a\.prop\.toml at [0-9a-f]{7} → a\.prop\.toml at [0-9a-f]{7}\n\nThis cannot be read as a design; "git diff --no-ext-diff" shows its text\.\n  a\.prop\.toml at [0-9a-f]{7}:\d+:10: expected '='`,
		`(?m)^was-broken\.prop\.toml at [0-9a-f]{7} → [^\n]*\n\nThis cannot be read as a design`,
		`(?m)^z\.prop\.toml at [^\n]*\n\nWhen it does it\n  ~ the way to roost in watch: after 91s \(after 90s before\)\n`,
		`(?m)^[a-z]+\.prop\.toml at [0-9a-f]{7} → (renamed|new)\.prop\.toml at [0-9a-f]{7}\n`,
		`(?m)^  ~ the way to roost in watch: after 92s \(after 90s before\)\n`,
	} {
		assert.Regexp(t, want, said)
	}
	said = git("diff", "--cached", "--no-renames")
	assert.Regexp(t, `(?m)^gone\.prop\.toml at [0-9a-f]{7} is gone\n\n  - behaviour: in greeting, done → back\n`, said)
	assert.Regexp(t, `(?m)^new\.prop\.toml at [0-9a-f]{7} is new\n\n  \+ behaviour: in greeting, done → back\n`, said)

	git("commit", "-q", "-m", "After")
	said = git("show", "HEAD")
	assert.Contains(t, said, "+This cannot be read as a design:\n+  line ", "through textconv")
	assert.Contains(t, said, "+nonsense [\n", "and the text that could not be read")
	assert.Contains(t, said, "+behaviour: in watch, after 91s → roost\n")
	assert.NotContains(t, said, os.TempDir(), "git's own copies have names that change")
	git("log", "-p")
}
