package main

import (
	"bytes"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/board"
	"propwright/model/ir"
)

// fences gives the README's blocks of a language, in order.
func fences(t *testing.T, language string) []string {
	t.Helper()
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	var blocks []string
	for _, part := range strings.Split(string(text), "\n```"+language+"\n")[1:] {
		block, _, ok := strings.Cut(part, "\n```")
		require.True(t, ok)
		blocks = append(blocks, block)
	}
	require.NotEmpty(t, blocks)
	return blocks
}

const testCommand = "testdata/setup && go test ./..."

// The README's test command is the one that is run before a change goes in,
// and no folder with tests is hidden from it.
func TestReadmeTestCommand(t *testing.T) {
	assert.Contains(t, fences(t, "sh"), testCommand)
	ci, err := os.ReadFile("../../.ci/run")
	require.NoError(t, err)
	assert.Contains(t, string(ci), "\n"+testCommand+"\n")

	require.NoError(t, filepath.WalkDir("../..", func(name string, e fs.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(name, "_test.go") {
			assert.NotContains(t, filepath.ToSlash(name), "/testdata/", "./... leaves out what is below a testdata folder")
		}
		return err
	}))
}

// TestReadmeCommands does what the README says, from top to bottom, in one
// empty folder. Only the line that runs this very test is not run again, and
// nothing is installed.
func TestReadmeCommands(t *testing.T) {
	commands := strings.Split(strings.Join(fences(t, "sh"), "\n"), "\n")
	t.Chdir(t.TempDir())
	ran := 0
	for _, line := range commands {
		line = strings.Replace(line, "go run ./cmd/propwright", "propwright", 1)
		switch words := shellWords(line); {
		case strings.HasPrefix(line, testCommand) || line == "go install ./cmd/propwright":
		case words[0] == "propwright":
			var stdout, stderr bytes.Buffer
			code := run(words[1:], &stdout, &stderr)
			require.Equal(t, exitFine, code, "%s\n%s%s", line, stdout.String(), stderr.String())
			require.NotEmpty(t, stdout.String(), line)
			ran++
		case strings.HasPrefix(line, "cd ") && strings.HasSuffix(line, " && go test"):
			if ran++; testing.Short() {
				continue // gen/harness runs one
			}
			cmd := exec.Command("go", "test")
			cmd.Dir = filepath.FromSlash(words[1])
			cmd.Env = append(os.Environ(), "GOFLAGS=", "GOWORK=off")
			out, err := cmd.CombinedOutput()
			require.NoError(t, err, string(out))
		default:
			t.Errorf("the README has a command that nothing tests: %s", line)
		}
	}
	assert.Equal(t, 7, ran)
	for _, file := range []string{"out/harbour_heron/harbour_heron.ino", "out/blue_jay/blue_jay.ino", "out/blue_jay/hooks.cpp"} {
		assert.FileExists(t, file)
	}
}

// shellWords parts a command at blanks; what is in double quotes is one word.
func shellWords(line string) []string {
	var words []string
	for i, part := range strings.Split(line, "\"") {
		if i%2 == 1 {
			words = append(words, part)
		} else {
			words = append(words, strings.Fields(part)...)
		}
	}
	return words
}

// The README's piece of a design is in what `new` writes, comments aside, and
// so are its pins and its codes.
func TestReadmeDesign(t *testing.T) {
	var text []string
	for _, line := range strings.Split(starterText, "\n") {
		if !strings.HasPrefix(line, "#") {
			text = append(text, line)
		}
	}
	for _, block := range fences(t, "toml") {
		assert.Contains(t, strings.Join(text, "\n"), block)
	}

	dir := t.TempDir()
	file, err := writeNew(filepath.Join(dir, "blue-jay"), "")
	require.NoError(t, err)
	d, err := model.Load(file)
	require.NoError(t, err)
	assert.Equal(t, 2, d.Remote.Pin)
	require.Len(t, d.Outputs, 1)
	assert.Equal(t, 9, d.Outputs[0].Pin)
	assert.Equal(t, "Blue Jay", d.Prop.Label)
	var buttons []string
	for _, b := range d.Remote.Buttons {
		buttons = append(buttons, b.Name)
	}
	assert.ElementsMatch(t, []string{"wake", "greet", "sleep"}, buttons)
}

// The README's table of commands has every command, and no other.
func TestReadmeNamesEveryCommand(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	var listed []string
	for _, line := range strings.Split(string(text), "\n") {
		if rest, ok := strings.CutPrefix(line, "| `propwright "); ok {
			listed = append(listed, strings.FieldsFunc(rest, func(r rune) bool { return r == ' ' || r == '`' })[0])
		}
	}
	var have []string
	for _, c := range rootCommand().Commands() {
		if c.IsAvailableCommand() {
			have = append(have, c.Name())
		}
	}
	assert.ElementsMatch(t, have, listed)
}

// What the README says is there, and what is not, is so.
func TestReadmeLimits(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	_, limits, ok := strings.Cut(string(text), "## What is not there yet")
	require.True(t, ok)
	var known []string
	known = append(known, board.Names()...)
	for _, p := range ir.Protocols() {
		known = append(known, p.Name)
	}
	for _, name := range known {
		assert.Contains(t, limits, "`"+name+"`")
	}
}
