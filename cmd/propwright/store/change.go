package store

import (
	"errors"
	"fmt"
	"io/fs"
	"time"

	"propwright/model"
)

// GoneError is the error of changing a design file that has been removed since it was
// read. Nothing has been written.
type GoneError struct{ File string }

func (e *GoneError) Error() string {
	return fmt.Sprintf("%s is gone: it was removed or renamed after it was read here; nothing has been written", e.File)
}

// mostTries bounds the retries of Change while another program keeps saving the file.
const mostTries = 10

// Change makes a command's change to a design file that the command has read before.
// The file is read as it is now, changed, and saved whole or not at all. If another
// program saves it meanwhile, change is called again with that design, so it must not
// keep anything from an earlier call. written reports whether the text changed; if it
// did not, the file is not written.
//
// The error is a *GoneError if the file no longer exists, and a *BusyError if an editor
// has it open: the two would overwrite each other.
func Change(file string, change func(*model.Design) (*model.Design, error)) (written bool, err error) {
	lock, err := Acquire(file)
	if err != nil {
		return false, err
	}
	defer lock.Release()
	for range mostTries {
		base, err := digest(file) // first: a change between the two must not go unnoticed
		if err != nil {
			return false, err
		}
		d, err := model.Load(file)
		if errors.Is(err, fs.ErrNotExist) {
			return false, &GoneError{file}
		}
		if err != nil {
			return false, err
		}
		if d, err = change(d); err != nil {
			return false, err
		}
		if sumOf(d.Format()) == base {
			return false, nil
		}
		disk, err := digest(file)
		if err != nil {
			return false, err
		}
		if disk == base {
			return true, d.Save(file)
		}
		time.Sleep(pause) // whoever writes there may not have finished
	}
	return false, &ChangedError{file}
}
