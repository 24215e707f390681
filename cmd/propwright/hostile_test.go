package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model"
)

// hostile are texts that act on a terminal, or show what they are not.
var hostile = map[string]string{
	"colour":         "\x1b[31mred",
	"title":          "\x1b]0;title\x07",
	"answerback":     "\x1b[5n\x05",
	"c1":             "\u009b31mred",
	"c1 alone":       "\x9b31mred", // in a terminal of eight bits
	"backspace":      "ab\b\bcd",
	"return":         "one\rtwo",
	"delete":         "a\x7fb",
	"null":           "a\x00b",
	"right to left":  "a\u202egpj.exe",
	"isolate":        "a\u2067b\u2069",
	"mark":           "a\u200fb",
	"line separator": "a\u2028b",
}

// raw lists the characters of a text that would act on a terminal.
func raw(text []byte) (acting []string) {
	for _, r := range string(bytes.ToValidUTF8(text, []byte("\x9b"))) {
		if model.IsControl(r) {
			acting = append(acting, fmt.Sprintf("%U", r))
		}
	}
	return acting
}

// Every command is driven with every hostile text in every place where a user, a
// file or git can put one. Nothing that is printed acts on a terminal.
func TestNothingPrintedActsOnTheTerminal(t *testing.T) {
	// Little is worked out of it, and what is printed comes from the same places.
	design := strings.Replace(lamp, `name = "lamp"`, "name = \"lamp\"\nlabel = \"Lamp\"", 1)
	git, noGit := exec.LookPath("git")
	for what, text := range hostile {
		t.Run(what, func(t *testing.T) {
			if testing.Short() && what != "c1" {
				t.Skip("runs some 150 commands; the whole run does it for every text")
			}
			t.Setenv("PATH", folderOf(t, "git")) // what a compiler says has a test of its own
			dir := t.TempDir()
			t.Chdir(dir)
			write := func(name, text string) string {
				if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
					return filepath.Join(dir, "cannot-be-made") // some systems do not take the name
				}
				return name
			}
			plain := write("lamp.prop.toml", design)
			escaped := strings.Trim(strings.TrimSpace(quoteTOML(text)), `"`)
			broken := []string{
				write("name.prop.toml", strings.Replace(design, `name = "lit"`, `name = "`+escaped+`"`, 1)),
				write("label.prop.toml", strings.Replace(design, `label = "Lamp"`, `label = "`+escaped+`"`, 1)),
				write("key.prop.toml", strings.Replace(design, "[prop]", "[prop]\n\""+escaped+"\" = 1", 1)),
				write("value.prop.toml", strings.Replace(design, "[prop]", "[prop]\nnote = \""+text+"\"", 1)),
				write("comment.prop.toml", "# "+text+"\n"+design),
				write("text.prop.toml", text),
				write(strings.ReplaceAll(text, "\x00", "")+".prop.toml", "format = 2"),
				write(strings.ReplaceAll(text, "\x00", "")+"2.prop.toml", design),
				text,
			}
			keymap := write("keys.toml", "[[protocols]]\nname = \"x\"\nprotocol = \"nec\"\n[protocols.scancodes]\n0x1 = \"KEY_"+escaped+"\"\n")
			script := write("script", "press "+text+"\nexpect "+text+"\n")
			times := write("times", "pulse "+text+"\n")
			scxml := write("chart.scxml", `<scxml xmlns="http://www.w3.org/2005/07/scxml" version="1.0" name="`+text+`"><state id="`+text+`"/></scxml>`)
			calls := [][]string{
				{text}, {"check", "--explain", text}, {"check", "--" + text}, {"new", text}, {"new", "x", text},
				{"learn", plain, "--port", text}, {"learn", plain, "--keymap", keymap}, {"learn", plain, text, "--keymap", keymap},
				{"learn", plain, text, "--from", times}, {"learn", plain, "--from", text},
				{"rehearse", plain, "--script", script}, {"rehearse", plain, "--script", script, "--json"}, {"rehearse", plain, "--script", text},
				{"import", scxml}, {"import", text}, {"import", scxml, "-o", text + "/x"},
				{"add", "routine", plain, text, "--on", "press go"}, {"add", "routine", plain, "x", "--on", text},
				{"add", "routine", plain, "x", "--on", "press go", "--from", text}, {"add", "routine", plain, "x", "--on", "press go", "--like", text},
				{"add", "routine", plain, "x", "--on", "press nine", "--code", text}, {"add", "routine", plain, "x", "--on", "press go", "--length", text},
				{"chart", plain, "--state", text}, {"chart", plain, "--button", text}, {"chart", plain, "--as", text}, {"chart", plain, "-o", text},
				{"chart", plain, "--routine", text}, {"rehearse", plain, "--script", script, "--trace", text},
				{"card", plain, "-o", text}, {"tour", plain, "-o", text + "/x"}, {"build", plain, "-o", text + "\x00"},
				{"prove", plain, "--hex", text}, {"prove", plain, "--hex", script}, {"prove", plain, "-o", text + "/x"}, {"flash", plain, "--port", text}, {"trim", plain, text, "--port", text}, {"trim", plain, "--port", text}, {"live", plain, "--port", text}, {"doctor", text}, {"version", text}, {"licences", text},
			}
			for _, file := range broken {
				for _, command := range []string{"check", "build", "fmt", "chart", "card", "tour", "wiring", "export", "edit", "prove", "flash", "live", "trim"} {
					calls = append(calls, []string{command, file})
				}
				calls = append(calls,
					[]string{"check", "--json", file}, []string{"check", "--sarif", file},
					[]string{"diff", plain, file}, []string{"diff", file, plain}, []string{"diff", "--facts", file},
					[]string{"chart", file, "--as", "mermaid"}, []string{"chart", file, "--as", "dot"}, []string{"chart", file, "--as", "matrix"}, []string{"chart", file, "--as", "csv"},
				)
			}
			if noGit == nil {
				require.NoError(t, exec.Command(git, "init", "-q").Run())
				calls = append(calls, []string{"diff", text + ":" + plain, plain}, []string{"diff", "HEAD:" + text, plain})
			}
			for _, command := range commands {
				name := command().Name()
				assert.True(t, slices.ContainsFunc(calls, func(args []string) bool { return args[0] == name }), "%s is not driven", name)
			}
			for _, args := range calls {
				var stdout, stderr bytes.Buffer
				run(args, &stdout, &stderr)
				assert.Empty(t, raw(stdout.Bytes()), "%q prints %q", args, stdout.String())
				assert.Empty(t, raw(stderr.Bytes()), "%q tells %q", args, stderr.String())
				if slices.Contains(args, "--json") {
					assert.True(t, stdout.Len() == 0 || json.Valid(stdout.Bytes()), "%q prints %s", args, stdout.String())
				}
			}

			// An edit by hand of a generated file is shown.
			var out bytes.Buffer
			require.Equal(t, exitFine, run([]string{"build", plain}, &out, &out), out.String())
			edited := filepath.Join("out", "lamp", "player.c")
			source, err := os.ReadFile(edited)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(edited, append([]byte("// "+text+"\n"), source...), 0o666))
			out.Reset()
			require.Equal(t, exitCall, run([]string{"build", plain}, &out, &out), out.String())
			assert.Contains(t, out.String(), "player.c")
			assert.Empty(t, raw(out.Bytes()), "%q", out.String())
		})
	}
}

// quoteTOML is a TOML string of any text: a basic string takes the escapes of JSON.
func quoteTOML(s string) string {
	b, _ := json.Marshal(s)
	return string(b)
}

// A character whose bytes come in two parts is one character.
func TestShownInParts(t *testing.T) {
	var out bytes.Buffer
	s := &shown{Writer: &out}
	for _, b := range []byte("é\u202e\x1b\x9b!\n") {
		n, err := s.Write([]byte{b})
		require.NoError(t, err)
		require.Equal(t, 1, n)
	}
	assert.Equal(t, "é"+`\u202e\u001b`+"\ufffd!\n", out.String())
}
