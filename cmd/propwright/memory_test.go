package main

import (
	"fmt"
	"os"
	"sort"
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

// What fits to the byte passes the check and the build; one pixel more, or what
// the maker's own code takes, does not.
func TestBuildAgreesAboutMemory(t *testing.T) {
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
	most := 220 + sort.Search(100, func(more int) bool {
		reeds(t, 220+more+1)
		code, _, _ := call("check", "heron.prop.toml")
		return code != exitFine
	})
	reeds(t, most)
	code, out, errs := call("build", "heron.prop.toml")
	assert.Equal(t, exitFine, code, out, errs)
	assert.Contains(t, out, "measured with avr-gcc")
	assert.Regexp(t, `SRAM         1,7(8[6-9]|9[0-2]) of 2,048 bytes`, out)

	for _, own := range []struct {
		bytes int
		says  string
	}{
		{64, `error memory: the firmware takes 18\d\d bytes of SRAM; the atmega328p has 1792, without 256 for the stack`},
		{3000, `error memory: the firmware does not fit into the atmega328p: with what hooks.cpp adds, the linker has no room for it`},
	} {
		hooks := fmt.Sprintf("#include \"hooks.h\"\nstatic volatile uint8_t mine[%d];\nvoid hook_loop(void) { mine[0] = 1; }\n", own.bytes)
		require.NoError(t, os.WriteFile("out/harbour_heron/hooks.cpp", []byte(hooks+restOfHooks), 0o666))
		code, out, errs = call("build", "heron.prop.toml")
		assert.Equal(t, exitDesign, code, out, errs)
		assert.Regexp(t, own.says, out)
	}
}

const restOfHooks = `
void hook_setup(void) {}
void hook_enter(uint8_t) {}
void hook_leave(uint8_t) {}
void hook_event(uint8_t) {}
`
