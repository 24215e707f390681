package main

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Names that are words elsewhere, letters of all kinds, codes without a
// protocol, a remote with one button: everything that is made of a design is
// made of these, and the compilers take it.
func TestOddDesigns(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	files, err := filepath.Glob("../../model/designs/odd/*.prop.toml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".prop.toml"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			t.Chdir(t.TempDir())
			require.NoError(t, os.WriteFile("x.prop.toml", text, 0o666))
			must := func(args ...string) string {
				t.Helper()
				code, out, errs := call(args...)
				require.Equal(t, exitFine, code, "%v: %s%s", args, out, errs)
				return out
			}
			for _, ending := range []string{"svg", "png", "dot", "mmd", "html", "csv"} {
				must("chart", "x.prop.toml", "-o", "chart."+ending)
			}
			must("card", "x.prop.toml", "-o", "card.html")
			must("card", "x.prop.toml", "-o", "card.pdf")
			must("tour", "x.prop.toml")
			must("wiring", "x.prop.toml")
			must("export", "x.prop.toml", "-o", "x.scxml")
			must("import", "x.scxml", "-o", "again.prop.toml")
			_, does, _ := strings.Cut(must("diff", "x.prop.toml", "again.prop.toml", "--chart", "diff.svg"), "What it does\n")
			does, _, _ = strings.Cut(does, "\n\n")
			for line := range strings.Lines(does) {
				assert.Regexp(t, `: nothing now \(do .* before\)$`, strings.TrimSpace(line), "a chart has no outputs")
			}
			assert.Contains(t, must("diff", "x.prop.toml", "x.prop.toml"), "The prop does the same.")
			must("diff", "--facts", "x.prop.toml")
			assert.NotContains(t, must("build", "x.prop.toml"), "error:", "what a compiler says")

			f, err := os.Open("chart.csv")
			require.NoError(t, err)
			defer f.Close()
			lines, err := csv.NewReader(f).ReadAll()
			require.NoError(t, err)
			for _, l := range lines {
				for _, cell := range l {
					assert.False(t, cell != "" && strings.Contains("=+-@\t\r", cell[:1]), "a spreadsheet would calculate %q", cell)
				}
			}
		})
	}
}
