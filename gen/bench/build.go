package bench

import (
	"context"
	"crypto/sha256"
	_ "embed"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"propwright/gen/avr"
)

//go:embed testdata/runner.c
var runnerSource []byte

// Compile compiles the sketch folder for a chip such as "atmega328p" and
// returns the path of its ELF file, which is gone when the test ends. The
// sketch's own files must compile without a warning.
func Compile(t testing.TB, sketchDir, mcu string) string {
	t.Helper()
	tools, err := avr.Find()
	if err != nil {
		missing(t, err)
	}
	tools.Flags = []string{"-Wall", "-Wextra", "-Werror"}
	elf, err := tools.Build(context.Background(), sketchDir, t.TempDir(), mcu)
	if err != nil {
		t.Fatal(err)
	}
	return elf
}

// runner builds the simulator's runner, once for every version of its source.
func runner(t testing.TB) string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = t.TempDir()
	}
	cache = filepath.Join(cache, "propwright")
	path := filepath.Join(cache, fmt.Sprintf("runner-%x", sha256.Sum256(runnerSource))[:len("runner-")+16])
	if _, err := os.Stat(path); err == nil {
		return path
	}
	gcc, err := exec.LookPath("gcc")
	if err != nil {
		missing(t, err)
	}
	for _, header := range []string{"/usr/include/simavr/sim_avr.h", "/usr/include/libelf.h"} {
		if _, err := os.Stat(header); err != nil {
			missing(t, fmt.Errorf("%w; install the packages libsimavr-dev and libelf-dev", err))
		}
	}
	if err := os.MkdirAll(cache, 0o700); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	source := filepath.Join(dir, "runner.c")
	if err := os.WriteFile(source, runnerSource, 0o644); err != nil {
		t.Fatal(err)
	}
	made := fmt.Sprintf("%s.%d", path, os.Getpid())
	out, err := exec.Command(gcc, "-O2", "-Wall", "-Wextra", "-Werror", source, "-o", made, "-lsimavr", "-lelf").CombinedOutput()
	if err != nil {
		t.Fatalf("building the runner: %v\n%s", err, out)
	}
	if err := os.Rename(made, path); err != nil {
		t.Fatal(err)
	}
	return path
}

// missing ends a test that needs a tool which is not installed.
func missing(t testing.TB, err error) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatal(err)
	}
	t.Skip(err)
}
