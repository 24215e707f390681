// Package odd holds designs that are out of the ordinary, as tests want them:
// every kind of output, letters of all sorts, names that are words of other
// languages, nothing but a stop button, sixty states, a spoken routine.
package odd

import (
	"embed"
	"io/fs"
	"testing"

	"github.com/stretchr/testify/require"

	"propwright/model"
	"propwright/model/designs"
)

// FS holds the designs' files, NAME.prop.toml.
//
//go:embed *.prop.toml
var FS embed.FS

// Whole reads these designs, and those of package designs, by
// the props' names.
func Whole(t testing.TB) map[string]*model.Design {
	t.Helper()
	all := map[string]*model.Design{}
	for _, in := range []fs.FS{FS, designs.FS} {
		files, err := fs.Glob(in, "*.prop.toml")
		require.NoError(t, err)
		require.NotEmpty(t, files)
		for _, file := range files {
			text, err := fs.ReadFile(in, file)
			require.NoError(t, err)
			d, err := model.Read(file, text)
			require.NoError(t, err)
			all[d.Prop.Name] = d
		}
	}
	return all
}
