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

// ReadFile reads a regular file of no more than most bytes. Everything that a
// user names as input is read here: a pipe could keep the program waiting for
// ever, and a device could fill the memory. The error says what to do; for a
// file that is too large it is a *TooLargeError.
func ReadFile(path string, most int64) ([]byte, error) {
	info, err := os.Stat(path) // before it is opened: opening a pipe waits for its writer
	if err != nil {
		return nil, openError(path, err)
	}
	switch {
	case info.IsDir():
		return nil, fmt.Errorf("%s is a folder; name a file in it", path)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is a pipe or a device; save what it gives to a file and name that", path)
	case info.Size() > most:
		return nil, &TooLargeError{path, info.Size(), most}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, openError(path, err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, most+1)) // it may grow meanwhile
	if err != nil {
		return nil, openError(path, err)
	}
	if int64(len(data)) > most {
		return nil, &TooLargeError{path, int64(len(data)), most}
	}
	return data, nil
}

// TooLargeError is the error of a file with more bytes than it may have.
type TooLargeError struct {
	Path       string
	Size, Most int64 // bytes
}

func (e *TooLargeError) Error() string {
	return fmt.Sprintf("%s has %d bytes, more than the %d that such a file may have; is it the right file?", e.Path, e.Size, e.Most)
}

// Load reads the design file at path. The error is Faults, as with Read, or
// says why the file could not be read; then errors.Is finds fs.ErrNotExist
// and its like.
func Load(path string) (*Design, error) {
	data, err := ReadFile(path, MaxFileSize)
	if large := (*TooLargeError)(nil); errors.As(err, &large) {
		return nil, Faults{*tooLarge(path, large.Size)}
	}
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%w, or start a design with `propwright new`", err)
	}
	if err != nil {
		return nil, err
	}
	return Read(path, data)
}

func openError(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &noFileError{path}
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s may not be read; check its permissions (%w)", path, fs.ErrPermission)
	}
	return fmt.Errorf("%s cannot be read: %w", path, err)
}

type noFileError struct{ path string }

func (e *noFileError) Error() string {
	return fmt.Sprintf("there is no file %s; check its name", e.path)
}
func (e *noFileError) Unwrap() error { return fs.ErrNotExist }

// Save writes the design to path in canonical form, whole or not at all
// (where the system can replace a file at once: not on Windows). A file that
// is there keeps its mode, a symbolic link stays one. A design that is too large
// to be read again is not written: the error is a *TooLargeError.
func (d *Design) Save(path string) error {
	text := d.Format()
	if len(text) > MaxFileSize {
		return &TooLargeError{path, int64(len(text)), MaxFileSize}
	}
	target := path
	if real, err := filepath.EvalSymlinks(path); err == nil {
		target = real
	}
	mode := fs.FileMode(0o644)
	info, missing := os.Stat(target)
	if missing == nil {
		mode = info.Mode().Perm()
	}
	err := maybe.WriteFile(target, text, mode)
	if err == nil && missing == nil {
		err = os.Chmod(target, mode) // the umask may have taken some of it
	}
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, err)
	}
	return nil
}
