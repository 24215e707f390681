package rehearsal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"propwright/model"
)

// Suffix ends the name of a script's file. The scripts of heron.prop.toml
// stand next to it as heron.TITLE.rehearsal.txt.
const Suffix = ".rehearsal.txt"

const designSuffix = ".prop.toml"

// File is where a design's script of a title is kept.
func File(design, title string) string {
	return strings.TrimSuffix(design, designSuffix) + "." + title + Suffix
}

// Title is a script's title: what its file's name says between the design's
// name and Suffix.
func (s *Script) Title(design string) string {
	base := filepath.Base(strings.TrimSuffix(design, designSuffix))
	return strings.TrimPrefix(strings.TrimSuffix(filepath.Base(s.File), Suffix), base+".")
}

// Load reads the script in a file. The error is model.Faults, or says why the
// file could not be read.
func Load(file string) (*Script, error) {
	text, err := model.ReadFile(file, maxScript)
	if err != nil {
		return nil, fmt.Errorf("the script cannot be read: %w", err)
	}
	return ParseScript(file, text)
}

// Beside reads the scripts that stand next to a design's file, in the order
// of their names. A script that cannot be read is left out and told in the
// error, which joins one for each.
func Beside(design string) ([]*Script, error) {
	dir, base := filepath.Split(strings.TrimSuffix(design, designSuffix))
	entries, err := os.ReadDir(filepath.Clean(dir))
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		title, ok := strings.CutPrefix(e.Name(), base+".")
		if ok && strings.HasSuffix(title, Suffix) && len(title) > len(Suffix) && !e.IsDir() {
			names = append(names, e.Name())
		}
	}
	slices.Sort(names)
	var scripts []*Script
	var errs []error
	for _, name := range names {
		s, err := Load(filepath.Join(dir, name))
		if err != nil {
			errs = append(errs, err)
			continue
		}
		scripts = append(scripts, s)
	}
	return scripts, errors.Join(errs...)
}
