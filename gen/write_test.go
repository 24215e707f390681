package gen

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// build is a small build; v is in every file, so another v is another design.
func build(v string) []File {
	return []File{
		{Path: "machine.c", Text: []byte("int machine; // " + v + "\n")},
		{Path: "hooks.cpp", Text: []byte("// yours " + v + "\n"), Yours: true},
		{Path: "harness/go.mod", Text: []byte("module heron_harness\n")},
		{Path: "harness/tables.go", Text: []byte("package harness // " + v + "\n")},
	}
}

// tree reads a whole folder: slash path to text, "/" to a folder, "-> x" to a link.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(name string, e fs.DirEntry, err error) error {
		require.NoError(t, err)
		rel, err := filepath.Rel(dir, name)
		require.NoError(t, err)
		switch rel = filepath.ToSlash(rel); {
		case e.IsDir():
			all[rel] = "/"
		case e.Type()&fs.ModeSymlink != 0:
			to, err := os.Readlink(name)
			require.NoError(t, err)
			all[rel] = "-> " + to
		default:
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			all[rel] = string(text)
		}
		return nil
	}))
	return all
}

// built makes a folder with build("1") in it.
func built(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "out", "heron")
	_, err := Write(dir, build("1"))
	require.NoError(t, err)
	return dir
}

func TestWriteNewFolder(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	report, err := Write(filepath.Join(out, "heron"), build("1"))
	require.NoError(t, err)
	assert.Equal(t, Report{Written: []string{"harness/go.mod", "harness/tables.go", "hooks.cpp", "machine.c"}}, report)
	got := tree(t, out)
	assert.Equal(t, string(seal("hooks.cpp", []byte("// yours 1\n"), yoursText)), got["heron/hooks.cpp"])
	assert.NotContains(t, got["heron/hooks.cpp"], "DO NOT EDIT")
	assert.Equal(t, string(Seal("machine.c", []byte("int machine; // 1\n"))), got["heron/machine.c"])
	assert.Len(t, got, 7, "and nothing else is left beside: %v", got)
	info, err := os.Stat(filepath.Join(out, "heron", "machine.c"))
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&0o044, "others may read it as far as the umask lets them")
	info, err = os.Stat(filepath.Join(out, "heron"))
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&0o055)
}

func TestWriteTwiceTouchesNothing(t *testing.T) {
	dir := built(t)
	before := tree(t, dir)
	long := time.Date(2001, 2, 3, 4, 5, 6, 0, time.UTC)
	for name, text := range before {
		if text != "/" {
			require.NoError(t, os.Chtimes(filepath.Join(dir, name), long, long))
		}
	}
	report, err := Write(dir, build("1"))
	require.NoError(t, err)
	assert.Equal(t, Report{
		Unchanged: []string{"harness/go.mod", "harness/tables.go", "hooks.cpp", "machine.c"},
	}, report)
	assert.Equal(t, before, tree(t, dir))
	for name, text := range before {
		if text != "/" {
			info, err := os.Stat(filepath.Join(dir, name))
			require.NoError(t, err)
			assert.True(t, info.ModTime().Equal(long), name)
		}
	}
}

func TestWriteChangedDesign(t *testing.T) {
	dir := built(t)
	hooks := filepath.Join(dir, "hooks.cpp")
	require.NoError(t, os.WriteFile(hooks, []byte("void mine() {}\n"), 0o666))
	report, err := Write(dir, build("2"))
	require.NoError(t, err)
	assert.Equal(t, Report{
		Written:   []string{"harness/tables.go", "machine.c"},
		Unchanged: []string{"harness/go.mod"},
		Kept:      []string{"hooks.cpp"},
	}, report)

	other := filepath.Join(t.TempDir(), "heron")
	_, err = Write(other, build("2"))
	require.NoError(t, err)
	want := tree(t, other)
	want["hooks.cpp"] = "void mine() {}\n"
	assert.Equal(t, want, tree(t, dir), "updating gives what building anew gives")
}

