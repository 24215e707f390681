package store

import (
	"errors"
	"fmt"
	"io/fs"
	"time"

	"propwright/model"
)

// GoneError is the error of changing a design file that another hand has taken
// away since it was read. Nothing has been written.
type GoneError struct{ File string }

func (e *GoneError) Error() string {
	return fmt.Sprintf("%s is gone: it was removed or renamed after it was read here; nothing has been written", e.File)
}

// mostTries bounds how often Change begins again while another program keeps
// saving the file.
const mostTries = 10

// Change makes a command's change to a design file that the command has read
// before. The file is read as it is now, changed, and saved whole or not at all.
// What another program saves meanwhile is not overwritten: the change is then
// made to that, so it must not keep anything of a call before. A text that the
// change leaves alone is not written; written tells.
//
// The error is a *GoneError where the file is not there any more. It is an
// error too where an editor has the file: the two would overwrite each other.
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
