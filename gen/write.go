package gen

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// File is one file of a build.
type File struct {
	Path  string // inside the prop's folder, with slashes: "machine.c", "harness/go.mod"
	Text  []byte // lines end in \n; Write seals it
	Yours bool   // the maker's from the first edit on: then never overwritten

	// Gate is set for a C header that every other source includes. While a
	// build is changing a folder the header has an #error in place of its text:
	// what a build that was killed leaves behind does not compile.
	Gate bool
}

// Report says what Write did. Paths are as in File.Path, sorted.
type Report struct {
	Written   []string `json:"written,omitempty"`   // new or changed
	Unchanged []string `json:"unchanged,omitempty"` // were there with this text, not touched
	Kept      []string `json:"kept,omitempty"`      // Yours files that were edited, not touched
	Removed   []string `json:"removed,omitempty"`   // files of a former build that this build does not have
	Left      []string `json:"left,omitempty"`      // the same, but edited by hand, so not removed
}

// Write seals the files of a build and brings the folder dir up to date with them.
//
// First it looks at all that is there. A file of the build that a hand has
// edited, or that no build wrote, is not overwritten: then nothing at all is
// written and the error is a *BlockedError that names every such file. Then
// it writes all new text beside the folder's files and renames it into place;
// a folder that did not exist appears whole or not at all. A failure before
// the renames leaves everything as it was; from then on until the last one the
// folder's Gate keeps it from being compiled. Two builds into one folder must
// not run at the same time: the caller sees to it.
//
// A folder or a file that is a symbolic link is not written through: it would
// lead the build to another place than the one that was named.
//
// Files of a former build, known by their marks, that this build does not
// have are removed unless they were edited.
func Write(dir string, files []File) (Report, error) {
	p, err := look(dir, files)
	if err != nil {
		return Report{}, err
	}
	if p.fresh {
		err = p.create()
	} else {
		err = p.update()
	}
	if err != nil {
		return Report{}, err
	}
	return p.report, nil
}

// plan is what is to be done in a folder.
type plan struct {
	dir    string
	fresh  bool   // there is no such folder yet
	write  []File // sealed
	gate   *File  // sealed; nil where the build has none
	report Report

	rename func(from, to string) error
}

// look compares the files with what is there and touches nothing.
func look(dir string, files []File) (*plan, error) {
	p := &plan{dir: dir, rename: os.Rename}
	for _, folder := range []string{filepath.Dir(dir), dir} {
		if info, err := os.Lstat(folder); err == nil && info.Mode()&fs.ModeSymlink != 0 {
			to, _ := os.Readlink(folder)
			return nil, fmt.Errorf("%s is a symbolic link to %s, and a build follows none: delete it, or name the folder itself with -o", folder, to)
		}
	}
	switch info, err := os.Lstat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		p.fresh = true
	case err != nil:
		return nil, fmt.Errorf("cannot look at the prop's folder: %w", err)
	case !info.IsDir():
		return nil, fmt.Errorf("%s is a file, and the prop's folder would have its name: move the file away, or build with another -o", dir)
	}

	var blocked BlockedError
	mine := map[string]bool{}
	for _, f := range files {
		if !filepath.IsLocal(filepath.FromSlash(f.Path)) || mine[f.Path] {
			return nil, fmt.Errorf("gen: the build has a bad or a second path %q", f.Path)
		}
		mine[f.Path] = true
		mark := markText
		if f.Yours {
			mark = yoursText
		}
		f.Text = seal(f.Path, f.Text, mark)
		if f.Gate {
			p.gate = &f
		}
		is, err := p.lookAt(f)
		if err != nil {
			return nil, err
		}
		switch is {
		case missing, old:
			p.write = append(p.write, f)
			p.report.Written = append(p.report.Written, f.Path)
		case same:
			p.report.Unchanged = append(p.report.Unchanged, f.Path)
		case kept:
			p.report.Kept = append(p.report.Kept, f.Path)
		default:
			name := filepath.Join(dir, filepath.FromSlash(f.Path))
			blocked.Files = append(blocked.Files, Blocked{Path: name, Why: string(is)})
			if is == edited {
				text, err := os.ReadFile(p.at(f.Path))
				if err != nil {
					return nil, err
				}
				blocked.Diffs += unified(f.Path+" as built", f.Path+" as it is", withoutMark(f.Text), withoutMark(text))
			}
		}
	}
	if blocked.Files != nil {
		return nil, &blocked
	}
	if !p.fresh {
		if err := p.lookForFormer(mine); err != nil {
			return nil, err
		}
	}
	for _, s := range [][]string{p.report.Written, p.report.Unchanged, p.report.Kept, p.report.Removed, p.report.Left} {
		slices.Sort(s)
	}
	return p, nil
}