func TestWriteAfterLineEndsChanged(t *testing.T) {
	dir := built(t)
	name := filepath.Join(dir, "machine.c")
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	crlf := bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n"))
	require.NoError(t, os.WriteFile(name, crlf, 0o666))

	report, err := Write(dir, build("1"))
	require.NoError(t, err)
	assert.Contains(t, report.Unchanged, "machine.c")
	assert.Equal(t, string(crlf), tree(t, dir)["machine.c"])

	report, err = Write(dir, build("2"))
	require.NoError(t, err)
	assert.Contains(t, report.Written, "machine.c")
	assert.NotContains(t, tree(t, dir)["machine.c"], "\r")
}

func TestWriteMayNotOverwrite(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(t *testing.T, dir string)
		want  []Blocked // paths inside the folder
	}{
		"edited": {
			func(t *testing.T, dir string) { appendTo(t, filepath.Join(dir, "machine.c"), "int mine;\n") },
			[]Blocked{{"machine.c", "it was edited since it was built"}},
		},
		"all edited files are named": {
			func(t *testing.T, dir string) {
				appendTo(t, filepath.Join(dir, "harness/go.mod"), "go 1.1\n")
				appendTo(t, filepath.Join(dir, "machine.c"), "int mine;\n")
			},
			[]Blocked{
				{"machine.c", "it was edited since it was built"},
				{"harness/go.mod", "it was edited since it was built"},
			},
		},
		"not from a build": {
			func(t *testing.T, dir string) {
				require.NoError(t, os.WriteFile(filepath.Join(dir, "machine.c"), []byte("int mine;\n"), 0o666))
			},
			[]Blocked{{"machine.c", "it carries no mark of a build"}},
		},
		"cut to nothing": {
			func(t *testing.T, dir string) { require.NoError(t, os.Truncate(filepath.Join(dir, "machine.c"), 0)) },
			[]Blocked{{"machine.c", "it carries no mark of a build"}},
		},
		"a folder in a file's place": {
			func(t *testing.T, dir string) { replaceByFolder(t, filepath.Join(dir, "machine.c")) },
			[]Blocked{{"machine.c", "it is not a plain file"}},
		},
		"a folder in the place of hooks.cpp": {
			func(t *testing.T, dir string) { replaceByFolder(t, filepath.Join(dir, "hooks.cpp")) },
			[]Blocked{{"hooks.cpp", "it is not a plain file"}},
		},
		"a link in a file's place": {
			func(t *testing.T, dir string) {
				name := filepath.Join(dir, "machine.c")
				require.NoError(t, os.Rename(name, filepath.Join(dir, "kept.c")))
				require.NoError(t, os.Symlink("kept.c", name))
			},
			[]Blocked{{"machine.c", "it is not a plain file"}},
		},
		"a link in a folder's place": {
			func(t *testing.T, dir string) {
				require.NoError(t, os.Rename(filepath.Join(dir, "harness"), filepath.Join(dir, "h")))
				require.NoError(t, os.Symlink("h", filepath.Join(dir, "harness")))
			},
			[]Blocked{
				{"harness/go.mod", "a folder on its way is not a plain folder"},
				{"harness/tables.go", "a folder on its way is not a plain folder"},
			},
		},
		"a file in a folder's place": {
			func(t *testing.T, dir string) {
				require.NoError(t, os.RemoveAll(filepath.Join(dir, "harness")))
				require.NoError(t, os.WriteFile(filepath.Join(dir, "harness"), nil, 0o666))
			},
			[]Blocked{
				{"harness/go.mod", "a folder on its way is not a plain folder"},
				{"harness/tables.go", "a folder on its way is not a plain folder"},
			},
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := built(t)
			c.spoil(t, dir)
			before := tree(t, dir)
			report, err := Write(dir, build("2"))
			var blocked *BlockedError
			require.ErrorAs(t, err, &blocked)
			for i := range c.want {
				c.want[i].Path = filepath.Join(dir, c.want[i].Path)
				assert.Contains(t, err.Error(), c.want[i].Path+": "+c.want[i].Why)
			}
			assert.Equal(t, c.want, blocked.Files)
			assert.Contains(t, err.Error(), "hooks.cpp", "says what to do")
			assert.Zero(t, report)
			assert.Equal(t, before, tree(t, dir), "nothing at all is written")
		})
	}
}

