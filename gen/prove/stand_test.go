package prove

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/gen"
	"propwright/gen/bench"
	"propwright/gen/sketch"
	"propwright/model"
	"propwright/model/check"
)

// build writes a design's firmware into a folder.
func build(t testing.TB, d *model.Design) (dir string) {
	files, err := sketch.Files(check.NewStudy(d))
	require.NoError(t, err)
	dir = filepath.Join(t.TempDir(), sketch.Folder(d))
	_, err = gen.Write(dir, files)
	require.NoError(t, err)
	if spoilt := os.Getenv(spoiltBoard); spoilt != "" {
		spoil(t, dir, spoilt, d)
	}
	return dir
}

// newStand builds the firmware and powers both up. A design without a seed
// gets one, so that both draw the same.
func newStand(t testing.TB, d *model.Design, o bench.Options) *stand {
	return newStandWith(t, d, "", o)
}

// newStandWith does so with a hooks.cpp, if it is not empty.
func newStandWith(t testing.TB, d *model.Design, hooks string, o bench.Options) *stand {
	if d.Prop.Seed == 0 {
		d.Prop.Seed = 1
	}
	dir := build(t, d)
	if hooks != "" {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "hooks.cpp"), []byte(hooks), 0o644))
	}
	return powerUp(t, compile(t, dir, d), d, o)
}
