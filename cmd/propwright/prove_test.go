package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/avr"
	"propwright/gen/bench"
	"propwright/model"
)

// lamp is a design of few sequences.
const lamp = `format = 1
[prop]
name = "lamp"
board = "atmega328p"
seed = 1
[remote]
pin = 2
stop = "off"
[[remote.button]]
name = "off"
code = "nec:0x04:0x08"
[[remote.button]]
name = "go"
code = "nec:0x04:0x18"
[[output]]
name = "bulb"
kind = "switch"
pin = 10
[[state]]
name = "dark"
kind = "dormant"
[[state]]
name = "lit"
kind = "ambient"
pose = { bulb = true }
[[transition]]
from = "any"
on = "press off"
to = "dark"
[[transition]]
from = "dark"
on = "press go"
to = "lit"
[[transition]]
from = "lit"
on = "press go"
ignore = true
`

// What build writes is proven; a firmware of another design is not, and the rehearsal
// that says where plays at the design.
func TestProve(t *testing.T) {
	if testing.Short() {
		t.Skip("runs a harness and a simulated chip; the whole run does it")
	}
	d, err := model.Read("lamp.prop.toml", []byte(lamp))
	require.NoError(t, err)
	if err := onChip(d); err != nil && os.Getenv("CI") != "true" {
		t.Skip(err)
	}
	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("lamp.prop.toml", []byte(lamp), 0o666))
	code, out, errs := call("prove", "lamp.prop.toml", "-o", "differs.txt")
	require.Equal(t, exitFine, code, "%s%s", out, errs)
	assert.Regexp(t, `^harness      holds
conformance  holds: (\d+) of (\d+) sequences, of \d+ acts in all, through 2 states with what they remember
tour         holds: (\d+) of (\d+) steps, \d+s; 0 pulses, 0 refreshes, [1-9]\d* levels and 0 messages looked at
lamp.prop.toml: proven, as far as the parts above show
$`, out)
	assert.NoFileExists(t, "differs.txt")

	require.NoError(t, os.WriteFile("other.prop.toml", []byte(strings.Replace(lamp, "ignore = true", `to = "dark"`, 1)), 0o666))
	code, out, errs = call("build", "other.prop.toml")
	require.Equal(t, exitFine, code, "%s%s", out, errs)
	tools, err := avr.Find()
	require.NoError(t, err)
	elf, err := tools.Build(t.Context(), filepath.Join("out", "lamp"), t.TempDir(), "atmega328p")
	require.NoError(t, err)
	code, out, errs = call("prove", "lamp.prop.toml", "--hex", elf, "-o", "differs.txt")
	require.Equal(t, exitDesign, code, "%s%s", out, errs)
	assert.Regexp(t, `(?s)^conformance  does not hold
.* +press go
.* +expect lit
 +bulb, [0-9.]+ s after power-up: it is turned off, which nothing asks for
.*lamp.prop.toml: not proven
Was \S+ built from lamp.prop.toml as it is now, and for the atmega328p\?
$`, out)
	code, out, errs = call("rehearse", "lamp.prop.toml", "--script", "differs.txt")
	require.Equal(t, exitFine, code, "%s%s", out, errs)
	code, _, _ = call("rehearse", "other.prop.toml", "--script", "differs.txt")
	assert.Equal(t, exitDesign, code)
}

// A file that is no firmware refutes nothing and proves nothing; one that crashes is told.
func TestProveNoFirmware(t *testing.T) {
	if err := bench.Ready(); err != nil && os.Getenv("CI") != "true" {
		t.Skip(err)
	}
	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("lamp.prop.toml", []byte(lamp), 0o666))
	code, out, errs := call("prove", "lamp.prop.toml", "--hex", "lamp.hex")
	assert.Equal(t, exitCall, code, "%s%s", out, errs)
	assert.Contains(t, errs, "lamp.hex")
	// One instruction that jumps to where nothing is.
	require.NoError(t, os.WriteFile("lamp.hex", []byte(":040000000C9400203C\n:00000001FF\n"), 0o666))
	code, out, errs = call("prove", "lamp.prop.toml", "--hex", "lamp.hex")
	assert.Equal(t, exitDesign, code, "%s%s", out, errs)
	assert.Regexp(t, `conformance  does not hold: the program crashed [0-9.]+ ms after power-up`, out)
	assert.Contains(t, out, "lamp.prop.toml: not proven\nWas lamp.hex built from lamp.prop.toml as it is now, and for the atmega328p?\n")
}
