package bench

import (
	"crypto/sha256"
	"embed"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// Host is the chip of a sketch for a portable board: none, but this computer
// with a stand-in for the core.
const Host = "host"

//go:embed testdata/core
var coreSource embed.FS

// CompileForHost compiles the sketch folder for this computer, together with a
// stand-in for the core, and returns the program's path. The core's SPI port
// sends on the pin mosi. Further defines go to the compiler as they are. No
// file may give a warning.
func CompileForHost(t TB, sketchDir string, mosi int, defines ...string) string {
	t.Helper()
	for _, tool := range []string{"gcc", "g++"} {
		if _, err := exec.LookPath(tool); err != nil {
			missing(t, err)
		}
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, coreSource); err != nil {
		t.Fatal(err)
	}
	core := filepath.Join(dir, "testdata", "core")
	// Addresses in the file are those at run time: no position-independent code.
	flags := append([]string{"-O1", "-g", "-fno-pie", "-Wall", "-Wextra", "-Wshadow", "-Werror", "-c",
		fmt.Sprintf("-DCORE_MOSI=%d", mosi)}, defines...)
	included := []string{"-I", core, "-I", sketchDir}
	sources, err := filepath.Glob(filepath.Join(sketchDir, "*"))
	if err != nil {
		t.Fatal(err)
	}
	run := func(tool string, args ...string) error {
		if out, err := exec.Command(tool, args...).CombinedOutput(); err != nil {
			return fmt.Errorf("%s %s: %w\n%s", tool, strings.Join(args, " "), err, out)
		}
		return nil
	}
	how := strings.Join(flags, " ")
	// The core takes longer to compile than a sketch.
	coreObject := kept(t, "core", append(coreDigest(t), how...), func(path string) {
		err := run("g++", slices.Concat([]string{"-std=gnu++11"}, flags, []string{"-I", core, filepath.Join(core, "core.cpp"), "-o", path})...)
		if err != nil {
			t.Fatal(err)
		}
	})
	return once(t, sketchDir, how, func(dir string) (string, error) {
		objects := []string{coreObject}
		for _, source := range sources {
			object := filepath.Join(dir, filepath.Base(source)+".o")
			args := slices.Concat(flags, included, []string{source, "-o", object})
			tool := "g++"
			switch filepath.Ext(source) {
			case ".c":
				tool, args = "gcc", append([]string{"-std=gnu11"}, args...)
			case ".cpp":
				args = append([]string{"-std=gnu++11"}, args...)
			case ".ino": // the core's header comes first of itself
				args = append([]string{"-std=gnu++11", "-include", "Arduino.h", "-x", "c++"}, args...)
			default:
				continue
			}
			if err := run(tool, args...); err != nil {
				return "", err
			}
			objects = append(objects, object)
		}
		program := filepath.Join(dir, "sketch")
		return program, run("g++", append([]string{"-no-pie", "-o", program}, objects...)...)
	})
}

// coreDigest returns a digest of the stand-in's files.
func coreDigest(t TB) []byte {
	t.Helper()
	all := sha256.New()
	err := fs.WalkDir(coreSource, ".", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := coreSource.ReadFile(path)
		all.Write(text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all.Sum(nil)
}
