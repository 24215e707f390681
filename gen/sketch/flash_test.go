package sketch

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/model/check"
	"propwright/model/designs/odd"
)

// The compiler says how large each table is.
func TestTablesAreAsLargeAsTheCompilerMakesThem(t *testing.T) {
	seen := map[string]bool{}
	for name, d := range odd.Whole(t) {
		f, err := newFirmware(check.NewStudy(d))
		require.NoError(t, err)
		measured := map[string]int{}
		for symbol, size := range compiledTables(t, f) {
			measured[symbol] = size
			seen[symbol] = true
		}
		said := map[string]int{}
		for _, table := range f.tables() {
			if table.n > 0 {
				said[table.name] = table.each * table.n
			}
		}
		assert.Equal(t, measured, said, name)
	}
	for _, table := range (&firmware{}).tables() {
		assert.True(t, seen[table.name], "no design has %s", table.name)
	}
}

// compiledTables gives the sizes of the symbols in tables.c.
func compiledTables(t *testing.T, f *firmware) map[string]int {
	for _, tool := range []string{"avr-gcc", "avr-nm"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Fatalf("%s is missing: testdata/setup installs it", tool)
		}
	}
	dir := t.TempDir()
	for _, name := range []string{"tables.h", "tables.c"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), fill(name, f), 0o644))
	}
	object := filepath.Join(dir, "tables.o")
	out, err := exec.CommandContext(t.Context(), "avr-gcc", "-mmcu=atmega2560", "-Os", "-std=c99", "-c", filepath.Join(dir, "tables.c"), "-o", object).CombinedOutput()
	require.NoError(t, err, "%s", out)
	list, err := exec.CommandContext(t.Context(), "avr-nm", "-S", object).Output()
	require.NoError(t, err)
	sizes := map[string]int{}
	for line := range bytes.Lines(list) {
		words := strings.Fields(string(line))                                                      // address, size, kind, name
		if len(words) != 4 || !strings.HasPrefix(words[3], "pw_") || words[3] == "pw_state_text" { // a function
			continue
		}
		size, err := strconv.ParseInt(words[1], 16, 64)
		require.NoError(t, err)
		sizes[words[3]] = int(size)
	}
	require.NotEmpty(t, sizes)
	return sizes
}