func appendTo(t *testing.T, name, text string) {
	t.Helper()
	f, err := os.OpenFile(name, os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.WriteString(text)
	require.NoError(t, err)
	require.NoError(t, f.Close())
}

func replaceByFolder(t *testing.T, name string) {
	t.Helper()
	require.NoError(t, os.Remove(name))
	require.NoError(t, os.Mkdir(name, 0o777))
}

func TestWriteFollowsTheDesignUntilTheMakerEdits(t *testing.T) {
	dir := built(t)
	report, err := Write(dir, build("2"))
	require.NoError(t, err)
	assert.Contains(t, report.Written, "hooks.cpp")
	assert.Contains(t, tree(t, dir)["hooks.cpp"], "// yours 2\n")

	appendTo(t, filepath.Join(dir, "hooks.cpp"), "int mine;\n")
	report, err = Write(dir, build("3"))
	require.NoError(t, err)
	assert.Equal(t, []string{"hooks.cpp"}, report.Kept)
	assert.Contains(t, tree(t, dir)["hooks.cpp"], "// yours 2\nint mine;\n")
}

func TestWriteKeepsALinkedHooksFile(t *testing.T) {
	dir := built(t)
	hooks := filepath.Join(dir, "hooks.cpp")
	require.NoError(t, os.Remove(hooks))
	require.NoError(t, os.Symlink("../shared.cpp", hooks))
	report, err := Write(dir, build("2"))
	require.NoError(t, err)
	assert.Equal(t, []string{"hooks.cpp"}, report.Kept)
	assert.Equal(t, "-> ../shared.cpp", tree(t, dir)["hooks.cpp"])
}

func TestWriteFilesOfAFormerBuild(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "heron")
	former := append(build("1"),
		File{Path: "gone.c", Text: []byte("int gone;\n")},
		File{Path: "sub/deep/gone.c", Text: []byte("int gone;\n")},
		File{Path: "edited.c", Text: []byte("int gone;\n")})
	_, err := Write(dir, former)
	require.NoError(t, err)
	appendTo(t, filepath.Join(dir, "edited.c"), "int mine;\n")
	// What no build wrote, a copy of a built file and version control stay.
	text := tree(t, dir)["gone.c"]
	require.NoError(t, os.MkdirAll(filepath.Join(dir, ".git"), 0o777))
	for name, text := range map[string]string{"notes.txt": "mine\n", "copy.c": text, ".git/gone.c": text} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666))
	}

	report, err := Write(dir, build("1"))
	require.NoError(t, err)
	assert.Equal(t, []string{"gone.c", "sub/deep/gone.c"}, report.Removed)
	assert.Equal(t, []string{"edited.c"}, report.Left)
	got := tree(t, dir)
	for _, name := range []string{"edited.c", "notes.txt", "copy.c", ".git/gone.c", "hooks.cpp"} {
		assert.Contains(t, got, name)
	}
	for _, name := range []string{"gone.c", "sub"} {
		assert.NotContains(t, got, name)
	}
}

func TestWriteFolderInTheWay(t *testing.T) {
	root := t.TempDir()
	file := filepath.Join(root, "file")
	require.NoError(t, os.WriteFile(file, []byte("mine"), 0o666))
	require.NoError(t, os.Symlink("nowhere", filepath.Join(root, "loose")))
	before := tree(t, root)
	for _, c := range []struct{ dir, want string }{
		{file, "is a file"},
		{filepath.Join(file, "heron"), "not a directory"},
		{filepath.Join(root, "loose"), "is a symbolic link to nowhere"},
		// root may write anywhere but here; proc is no place to make folders.
		{"/proc/propwright/heron", "cannot make the folder"},
	} {
		_, err := Write(c.dir, build("1"))
		require.ErrorContains(t, err, c.want)
	}
	assert.Equal(t, before, tree(t, root))
}

