package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/avr"
	"propwright/model"
	"propwright/model/designs"
)

func build(t *testing.T, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	require.Equal(t, exitFine, run(append([]string{"build"}, args...), &stdout, &stderr), stderr.String())
	return stdout.String()
}

func TestSummary(t *testing.T) {
	if testing.Short() {
		t.Skip("it compiles much")
	}
	if _, err := avr.Find(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	t.Chdir(t.TempDir())
	said := build(t)
	assert.Regexp(t, `(?m)^Harbour Heron, for the atmega328p$`, said)
	assert.Regexp(t, `(?m)^  states       8: 1 dormant, 2 ambient, 5 performing$`, said)
	assert.Regexp(t, `(?m)^  transitions  \d+, with 9 buttons$`, said)
	assert.Regexp(t, `(?m)^  findings     no findings$`, said)
	assert.Regexp(t, `(?m)^  flash        \d,\d{3} of 32,256 bytes \(\d+ %\)$`, said)
	assert.Regexp(t, `(?m)^  SRAM         \d+ of 2,048 bytes \(\d+ %\), at most 1\d\d of stack, 1,\d\d\d free$`, said)
	assert.Contains(t, said, "measured with avr-gcc")
	assert.Contains(t, said, "or open "+filepath.FromSlash("out/harbour_heron/harbour_heron.ino"))

	// The same as data. What the compiler measured is what it measured before.
	var s summary
	require.NoError(t, json.Unmarshal([]byte(build(t, "--json")), &s))
	assert.Equal(t, map[string]int{"dormant": 1, "ambient": 2, "performing": 5}, s.States)
	assert.Empty(t, s.Files.Kept)
	assert.Empty(t, s.Files.Written)
	assert.Empty(t, s.Memory.WhyEstimated)
	assert.Contains(t, said, model.FormatCount(s.Memory.Flash)+" of")
	assert.Contains(t, said, model.FormatCount(s.Memory.SRAM)+" of")
}

func TestSummaryWithoutCompiler(t *testing.T) {
	t.Chdir(t.TempDir())
	t.Setenv("PATH", "")
	said := build(t)
	assert.Regexp(t, `(?m)^  flash        \d,\d{3} of 32,256 bytes`, said)
	assert.Regexp(t, `(?m)^ +estimated: avr-gcc.* not found; install the packages`, said)
	assert.NotContains(t, said, "measured")
}

// What the compiler says of the maker's own code is shown.
func TestSummaryWithBrokenHooks(t *testing.T) {
	if _, err := avr.Find(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	t.Chdir(t.TempDir())
	build(t)
	require.NoError(t, os.WriteFile("out/harbour_heron/hooks.cpp", []byte("void hook_enter(uint8_t s) { oops }\n"), 0o666))
	code, said, errs := call("build")
	assert.Equal(t, exitDesign, code, errs)
	assert.Contains(t, said, "estimated, as it does not compile: ")
	assert.Contains(t, said, "hooks.cpp:1")
	assert.Contains(t, said, "Next: mend what is said above")
}

// Of a portable board's chip nothing is known, and its part of the firmware is
// said to be unproven wherever a maker looks.
func TestSummaryOfPortableBoard(t *testing.T) {
	t.Chdir(t.TempDir())
	text := strings.Replace(string(designs.HarbourHeron), `"atmega328p"`, `"portable32"`, 1)
	require.NoError(t, os.WriteFile("heron.prop.toml", []byte(text), 0o666))
	said := build(t, "heron.prop.toml")
	assert.Regexp(t, `(?m)^Harbour Heron, for the portable32$`, said)
	assert.Regexp(t, `(?m)^  memory       not known`, said)
	assert.Regexp(t, `(?m)^  not proven   no firmware for this board has run on a chip`, said)
	assert.NotContains(t, said, "flash")
	assert.NotContains(t, build(t, "heron.prop.toml", "--json"), `"memory"`)
	for file, says := range map[string]string{"board.cpp": "NOT PROVEN", "harbour_heron.ino": "not proven on any chip"} {
		got, err := os.ReadFile(filepath.Join("out/harbour_heron", file))
		require.NoError(t, err)
		assert.Contains(t, string(got), says)
	}
	code, _, errs := call("learn", "heron.prop.toml", "--sketch", ".")
	assert.Equal(t, exitCall, code)
	assert.Contains(t, errs, "no capture sketch for a portable32")
}
