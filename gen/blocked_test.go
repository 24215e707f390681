package gen

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEditedFileIsShownAndSetAside(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "heron")
	files := []File{{Path: "machine.c", Text: []byte("int a;\nint b;\n")}, {Path: "tour.txt", Text: []byte("1. wake\n")}}
	_, err := Write(dir, files)
	require.NoError(t, err)
	name := filepath.Join(dir, "machine.c")
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	mine := append(text, "int mine;\n"...)
	require.NoError(t, os.WriteFile(name, mine, 0o666))

	_, err = Write(dir, files)
	var blocked *BlockedError
	require.ErrorAs(t, err, &blocked)
	assert.Equal(t, "--- machine.c as built\n+++ machine.c as it is\n@@ -1,2 +1,3 @@\n int a;\n int b;\n+int mine;\n", blocked.Diffs)

	names, err := SetAside(blocked)
	require.NoError(t, err)
	assert.Equal(t, []string{name + Aside}, names)
	report, err := Write(dir, files)
	require.NoError(t, err)
	assert.Equal(t, []string{"machine.c"}, report.Written)
	kept, err := os.ReadFile(name + Aside)
	require.NoError(t, err)
	assert.Equal(t, mine, kept)
	again, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.NotContains(t, string(again), "mine;")

	// What was set aside before is not lost.
	require.NoError(t, os.WriteFile(name, mine, 0o666))
	_, err = Write(dir, files)
	require.ErrorAs(t, err, &blocked)
	_, err = SetAside(blocked)
	assert.ErrorContains(t, err, "is there already")
	still, err := os.ReadFile(name + Aside)
	require.NoError(t, err)
	assert.Equal(t, mine, still)
}
