package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/tools/txtar"
)

// TestScripts plays testdata/script/*.txt: each an archive (txtar) whose
// comment is the script and whose files are the folder it is played in. A
// script has one command a line:
//
//	exec propwright ARGS…     must exit 0
//	fails CODE propwright ARGS…
//	stdout REGEXP             the last call's output has a match (^ and $ at lines)
//	stderr REGEXP
//	! stdout REGEXP           has none
//	exists FILE…
//	! exists FILE…
//	same A B                  two files, or all files of two folders, are the same
//	copy A B                  a file or a whole folder; what was B is gone
//	append FILE TEXT…         a hand edits a file
//	remove FILE
func TestScripts(t *testing.T) {
	scripts, err := filepath.Glob("../../testdata/script/*.txt")
	require.NoError(t, err)
	require.NotEmpty(t, scripts)
	for _, name := range scripts {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txt"), func(t *testing.T) {
			archive, err := txtar.ParseFile(name)
			require.NoError(t, err)
			dir := t.TempDir()
			for _, f := range archive.Files {
				file := filepath.Join(dir, filepath.FromSlash(f.Name))
				require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o777))
				require.NoError(t, os.WriteFile(file, f.Data, 0o666))
			}
			t.Chdir(dir)
			s := script{}
			for i, line := range strings.Split(string(archive.Comment), "\n") {
				line = strings.TrimSpace(line)
				if line == "" || line[0] == '#' {
					continue
				}
				if err := s.play(line); err != nil {
					t.Fatalf("line %d: %s\n%v\nstdout:\n%s\nstderr:\n%s", i+1, line, err, s.stdout.String(), s.stderr.String())
				}
			}
		})
	}
}

type script struct{ stdout, stderr bytes.Buffer }

// play does one line.
func (s *script) play(line string) error {
	line, not := strings.CutPrefix(line, "! ")
	word, rest, _ := strings.Cut(line, " ")
	args := strings.Fields(rest)
	if not && word != "stdout" && word != "stderr" && word != "exists" {
		return fmt.Errorf("! has no meaning here")
	}
	switch {
	case word == "exec" && len(args) > 0 && args[0] == "propwright":
		return s.call(exitFine, args[1:])
	case word == "fails" && len(args) > 1 && args[1] == "propwright":
		code, err := strconv.Atoi(args[0])
		if err != nil {
			return err
		}
		return s.call(code, args[2:])
	case word == "stdout":
		return match(s.stdout.String(), rest, !not)
	case word == "stderr":
		return match(s.stderr.String(), rest, !not)
	case word == "exists":
		for _, a := range args {
			if _, err := os.Lstat(a); (err == nil) == not {
				return fmt.Errorf("%s: %v", a, err)
			}
		}
		return nil
	case word == "same" && len(args) == 2:
		return same(args[0], args[1])
	case word == "copy" && len(args) == 2:
		if err := os.RemoveAll(args[1]); err != nil {
			return err
		}
		if info, err := os.Stat(args[0]); err == nil && info.IsDir() {
			return os.CopyFS(args[1], os.DirFS(args[0]))
		}
		text, err := os.ReadFile(args[0])
		if err != nil {
			return err
		}
		return os.WriteFile(args[1], text, 0o666)
	case word == "append" && len(args) > 1:
		f, err := os.OpenFile(args[0], os.O_APPEND|os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		defer f.Close()
		_, err = fmt.Fprintln(f, strings.Join(args[1:], " "))
		return err
	case word == "remove" && len(args) == 1:
		return os.Remove(args[0])
	}
	return fmt.Errorf("not a command of these scripts")
}

func (s *script) call(want int, args []string) error {
	s.stdout.Reset()
	s.stderr.Reset()
	if got := run(args, &s.stdout, &s.stderr); got != want {
		return fmt.Errorf("exit code %d, want %d", got, want)
	}
	return nil
}

func match(text, pattern string, want bool) error {
	re, err := regexp.Compile("(?m)" + pattern)
	if err != nil {
		return err
	}
	if re.MatchString(text) != want {
		return fmt.Errorf("match: %t, want %t", !want, want)
	}
	return nil
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
