package store_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/cmd/propwright/store"
)

func TestLock(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "heron.prop.toml")
	first, err := store.Acquire(file)
	require.NoError(t, err)
	_, err = store.Acquire(file)
	require.ErrorContains(t, err, "heron.prop.toml is open in another editor; go on there, or leave that one first")
	other, err := store.Acquire(filepath.Join(dir, "other.prop.toml"))
	require.NoError(t, err)
	other.Release()
	first.Release()
	first.Release() // twice does no harm
	again, err := store.Acquire(file)
	require.NoError(t, err)
	again.Release()
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, left, "nothing stays in the folder")
}

// Where nothing can be written a design can still be looked at.
func TestLockWhereNothingCanBeWritten(t *testing.T) {
	l, err := store.Acquire(filepath.Join(t.TempDir(), "nowhere", "heron.prop.toml"))
	require.NoError(t, err)
	l.Release()
}