// A link in place of the prop's folder, or of the folder that it is in, would
// lead the build to another place than the one that was named.
func TestWriteFollowsNoLinkToTheFolder(t *testing.T) {
	dir := built(t)
	before := tree(t, filepath.Dir(dir))
	links := t.TempDir()
	require.NoError(t, os.Symlink(dir, filepath.Join(links, "heron")))
	require.NoError(t, os.Symlink(filepath.Dir(dir), filepath.Join(links, "out")))
	for _, link := range []string{filepath.Join(links, "heron"), filepath.Join(links, "out", "heron"), filepath.Join(links, "out", "egret")} {
		_, err := Write(link, build("2"))
		require.ErrorContains(t, err, "is a symbolic link to "+filepath.Dir(dir))
		require.ErrorContains(t, err, "-o")
	}
	assert.Equal(t, before, tree(t, filepath.Dir(dir)))
}

// A build that is killed between two renames leaves a folder that does not
// compile, and the next one makes it whole.
func TestWriteKilledBetweenRenames(t *testing.T) {
	gated := func(v string) []File {
		return append(build(v), File{Path: "tables.h", Text: []byte("// tables " + v + "\n"), Gate: true}, File{Path: "more" + v + ".c"})
	}
	whole := func(v string) map[string]string {
		dir := filepath.Join(t.TempDir(), "heron")
		_, err := Write(dir, gated(v))
		require.NoError(t, err)
		return tree(t, dir)
	}
	before, after := whole("1"), whole("2")
	killed := errors.New("killed")
	for kill := 0; ; kill++ {
		dir := filepath.Join(t.TempDir(), "heron")
		_, err := Write(dir, gated("1"))
		require.NoError(t, err)
		p, err := look(dir, gated("2"))
		require.NoError(t, err)
		n := 0
		p.rename = func(from, to string) error {
			if n++; n > kill {
				return killed
			}
			return os.Rename(from, to)
		}
		err = p.update()
		got := tree(t, dir)
		switch {
		case err == nil:
			require.Equal(t, after, got)
			require.Greater(t, kill, 3)
			return
		case kill == 0:
			require.Equal(t, before, got)
		default:
			require.Contains(t, got["tables.h"], "#error", "killed at rename %d", n)
		}
		require.ErrorIs(t, err, killed)
		require.NoError(t, os.MkdirAll(filepath.Join(dir, ".propwright-7", "new"), 0o777)) // what is left where nothing could be tidied
		_, err = Write(dir, gated("2"))
		require.NoError(t, err)
		require.Equal(t, after, tree(t, dir))
	}
}

// A name longer than a file system takes (255 bytes on those in use) fails
// while the text is staged, after other files were staged: as a full disk would.
func TestWriteFailingHalfWayLeavesNothing(t *testing.T) {
	bad := append(build("2"), File{Path: "harness/" + strings.Repeat("x", 300) + ".c", Text: []byte("x")})

	root := t.TempDir()
	_, err := Write(filepath.Join(root, "heron"), bad)
	require.Error(t, err)
	assert.Equal(t, map[string]string{".": "/"}, tree(t, root), "no half-written folder")

	dir := built(t)
	before := tree(t, dir)
	_, err = Write(dir, bad)
	require.Error(t, err)
	assert.Equal(t, before, tree(t, dir), "an existing folder stays as it was")
}

func TestWriteRefusesPathsOutside(t *testing.T) {
	root := t.TempDir()
	for _, path := range []string{"../machine.c", "/machine.c", "", "a/../../b"} {
		_, err := Write(filepath.Join(root, "heron"), []File{{Path: path}})
		require.Error(t, err, path)
	}
	_, err := Write(filepath.Join(root, "heron"), []File{{Path: "a.c"}, {Path: "a.c"}})
	require.Error(t, err, "the same path twice")
	assert.Equal(t, map[string]string{".": "/"}, tree(t, root))
}
