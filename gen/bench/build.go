package bench

import (
	"context"
	"crypto/sha256"
	_ "embed"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"

	"propwright/gen/avr"
)

//go:embed testdata/runner.c
var runnerSource []byte

// Compile compiles the sketch folder for a chip such as "atmega328p" and
// returns the path of its ELF file, which is removed when the test ends. The
// sketch's own files must compile without a warning.
func Compile(t TB, sketchDir, mcu string) string {
	t.Helper()
	tools, err := avr.Find()
	if err != nil {
		missing(t, err)
	}
	tools.Flags = []string{"-Wall", "-Wextra", "-Werror"}
	return once(t, sketchDir, mcu, func(dir string) (string, error) {
		return tools.Build(context.Background(), sketchDir, dir, mcu)
	})
}

// compiled caches programs for all tests that ask for the same one: a
// func() ([]byte, error) by its sources.
var compiled sync.Map

// once returns the program that build makes of a sketch folder in a folder that it is
// given. It is made once in a process for the same files and the same how, and is gone
// when the test ends.
func once(t TB, sketchDir, how string, build func(dir string) (program string, err error)) string {
	t.Helper()
	from := sha256.New()
	fmt.Fprintln(from, how)
	files, err := filepath.Glob(filepath.Join(sketchDir, "*.*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintln(from, filepath.Base(file), len(text))
		from.Write(text)
	}
	made, _ := compiled.LoadOrStore(string(from.Sum(nil)), sync.OnceValues(func() ([]byte, error) {
		dir, err := os.MkdirTemp("", "bench")
		if err != nil {
			return nil, err
		}
		defer os.RemoveAll(dir)
		program, err := build(dir)
		if err != nil {
			return nil, err
		}
		return os.ReadFile(program)
	}))
	program, err := made.(func() ([]byte, error))()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), filepath.Base(sketchDir))
	if err := os.WriteFile(path, program, 0o700); err != nil {
		t.Fatal(err)
	}
	return path
}

// kept returns a file in the user's cache folder that is made once for everything that
// it is made from. make writes it to a path.
func kept(t TB, name string, from []byte, make func(path string)) string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = t.TempDir()
	}
	cache = filepath.Join(cache, "propwright")
	path := filepath.Join(cache, fmt.Sprintf("%s-%x", name, sha256.Sum256(from))[:len(name)+17])
	if _, err := os.Stat(path); err == nil {
		return path
	}
	if err := os.MkdirAll(cache, 0o700); err != nil {
		t.Fatal(err)
	}
	made, err := os.MkdirTemp(cache, name) // tests run at the same time
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(made)
	make(filepath.Join(made, name))
	if err := os.Rename(filepath.Join(made, name), path); err != nil {
		t.Fatal(err)
	}
	return path
}

// Ready says what is missing to run a simulated chip, and what to install.
func Ready() error {
	var missing []error
	if _, err := exec.LookPath("gcc"); err != nil {
		missing = append(missing, fmt.Errorf("gcc not found; %s", avr.Install("the package gcc", "a C compiler that is called gcc")))
	}
	for _, header := range []string{"/usr/include/simavr/sim_avr.h", "/usr/include/libelf.h"} {
		if _, err := os.Stat(header); err != nil {
			missing = append(missing, fmt.Errorf("%s not found; %s", header, avr.Install("the packages libsimavr-dev and libelf-dev", "simavr and libelf, with their headers")))
		}
	}
	return errors.Join(missing...)
}

// runner builds the simulator's runner.
func runner(t TB) string {
	t.Helper()
	if err := Ready(); err != nil {
		missing(t, err)
	}
	return kept(t, "runner", runnerSource, func(path string) {
		source := filepath.Join(t.TempDir(), "runner.c")
		if err := os.WriteFile(source, runnerSource, 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("gcc", "-O2", "-Wall", "-Wextra", "-Werror", source, "-o", path, "-lsimavr", "-lelf").CombinedOutput()
		if err != nil {
			t.Fatalf("building the runner: %v\n%s", err, out)
		}
	})
}

// missing ends a test that needs a tool which is not installed.
func missing(t TB, err error) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatal(err)
	}
	t.Skip(err)
}
