package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/sketch"
)

// A block is a fenced part of a topic.
type block struct{ language, file, text string }

var fence = regexp.MustCompile("(?ms)^```(\\w+) ?(\\S*)\n(.*?)^```$")

// topicTexts are the files of the topics by their names.
func topicTexts(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{}
	entries, err := topics.ReadDir("topics")
	require.NoError(t, err)
	for _, e := range entries {
		text, err := topics.ReadFile("topics/" + e.Name())
		require.NoError(t, err)
		all[strings.TrimSuffix(e.Name(), ".md")] = string(text)
	}
	return all
}

// Whoever follows a topic from top to bottom gets there.
func TestTopics(t *testing.T) {
	for name, text := range topicTexts(t) {
		t.Run(name, func(t *testing.T) {
			w := walkthrough{t: t}
			t.Chdir(t.TempDir())
			if name != "hooks" || testing.Short() {
				t.Setenv("PATH", t.TempDir()) // without a compiler a build is quick
			}
			if name == "beak" {
				speak(t, "tale.wav")
			}
			for _, m := range fence.FindAllStringSubmatch(text, -1) {
				w.follow(block{m[1], m[2], m[3]})
			}
			assert.Zero(t, strings.Count(text, "```")-2*w.blocks, "fences that are not blocks")
			assert.True(t, w.commands > 0 || name == rulesTopic)
		})
	}
}

// speak writes a WAV file of two seconds, in which a tone of 200 Hz swells as syllables
// do, four times a second.
func speak(t *testing.T, name string) {
	const rate = 8000
	text := []byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x80\x3e\x00\x00\x02\x00\x10\x00data")
	text = binary.LittleEndian.AppendUint32(text, 2*2*rate)
	for n := range 2 * rate {
		s := float64(n) / rate
		swell := math.Pow(math.Sin(4*math.Pi*s), 2)
		text = binary.LittleEndian.AppendUint16(text, uint16(int16(20000*swell*math.Sin(2*math.Pi*200*s))))
	}
	require.NoError(t, os.WriteFile(name, text, 0o644))
}

// A walkthrough does what the blocks of a topic say, in the current folder.
type walkthrough struct {
	t                *testing.T
	blocks, commands int
	shown            string // by the commands of the latest block
}

func (w *walkthrough) follow(b block) {
	w.blocks++
	switch b.language {
	case "sh":
		w.shown = ""
		for line := range strings.Lines(strings.ReplaceAll(b.text, "\\\n", " ")) {
			w.run(strings.TrimSpace(line))
		}
	case "toml":
		f, err := os.OpenFile("blue-jay.prop.toml", os.O_APPEND|os.O_WRONLY, 0)
		require.NoError(w.t, err)
		_, err = f.WriteString("\n" + b.text)
		require.NoError(w.t, err)
		require.NoError(w.t, f.Close())
	case "cpp":
		text, err := os.ReadFile(b.file)
		require.NoError(w.t, err)
		head, _, _ := strings.Cut(b.text, "\n{")
		before, rest, ok := strings.Cut(string(text), head+"\n{")
		require.True(w.t, ok, "%s has no %s", b.file, head)
		_, after, _ := strings.Cut(rest, "\n}\n")
		require.NoError(w.t, os.WriteFile(b.file, []byte(before+b.text+after), 0o644))
	case "text":
		if b.file != "" {
			require.NoError(w.t, os.WriteFile(b.file, []byte(b.text), 0o644))
			return
		}
		for line := range strings.Lines(b.text) {
			require.Contains(w.t, w.shown, strings.TrimSpace(line))
		}
	default:
		w.t.Fatalf("nothing tests a block of %q", b.language)
	}
}

func (w *walkthrough) run(line string) {
	w.commands++
	if folder, ok := strings.CutSuffix(line, " && go test"); ok {
		require.FileExists(w.t, filepath.Join(strings.TrimPrefix(folder, "cd "), "go.mod"))
		return // TestReadmeCommands runs one
	}
	words := shellWords(line)
	require.Equal(w.t, "propwright", words[0], "nothing tests this command: %s", line)
	var stdout, stderr bytes.Buffer
	require.Equal(w.t, exitFine, run(words[1:], &stdout, &stderr), "%s\n%s%s", line, &stdout, &stderr)
	require.NotEmpty(w.t, stdout.String()+stderr.String(), line)
	w.shown += stdout.String()
	if words[1] == "build" {
		assert.NotContains(w.t, stdout.String(), "error:", line) // the compiler's
	}
}

