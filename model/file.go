package model

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/google/renameio/v2/maybe"
)

// Load reads the design file at path. The error is Faults, as with Read, or
// says why the file could not be read; then errors.Is finds fs.ErrNotExist
// and its like.
func Load(path string) (*Design, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, openError(path, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, openError(path, err)
	}
	if info.IsDir() {
		return nil, fmt.Errorf("%s is a folder; name the design file in it, which ends in .prop.toml", path)
	}
	if info.Size() > MaxFileSize {
		return nil, Faults{*tooLarge(path, info.Size())}
	}
	data, err := io.ReadAll(io.LimitReader(f, MaxFileSize+1)) // a pipe does not tell its size
	if err != nil {
		return nil, openError(path, err)
	}
	return Read(path, data)
}

func openError(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no file %s; check its name, or start a design with `propwright new` (%w)", path, fs.ErrNotExist)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s may not be read; check its permissions (%w)", path, fs.ErrPermission)
	}
	return fmt.Errorf("%s cannot be read: %w", path, err)
}

// Save writes the design to path in canonical form, whole or not at all
// (where the system can replace a file at once: not on Windows). A file that
// is there keeps its mode, a symbolic link stays one.
func (d *Design) Save(path string) error {
	target := path
	if real, err := filepath.EvalSymlinks(path); err == nil {
		target = real
	}
	mode := fs.FileMode(0o644)
	info, missing := os.Stat(target)
	if missing == nil {
		mode = info.Mode().Perm()
	}
	err := maybe.WriteFile(target, d.Format(), mode)
	if err == nil && missing == nil {
		err = os.Chmod(target, mode) // the umask may have taken some of it
	}
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, err)
	}
	return nil
}
