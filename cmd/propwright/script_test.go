package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"propwright": func() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// TestScripts plays testdata/script/*.txt, sessions at the command line as
// testscript has them, with five commands of our own:
//
//	fails CODE COMMAND ARGS…  must end with that exit code
//	same A B                  two files, or all files of two folders, are the same
//	copy A B                  a file or a whole folder; what was B is gone
//	append FILE TEXT          a hand edits a file
//	replace FILE OLD NEW      a hand edits all of a file's places
//
// A build finds no compiler on the scripts' PATH, as what it measures takes most
// of its time and other tests look at that; $PATH_WITH_COMPILER has one.
func TestScripts(t *testing.T) {
	cache, err := os.UserCacheDir()
	require.NoError(t, err)
	tools := folderOf(t, "ls", "mkfifo")
	testscript.Run(t, testscript.Params{
		Dir: "../../testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("XDG_CACHE_HOME", cache) // where compiled core libraries are kept
			path := e.Getenv("PATH")
			e.Setenv("PATH_WITH_COMPILER", path)
			propwright := filepath.SplitList(path)[0] // testscript puts its commands first
			e.Setenv("PATH", propwright+string(filepath.ListSeparator)+tools)
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"fails": func(ts *testscript.TestScript, _ bool, args []string) {
				want, err := strconv.Atoi(args[0])
				ts.Check(err)
				var exit *exec.ExitError
				if err := ts.Exec(args[1], args[2:]...); !errors.As(err, &exit) || exit.ExitCode() != want {
					ts.Fatalf("%v, want exit code %d", err, want)
				}
			},
			"same": func(ts *testscript.TestScript, _ bool, args []string) {
				ts.Check(same(ts.MkAbs(args[0]), ts.MkAbs(args[1])))
			},
			"copy": func(ts *testscript.TestScript, _ bool, args []string) {
				from, to := ts.MkAbs(args[0]), ts.MkAbs(args[1])
				ts.Check(os.RemoveAll(to))
				if info, err := os.Stat(from); err == nil && info.IsDir() {
					ts.Check(os.CopyFS(to, os.DirFS(from)))
					return
				}
				text, err := os.ReadFile(from)
				ts.Check(err)
				ts.Check(os.WriteFile(to, text, 0o666))
			},
			"append": func(ts *testscript.TestScript, _ bool, args []string) {
				f, err := os.OpenFile(ts.MkAbs(args[0]), os.O_APPEND|os.O_WRONLY, 0)
				ts.Check(err)
				_, err = fmt.Fprintln(f, args[1])
				ts.Check(errors.Join(err, f.Close()))
			},
			"replace": func(ts *testscript.TestScript, _ bool, args []string) {
				text := ts.ReadFile(args[0])
				if !strings.Contains(text, args[1]) {
					ts.Fatalf("%s has no %s", args[0], args[1])
				}
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.ReplaceAll(text, args[1], args[2])), 0o666))
			},
		},
	})
}

// folderOf makes a folder with those of the programs that are installed, for a PATH
// without a compiler.
func folderOf(t *testing.T, programs ...string) string {
	dir := t.TempDir()
	for _, name := range programs {
		if file, err := exec.LookPath(name); err == nil {
			require.NoError(t, os.Symlink(file, filepath.Join(dir, name)))
		}
	}
	return dir
}

// asCommand is a file that, when it is run, is the command: this test's program
// under the name that TestMain looks for.
func asCommand(t *testing.T) string {
	self, err := os.Executable()
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "propwright")
	require.NoError(t, os.Symlink(self, file))
	return file
}

func same(a, b string) error {
	as, err := readTree(a)
	if err != nil {
		return err
	}
	bs, err := readTree(b)
	if err != nil {
		return err
	}
	for name, text := range as {
		if other, ok := bs[name]; !ok || !bytes.Equal(text, other) {
			return fmt.Errorf("%s differs", name)
		}
	}
	if len(as) != len(bs) {
		return fmt.Errorf("%d files and %d files", len(as), len(bs))
	}
	return nil
}

// readTree reads a file, or all files of a folder by their names in it.
func readTree(root string) (map[string][]byte, error) {
	all := map[string][]byte{}
	err := filepath.WalkDir(root, func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		rel, err := filepath.Rel(root, name)
		if err != nil {
			return err
		}
		all[rel], err = os.ReadFile(name)
		return err
	})
	return all, err
}
