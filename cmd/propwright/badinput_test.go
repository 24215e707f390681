package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// starterDesign is what `new` writes, to be spoilt.
func starterDesign(t *testing.T) string {
	t.Helper()
	file, err := writeNew(filepath.Join(t.TempDir(), "crow"), "")
	require.NoError(t, err)
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	return string(text)
}

// without leaves out all elements with one of these headers.
func without(text string, headers ...string) string {
	var keep []string
	for _, block := range strings.Split(text, "\n\n") {
		has := func(header string) bool { return strings.Contains("\n"+block+"\n", "\n"+header+"\n") }
		if !slices.ContainsFunc(headers, has) {
			keep = append(keep, block)
		}
	}
	return strings.Join(keep, "\n\n")
}

// manyStates is a sound design of n states: a ring of ambient states, each
// entered from the one before it.
func manyStates(t *testing.T, n int) string {
	t.Helper()
	var b strings.Builder
	b.WriteString(without(starterDesign(t), "[[state]]", "[[transition]]", "[[routine]]", "[[routine.cue]]", "[[remote.button]]"))
	for i, name := range []string{"sleep", "wake"} {
		fmt.Fprintf(&b, "\n\n[[remote.button]]\nname = %q\ncode = \"nec:0x00:0x%02x\"\n", name, 0x45+i)
	}
	b.WriteString("\n\n[[state]]\nname = \"asleep\"\nkind = \"dormant\"\npose = { neck = \"0deg\" }\n")
	for i := 1; i < n; i++ {
		fmt.Fprintf(&b, "\n[[state]]\nname = \"s%d\"\nkind = \"ambient\"\npose = { neck = \"%ddeg\" }\n", i, i%30)
		from := "asleep"
		if i > 1 {
			from = fmt.Sprintf("s%d", i-1)
		}
		fmt.Fprintf(&b, "\n[[transition]]\nfrom = %q\non = \"press wake\"\nto = \"s%d\"\n", from, i)
	}
	b.WriteString("\n[[transition]]\nfrom = \"any\"\non = \"press sleep\"\nto = \"asleep\"\n")
	return b.String()
}

// A file that is no design gives a clear message on stderr, exit code 2 and
// no folder, whatever the command.
func TestBadInput(t *testing.T) {
	starter := starterDesign(t)
	for _, c := range []struct {
		name, text, want string
	}{
		{"empty", "", "empty"},
		{"blank", "\n\n  \n", "empty"},
		{"binary", "\x7fELF\x02\x01\x00\x00", "not a text file"},
		{"latin-1", strings.Replace(starter, "Crow", "Kr\xe4he", 1), "not a text file in UTF-8"},
		{"20-mb", strings.Repeat("# nothing\n", 1<<21), "MiB"},
		{"one-long-line", `format = "` + strings.Repeat("x", 1<<19) + `"`, "format"},
		{"deep", "format = 1\nx = " + strings.Repeat("[", 1<<17) + strings.Repeat("]", 1<<17), ":2:"},
		{"unknown-key", strings.Replace(starter, "board =", "bord =", 1), "write board"},
		{"wrong-unit", strings.Replace(starter, `over = "500ms"`, `over = "500deg"`, 1), `"deg" is not a unit of a time`},
		{"no-remote", without(starter, "[remote]", "[[remote.button]]"), "remote"},
		{"no-dormant", strings.Replace(starter, `kind = "dormant"`, `kind = "ambient"`, 1), "dormant"},
		{"no-states", without(starter, "[[state]]", "[[transition]]"), "dormant"},
		{"dangling", strings.Replace(starter, `to = "greeting"`, `to = "greting"`, 1), `"greeting"`},
		{"format-2", strings.Replace(starter, "format = 1", "format = 2", 1), "format"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Chdir(t.TempDir())
			file := c.name + ".prop.toml"
			require.NoError(t, os.WriteFile(file, []byte(c.text), 0o666))
			for _, command := range []string{"check", "build", "fmt"} {
				var stdout, stderr bytes.Buffer
				code := run([]string{command, file}, &stdout, &stderr)
				assert.Equal(t, exitCall, code, "%s: %s%s", command, stdout.String(), stderr.String())
				assert.Contains(t, stderr.String(), file, command)
				assert.Contains(t, stderr.String(), c.want, command)
				assert.Less(t, stderr.Len(), 20_000, "%s: a message one can read", command)
				assert.Empty(t, stdout.String(), command)
			}
			left, err := os.ReadDir(".")
			require.NoError(t, err)
			assert.Len(t, left, 1, "no folder is made")
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.Equal(t, c.text, string(text), "and the file is as it was")
		})
	}
}

func TestManyStates(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	t.Chdir(t.TempDir())
	for _, c := range []struct {
		states, code int
	}{
		{250, exitFine},
		{300, exitDesign}, // sound, but more than the firmware's one byte can count
	} {
		file := fmt.Sprintf("states-%d.prop.toml", c.states)
		require.NoError(t, os.WriteFile(file, []byte(manyStates(t, c.states)), 0o666))
		var stdout, stderr bytes.Buffer
		require.Equal(t, c.code, run([]string{"check", file}, &stdout, &stderr), "%s%s", stdout.String(), stderr.String())
		require.Equal(t, c.code, run([]string{"build", file, "-o", fmt.Sprint(c.states)}, &stdout, &stderr), stderr.String())
		if c.code == exitDesign {
			assert.Contains(t, stdout.String(), "at most 250 states")
			assert.Contains(t, stderr.String(), "at most 250 states")
			assert.NoDirExists(t, fmt.Sprint(c.states))
		} else {
			testHarness(t, filepath.Join(fmt.Sprint(c.states), "crow"))
		}
	}
}

// Names that are words of C, C++ and Go, and labels and notes that could end
// a comment or a string or carry on a line, make firmware that compiles and
// does what the design says.
func TestHostileNames(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	text := starterDesign(t)
	for from, to := range map[string]string{
		"asleep": "int", "watching": "while", "greeting": "register",
		"wake": "goto", "greet": "for", "sleep": "template", "neck": "auto", "nod": "main",
	} {
		text = strings.ReplaceAll(text, `"`+from+`"`, `"`+to+`"`)
		text = strings.ReplaceAll(text, `"press `+from+`"`, `"press `+to+`"`)
		text = strings.ReplaceAll(text, from+" = ", to+" = ")
	}
	text = strings.Replace(text, `name = "crow"`, `name = "func"`, 1)
	text = strings.Replace(text, `label = "Crow"`, `label = "Rabenkrähe 鴉 */ \" ??/ \\ %s {{.}} <b>&"`, 1)
	text = strings.Replace(text, `kind = "dormant"`, "kind = \"dormant\"\nnote = \"*/ } // \\\\\"", 1)

	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("func.prop.toml", []byte(text), 0o666))
	var stdout, stderr bytes.Buffer
	require.Equal(t, exitFine, run([]string{"build", "func.prop.toml"}, &stdout, &stderr), "%s%s", stdout.String(), stderr.String())
	testHarness(t, "out/func")
}

// testHarness runs the tests that were generated.
func testHarness(t *testing.T, dir string) {
	t.Helper()
	cmd := exec.Command("go", "test", ".", "-events", "2000")
	cmd.Dir = filepath.Join(dir, "harness")
	cmd.Env = append(os.Environ(), "GOFLAGS=", "GOWORK=off")
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
}
