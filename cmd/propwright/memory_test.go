package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/avr"
	"propwright/model/designs"
)

// reeds writes the heron with a strip of its own for the reeds, both of so
// many pixels.
func reeds(t *testing.T, pixels int) {
	t.Helper()
	text := strings.Replace(string(designs.HarbourHeron), "count = 24\nmax_ma = 600", fmt.Sprintf("count = %d\nmax_ma = 600", pixels), 1)
	text = strings.Replace(text, "[[output]]\nname = \"water\"", fmt.Sprintf(`[[output]]
name = "reeds"
kind = "pixels"
pin = 13
count = %d
max_ma = 600

[[output]]
name = "water"`, pixels), 1)
	require.NoError(t, os.WriteFile("heron.prop.toml", []byte(text), 0o666))
}

func TestCheckOfMemory(t *testing.T) {
	t.Chdir(t.TempDir())
	reeds(t, 320)
	code, out, _ := call("check", "heron.prop.toml")
	assert.Equal(t, exitDesign, code)
	assert.Contains(t, out, "error memory: the firmware takes")
	assert.Contains(t, out, "640 pixels take 1920 bytes")

	code, _, errs := call("build", "heron.prop.toml")
	assert.Equal(t, exitDesign, code)
	assert.Contains(t, errs, "error memory")
	assert.NoDirExists(t, "out")
}

// What fits by the estimate, which may be a tenth off, and not when it has
// been compiled, is written and then refused.
func TestBuildMeasuresMemory(t *testing.T) {
	if _, err := avr.Find(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	t.Chdir(t.TempDir())
	reeds(t, 270)
	code, out, _ := call("check", "heron.prop.toml")
	assert.Equal(t, exitFine, code, out)
	code, out, _ = call("build", "heron.prop.toml")
	assert.Equal(t, exitDesign, code)
	assert.Regexp(t, `error memory: the firmware takes 1\d{3} bytes of SRAM or more; the atmega328p has 1856`, out)
	assert.FileExists(t, "out/harbour_heron/harbour_heron.ino")
}
