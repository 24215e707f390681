package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var writeLicences = flag.Bool("write-licences", false, "write licences.txt anew")

// Every module that is compiled into the command on one of the systems, and Go
// itself, is in licences.txt with its version and its licence. After a change in
// go.mod, run the test with -write-licences.
func TestLicences(t *testing.T) {
	if testing.Short() {
		t.Skip("it lists the modules of three systems")
	}
	type module struct{ name, dir string }
	root, err := exec.Command("go", "env", "GOROOT").Output()
	require.NoError(t, err)
	modules := []module{{"Go", strings.TrimSpace(string(root))}}
	for _, system := range []string{"linux", "darwin", "windows"} {
		list := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if .Version}}{{.Path}} {{.Version}}\t{{.Dir}}{{end}}{{end}}", ".")
		list.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0")
		out, err := list.Output()
		require.NoError(t, err)
		for line := range strings.Lines(string(out)) {
			if name, dir, ok := strings.Cut(strings.TrimSpace(line), "\t"); ok {
				modules = append(modules, module{name, dir})
			}
		}
	}
	slices.SortFunc(modules, func(a, b module) int { return strings.Compare(a.name, b.name) })
	modules = slices.Compact(modules)
	require.Greater(t, len(modules), 10)

	names := map[string][]string{} // of the modules under a licence
	var texts []string
	for _, m := range modules {
		// freetype's licence is a choice between two files.
		var files []string
		for _, pattern := range []string{"LICENSE*", "NOTICE*", "licenses/ftl.txt"} {
			found, err := filepath.Glob(filepath.Join(m.dir, pattern))
			require.NoError(t, err)
			files = append(files, found...)
		}
		require.NotEmpty(t, files, m.name)
		var text strings.Builder
		for _, file := range files {
			part, err := os.ReadFile(file)
			require.NoError(t, err)
			text.WriteString(strings.TrimSpace(strings.ReplaceAll(string(part), "\r\n", "\n")) + "\n\n")
		}
		if names[text.String()] == nil {
			texts = append(texts, text.String())
		}
		names[text.String()] = append(names[text.String()], m.name)
	}
	var all strings.Builder
	all.WriteString("This command is under the MIT License. It has parts by others, under the\nlicences below.\n\n")
	for _, text := range texts {
		fmt.Fprintf(&all, "==== %s\n\n%s", strings.Join(names[text], ", "), text)
	}
	if *writeLicences {
		require.NoError(t, os.WriteFile("licences.txt", []byte(all.String()), 0o644))
	}
	require.Equal(t, all.String(), licences, "run with -write-licences")
}