// found is what stands in a file's place.
type found string

const (
	missing  found = "missing"
	old      found = "a former build's"
	same     found = "up to date"
	kept     found = "the maker's"
	edited   found = "it was edited since it was built"
	foreign  found = "it carries no mark of a build"
	notPlain found = "it is not a plain file"
	notDir   found = "a folder on its way is not a plain folder"
)

func (p *plan) lookAt(f File) (found, error) {
	if p.fresh {
		return missing, nil
	}
	// A link on the way would lead the build out of the prop's folder.
	parts := strings.Split(f.Path, "/")
	for i := range parts[:len(parts)-1] {
		switch info, err := os.Lstat(p.at(strings.Join(parts[:i+1], "/"))); {
		case errors.Is(err, fs.ErrNotExist):
			return missing, nil
		case err != nil:
			return "", err
		case !info.IsDir():
			return notDir, nil
		}
	}
	info, err := os.Lstat(p.at(f.Path))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return missing, nil
	case err != nil:
		return "", err
	case f.Yours && info.Mode()&fs.ModeSymlink != 0:
		return kept, nil // a link here is the maker's own wish
	case !info.Mode().IsRegular():
		return notPlain, nil
	}
	if is, err := marked(p.at(f.Path)); err != nil || is == "" && !f.Yours {
		return foreign, err
	}
	text, err := os.ReadFile(p.at(f.Path))
	switch {
	case err != nil:
		return "", err
	case !Intact(f.Path, text) && f.Yours:
		return kept, nil
	case !Intact(f.Path, text):
		return edited, nil
	case sameText(text, f.Text):
		return same, nil
	}
	return old, nil
}

// lookForFormer finds the files whose marks say that a build wrote them in
// their places, and that this build does not have.
func (p *plan) lookForFormer(mine map[string]bool) error {
	return filepath.WalkDir(p.dir, func(name string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if e.IsDir() && name != p.dir && strings.HasPrefix(e.Name(), ".") {
			return fs.SkipDir // version control and the like
		}
		if !e.Type().IsRegular() {
			return nil
		}
		rel, err := filepath.Rel(p.dir, name)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		if mine[rel] {
			return nil
		}
		if is, err := marked(name); err != nil || is != rel {
			return err
		}
		text, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		if Intact(rel, text) {
			p.report.Removed = append(p.report.Removed, rel)
		} else {
			p.report.Left = append(p.report.Left, rel)
		}
		return nil
	})
}

// marked returns the path that a file's mark names, or ""; it reads no more of the
// file than a mark's place, as a prop's folder may hold long sounds.
func marked(name string) (string, error) {
	f, err := os.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	head, err := io.ReadAll(io.LimitReader(f, markWithin))
	return markedPath(head), err
}

// stagePrefix begins the name of the folder that a build's files are written
// into before they are renamed. One that is there when a build begins was left
// by a build that was killed.
const stagePrefix = ".propwright-"

