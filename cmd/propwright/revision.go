package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"

	"propwright/model"
)

// A version is a design file, or one as git keeps it.
type version struct {
	name string // a file's path, or REV:PATH
	from string // the file to read where it is not that of the name
}

func (v version) title() string { return v.name }

// load reads the design.
func (v version) load() (*model.Design, error) {
	file := v.name
	if v.from != "" {
		file = v.from
	}
	text, err := model.ReadFile(file, model.MaxFileSize)
	rev, path, isRev := strings.Cut(v.name, ":")
	switch {
	case err == nil && v.from != "":
		return model.Read(v.name, text)
	case v.from == "" && errors.Is(err, os.ErrNotExist) && isRev && rev != "" && path != "":
		text, err := showRevision(rev, path)
		if err != nil {
			return nil, err
		}
		d, err := model.Read(v.name, text)
		if err == nil {
			d.File = path // sounds are looked up next to it
		}
		return d, err
	}
	return model.Load(file)
}

// showRevision asks git for a file of a revision; a path is taken from the
// current folder, or else from the repository's root as git does.
func showRevision(rev, path string) ([]byte, error) {
	if _, err := exec.LookPath("git"); err != nil {
		return nil, fmt.Errorf("git is not installed, and there is no file %s:%s", rev, path)
	}
	var why string
	for _, object := range []string{rev + ":./" + path, rev + ":" + path} {
		var stdout, stderr bytes.Buffer
		cmd := exec.Command("git", "show", "--end-of-options", object)
		cmd.Stdout, cmd.Stderr = &stdout, &stderr
		err := cmd.Run()
		if err == nil {
			return stdout.Bytes(), nil
		}
		if why = strings.TrimSpace(stderr.String()); why == "" {
			why = err.Error()
		}
	}
	return nil, fmt.Errorf("git has no %s in revision %s: %s", path, rev, why)
}
