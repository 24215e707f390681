package main

import (
	"debug/elf"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestVersion(t *testing.T) {
	code, out, _ := call("version")
	assert.Equal(t, exitFine, code)
	assert.Regexp(t, `^propwright \S+\ncommit .*\ngo\S+ for \w+/\w+\ndesign files of format 1\n$`, out)
	_, flag, _ := call("--version")
	assert.Equal(t, out, flag)
}

// A command that .ci/binaries makes of a commit says which it is, needs no
// library, and is the same to the byte in another folder.
func TestBinaries(t *testing.T) {
	if testing.Short() {
		t.Skip("it links the command twice")
	}
	var made [2][]byte
	for i := range made {
		repo, dir := t.TempDir(), t.TempDir()
		for _, args := range [][]string{
			{"git", "clone", "-q", "--no-local", "../..", repo},
			{filepath.Join(repo, ".ci/binaries"), dir, runtime.GOOS + "/" + runtime.GOARCH},
		} {
			said, err := exec.Command(args[0], args[1:]...).CombinedOutput()
			require.NoError(t, err, "%s", said)
		}
		binary := filepath.Join(dir, "propwright-"+runtime.GOOS+"-"+runtime.GOARCH)
		text, err := os.ReadFile(binary)
		require.NoError(t, err)
		made[i] = text
		if i > 0 {
			break
		}
		commit, err := exec.Command("git", "-C", repo, "rev-parse", "HEAD").Output()
		require.NoError(t, err)
		said, err := exec.Command(binary, "version").Output()
		require.NoError(t, err)
		assert.Contains(t, string(said), "commit "+strings.TrimSpace(string(commit)))
		said, err = exec.Command(binary, "licences").Output()
		require.NoError(t, err)
		assert.Equal(t, strings.ToValidUTF8(licences, "\ufffd"), strings.ToValidUTF8(string(said), "\ufffd"))
		f, err := elf.Open(binary)
		require.NoError(t, err)
		defer f.Close()
		libraries, err := f.ImportedLibraries()
		require.NoError(t, err)
		assert.Empty(t, libraries)
		assert.Nil(t, f.Section(".interp"))
	}
	assert.True(t, string(made[0]) == string(made[1]), "the two differ")
}
