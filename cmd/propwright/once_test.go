package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/tools/cover"
)

// What is worked out of a design is worked out once. The command is built so
// that it counts how often each of its functions is called.
func TestWorkedOutOnce(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the command anew")
	}
	dir := t.TempDir()
	command := filepath.Join(dir, "propwright")
	counted := []string{"cmd/propwright", "model/machine", "model/timed", "gen/sketch"}
	output(t, exec.Command("go", "build", "-cover", "-covermode=atomic", "-coverpkg=propwright/"+strings.Join(counted, ",propwright/"), "-o", command, "."))

	heron := "../../model/designs/harbour-heron.prop.toml"
	for _, c := range []struct {
		args    []string
		designs int
	}{
		{[]string{"check", heron}, 1},
		{[]string{"check", "--json", heron}, 1},
		{[]string{"build", heron, "-o", filepath.Join(dir, "out")}, 1},
		{[]string{"card", heron}, 1},
		{[]string{"diff", heron, "../../model/designs/bell-buoy.prop.toml"}, 2},
	} {
		counts := t.TempDir()
		call := exec.Command(command, c.args...)
		call.Env = append(os.Environ(), "GOCOVERDIR="+counts, "PATH=") // no compiler measures what was built
		output(t, call)
		profile := filepath.Join(counts, "profile")
		output(t, exec.Command("go", "tool", "covdata", "textfmt", "-i", counts, "-o", profile))
		profiles, err := cover.ParseProfiles(profile)
		require.NoError(t, err)
		for _, f := range []struct{ file, name string }{
			{"model/machine/compile.go", "Compile"},
			{"model/timed/space.go", "Explore"},
			{"gen/sketch/sketch.go", "newFirmware"},
		} {
			want := c.designs
			if c.args[0] == "card" && f.name == "newFirmware" {
				want = 0
			}
			assert.Equal(t, want, calls(t, profiles, f.file, f.name), "calls of %s by %s", f.name, c.args[0])
		}
	}
}

// calls is how often a function was called: its first statement was run.
func calls(t *testing.T, profiles []*cover.Profile, file, name string) int {
	positions := token.NewFileSet()
	parsed, err := parser.ParseFile(positions, "../../"+file, nil, 0)
	require.NoError(t, err)
	for _, decl := range parsed.Decls {
		f, ok := decl.(*ast.FuncDecl)
		if !ok || f.Name.Name != name || f.Recv != nil {
			continue
		}
		first := positions.Position(f.Body.List[0].Pos()).Line
		for _, p := range profiles {
			for _, b := range p.Blocks {
				if p.FileName == "propwright/"+file && b.StartLine <= first && first <= b.EndLine {
					return b.Count
				}
			}
		}
	}
	require.Fail(t, "not counted", "%s in %s", name, file)
	return 0
}

func output(t *testing.T, c *exec.Cmd) {
	out, err := c.CombinedOutput()
	require.NoError(t, err, "%s: %s", c, out)
}

// BenchmarkCommands is what a call takes without the start of the process. Only
// "build and compile" runs a compiler, if there is one.
func BenchmarkCommands(b *testing.B) {
	const (
		heron  = "../../model/designs/harbour-heron.prop.toml"
		parade = "../../model/designs/odd/pier-parade.prop.toml"
	)
	for _, c := range []struct {
		name     string
		compiler bool
		args     []string
	}{
		{"check", false, []string{"check", heron}},
		{"check the largest", false, []string{"check", parade}},
		{"build", false, []string{"build", heron, "-o", b.TempDir()}},
		{"build and compile", true, []string{"build", heron, "-o", b.TempDir()}},
		{"diff", false, []string{"diff", parade, heron}},
	} {
		b.Run(c.name, func(b *testing.B) {
			if !c.compiler {
				b.Setenv("PATH", "")
			}
			for b.Loop() {
				require.NotEqual(b, exitCall, run(c.args, io.Discard, io.Discard))
			}
		})
	}
}
