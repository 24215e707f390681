package gen

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestUnified(t *testing.T) {
	assert.Empty(t, unified("a", "b", []byte("x\ny\n"), []byte("x\r\ny\r\n")), "the ends of lines are no difference")
	assert.Equal(t, "--- a\n+++ b\n@@ -1,3 +1,4 @@\n one\n-two\n+2\n+and a half\n three\n",
		unified("a", "b", []byte("one\ntwo\nthree\n"), []byte("one\n2\nand a half\nthree\n")))
	assert.Equal(t, "--- a\n+++ b\n@@ -0,0 +1,1 @@\n+one\n", unified("a", "b", nil, []byte("one\n")))
}

// patch, another program, makes the new text of the old one with it.
func TestPatchTakesUnified(t *testing.T) {
	if _, err := exec.LookPath("patch"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("patch is not installed; run testdata/setup")
		}
		t.Skip("patch is not installed")
	}
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		text := func(what string) string {
			lines := rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b", "c", "", "-x", "+y"}), 0, 40).Draw(t, what)
			if len(lines) == 0 {
				return ""
			}
			return strings.Join(lines, "\n") + "\n"
		}
		old, now := text("old"), text("new")
		file := filepath.Join(dir, "f")
		require.NoError(t, os.WriteFile(file, []byte(old), 0o666))
		diff := unified("f", "f", []byte(old), []byte(now))
		require.Equal(t, old == now, diff == "")
		if diff == "" || now == "" {
			return // patch deletes a file that becomes empty
		}
		cmd := exec.Command("patch", "-s", file)
		cmd.Stdin = strings.NewReader(diff)
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s\n%s", out, diff)
		got, err := os.ReadFile(file)
		require.NoError(t, err)
		require.Equal(t, now, string(got), diff)
	})
}