// What the manual, the rules' texts and the README say in passing is a command too, and
// so is every example of a command.
func TestTextsNameCommands(t *testing.T) {
	texts := topicTexts(t)
	files, err := filepath.Glob("../../model/check/explain/*.md")
	require.NoError(t, err)
	for _, file := range append(files, "../../README.md") {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		texts[filepath.Base(file)] = string(text)
	}
	all := rootCommand().Commands()
	for len(all) > 0 {
		c := all[0]
		all = append(all[1:], c.Commands()...)
		texts[c.CommandPath()] = c.Long + "\n" + c.Example
	}
	find := func(words []string) (*cobra.Command, []string, error) {
		root := rootCommand()
		root.InitDefaultCompletionCmd()
		return root.Find(words)
	}
	command := regexp.MustCompile("`propwright ([^`]*)`|(?m:^  (?:echo wake [|] )?propwright (.*)$)")
	for name, text := range texts {
		text = strings.NewReplacer("[", "", "]", "").Replace(fence.ReplaceAllString(text, ""))
		for _, m := range command.FindAllStringSubmatch(text, -1) {
			words := shellWords(m[1] + m[2])
			if strings.HasSuffix(words[0], designSuffix) || words[0] == "FILE" {
				continue // the editor's
			}
			c, rest, err := find(words)
			require.NoError(t, err, "%s: %s", name, m[0])
			if words[0] != "help" {
				require.NotEqual(t, "propwright", c.Name(), "%s: %s", name, m[0])
				require.NoError(t, c.ParseFlags(rest), "%s: %s", name, m[0])
				continue
			}
			topic, rest, err := find(words[1:])
			require.NoError(t, err)
			require.Empty(t, rest, "%s: %s", name, m[0])
			require.NotEmpty(t, topic.Long)
		}
	}
}

// Each topic is listed, is shown under its name, and fits a terminal of 80 columns.
func TestHelpOfTopics(t *testing.T) {
	list := shows(t, exitFine, "help")
	assert.Equal(t, list, shows(t, exitFine, "--help"))
	for name, text := range topicTexts(t) {
		title, _, _ := strings.Cut(strings.TrimPrefix(text, "# "), "\n")
		assert.Regexp(t, `(?m)^  (propwright )?`+name+` +`+regexp.QuoteMeta(title)+`$`, list)
		help := shows(t, exitFine, "help", name)
		assert.NotContains(t, help, "```")
		assert.NotContains(t, help, "# "+title)
		topic, _, err := rootCommand().Find([]string{name})
		require.NoError(t, err)
		require.Contains(t, help, strings.TrimSpace(topic.Long))
		for line := range strings.Lines(topic.Long) {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), 80+len("\n"), "%s: %s", name, line)
		}
	}
	rules := shows(t, exitFine, "help", rulesTopic)
	for _, r := range sketch.Rules() {
		assert.Contains(t, rules, fmt.Sprintf("\n%s (%s)\n    ", r.ID, r.Severity))
	}

	assert.Contains(t, shows(t, exitCall, "help", "strat"), "no topic \"strat\"; did you mean `propwright start`?")
	assert.Contains(t, shows(t, exitCall, "help", "check", "heron.prop.toml"), `"heron.prop.toml"`)
	assert.Contains(t, shows(t, exitFine, "__complete", "help", ""), "\nsensor\tRecipe: a sensor starts it\n")
}

// shows is what a call prints, and fails where its exit code is another.
func shows(t *testing.T, code int, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	require.Equal(t, code, run(args, &out, &out), "%v\n%s", args, &out)
	return out.String()
}

// The completions that cobra writes are programs that their shells can read, and
// bash's completes a topic.
func TestCompletions(t *testing.T) {
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		script := shows(t, exitFine, "completion", shell)
		assert.Contains(t, script, cobra.ShellCompRequestCmd)
		path, err := exec.LookPath(shell)
		if err != nil || shell != "bash" {
			continue
		}
		cmd := exec.Command(path, "--norc", "-c", `
			source /dev/stdin
			_init_completion() { words=("${COMP_WORDS[@]}"); cword=$COMP_CWORD; cur=${words[cword]}; prev=${words[cword-1]}; }
			compopt() { :; }
			COMP_WORDS=(propwright help sens) COMP_CWORD=2 COMP_LINE="propwright help sens" COMP_POINT=20 COMP_TYPE=9
			__start_propwright
			echo "completed: ${COMPREPLY[*]}"`)
		cmd.Stdin = strings.NewReader(script)
		cmd.Env = append(os.Environ(), "PATH="+filepath.Dir(asCommand(t))+string(filepath.ListSeparator)+os.Getenv("PATH"))
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s", out)
		assert.Equal(t, "completed: sensor", strings.TrimSpace(string(out)))
	}
}