// stage makes the folder for new files in another one, and removes what builds
// before have left there.
func stage(parent, prefix string) (string, error) {
	left, err := filepath.Glob(filepath.Join(parent, prefix+"*"))
	if err != nil {
		left = nil // the folder's name has a character of patterns
	}
	for _, name := range left {
		if info, err := os.Lstat(name); err == nil && info.IsDir() {
			os.RemoveAll(name) // where it does not go, nothing is lost
		}
	}
	name, err := os.MkdirTemp(parent, prefix)
	if err != nil {
		return "", fmt.Errorf("cannot write into %s: %w", parent, err)
	}
	return name, nil
}

// create makes the folder whole beside its place and renames it.
func (p *plan) create() error {
	parent, base := filepath.Split(filepath.Clean(p.dir))
	parent = filepath.Clean(parent)
	if err := os.MkdirAll(parent, 0o777); err != nil {
		return fmt.Errorf("cannot make the folder for the build: %w", err)
	}
	stage, err := stage(parent, stagePrefix+base+"-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(stage)
	whole := filepath.Join(stage, base)
	if err := writeAll(whole, p.write); err != nil {
		return err
	}
	return p.rename(whole, p.dir)
}

// shut returns the text of a Gate while the rest of the folder changes.
func shut(path string) []byte {
	return Seal(path, []byte("#error \"the build of this sketch was interrupted; run propwright build again\"\n"))
}

// update stages all new text inside the folder, so on the same disk, and
// renames it file by file, the Gate first and last. Files of a former build go
// while it is shut: some toolchains compile all that is in a folder.
func (p *plan) update() error {
	if len(p.write)+len(p.report.Removed) == 0 {
		return nil
	}
	stage, err := stage(p.dir, stagePrefix)
	if err != nil {
		return err
	}
	defer os.RemoveAll(stage)
	from := func(part, name string) string { return filepath.Join(stage, part, filepath.FromSlash(name)) }
	if err := writeAll(from("new", ""), p.write); err != nil {
		return err
	}
	type move struct{ from, to string }
	var moves []move
	for _, f := range p.write {
		if !f.Gate {
			moves = append(moves, move{from("new", f.Path), p.at(f.Path)})
		}
	}
	if p.gate != nil {
		closed := *p.gate
		closed.Text = shut(closed.Path)
		if err := errors.Join(writeAll(from("shut", ""), []File{closed}), writeAll(from("open", ""), []File{*p.gate})); err != nil {
			return err
		}
		moves = slices.Insert(moves, 0, move{from("shut", closed.Path), p.at(closed.Path)})
	}
	for i, m := range moves {
		err := os.MkdirAll(filepath.Dir(m.to), 0o777)
		if err == nil {
			err = p.rename(m.from, m.to)
		}
		if err != nil {
			return fmt.Errorf("%d of %d files are in place, then: %w; build again", i, len(moves), err)
		}
	}
	for _, name := range p.report.Removed {
		if err := os.Remove(p.at(name)); err != nil {
			return err
		}
		// Its folder goes with the last file in it; one that is not empty stays.
		for d := filepath.Dir(p.at(name)); d != p.dir && os.Remove(d) == nil; {
			d = filepath.Dir(d)
		}
	}
	if p.gate != nil {
		return p.rename(from("open", p.gate.Path), p.at(p.gate.Path))
	}
	return nil
}

// writeAll writes the files below a folder of its own.
func writeAll(dir string, files []File) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	for _, f := range files {
		name := filepath.Join(dir, filepath.FromSlash(f.Path))
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			return err
		}
		if err := writeFile(name, f.Text); err != nil {
			return err
		}
	}
	return nil
}

// writeFile writes a new file to the disk, not only to its cache: a rename
// after a power cut must not show an empty file.
func writeFile(name string, text []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	return errors.Join(err, f.Sync(), f.Close())
}

// at returns where a file of the build stands on the disk.
func (p *plan) at(path string) string {
	return filepath.Join(p.dir, filepath.FromSlash(path))
}
