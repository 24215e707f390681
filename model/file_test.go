package model_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"propwright/model"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLoadAndSave(t *testing.T) {
	path := filepath.Join(t.TempDir(), "heron.prop.toml")
	d, err := model.Read("f", small(""))
	require.NoError(t, err)
	require.NoError(t, d.Save(path))
	again, err := model.Load(path)
	require.NoError(t, err)
	assert.Equal(t, path, again.File)
	assert.Equal(t, string(d.Format()), string(again.Format()))
	left, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	assert.Len(t, left, 1, "no other file stays behind")
}

func TestSaveKeepsModeAndLink(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("modes and links are those of Unix")
	}
	dir := t.TempDir()
	path, link := filepath.Join(dir, "heron.prop.toml"), filepath.Join(dir, "link.prop.toml")
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	require.NoError(t, os.Symlink(path, link))
	d, err := model.Read("f", small(""))
	require.NoError(t, err)
	for _, mode := range []fs.FileMode{0o600, 0o666, 0o440} {
		require.NoError(t, os.Chmod(path, mode))
		require.NoError(t, d.Save(link))
		info, err := os.Lstat(path)
		require.NoError(t, err)
		assert.Equal(t, mode, info.Mode())
	}
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.Equal(t, fs.ModeSymlink, info.Mode().Type())
}

// A failed saving leaves the file as it was.
func TestSaveFails(t *testing.T) {
	d, err := model.Read("f", small(""))
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "no-such-folder", "heron.prop.toml")
	require.ErrorContains(t, d.Save(path), path+" cannot be written")
}

func TestLoadSaysWhatIsWrong(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "heron.prop.toml")
	_, err := model.Load(path)
	require.ErrorContains(t, err, "there is no file "+path+"; check its name, or start a design with `propwright new`")
	require.ErrorIs(t, err, fs.ErrNotExist)

	_, err = model.Load(dir)
	require.ErrorContains(t, err, dir+" is a folder")

	require.NoError(t, os.WriteFile(path, make([]byte, 20_000_000), 0o600))
	_, err = model.Load(path)
	require.ErrorContains(t, err, path+": the file has 19.1 MiB")
}
