package store

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/gofrs/flock"
)

// A Lock reserves a design file for one editor, or a prop's folder for one build. It
// ends with the process, however that ends.
type Lock struct{ file *flock.Flock }

// lockName returns the file beside a design's that is locked; the design's own is
// another one after every save.
func lockName(file string) string {
	dir, base := filepath.Split(file)
	return dir + "." + base + ".lock"
}

// aMoment is more than a command takes to change a file: longer, an editor has it.
const aMoment = time.Second

// Acquire locks a file or a folder, which need not exist. The error is a *BusyError if
// another editor has it; Acquire waits for a command that is changing it. If nothing can
// be written beside the file, or the system has no such locks, the Lock holds nothing.
func Acquire(file string) (*Lock, error) {
	name := lockName(file)
	for end := time.Now().Add(aMoment); ; time.Sleep(aMoment / 50) {
		f := flock.New(name, flock.SetPermissions(0o666))
		locked, err := f.TryLock()
		switch {
		case err != nil:
			return &Lock{}, nil
		case locked && isAt(f, name):
			return &Lock{f}, nil
		}
		f.Unlock()
		if time.Now().After(end) {
			return nil, &BusyError{file}
		}
	}
}

// BusyError is the error of a file that somebody else has.
type BusyError struct{ File string }

func (e *BusyError) Error() string {
	return fmt.Sprintf("%s is open in another editor; go on there, or leave that one first", e.File)
}

// isAt reports whether the file that is locked still has its name: whoever
// held the lock before may have removed it in between, and then it keeps nobody
// out.
func isAt(f *flock.Flock, name string) bool {
	mine, err := f.Stat()
	if err != nil {
		return false
	}
	there, err := os.Stat(name)
	return err == nil && os.SameFile(mine, there)
}

// Release unlocks the file. It removes the lock's own file while that is still locked,
// so that it cannot be another editor's; on systems that do not remove open files, it
// does so afterwards.
func (l *Lock) Release() {
	if l.file == nil {
		return
	}
	kept := os.Remove(l.file.Path()) != nil
	l.file.Unlock()
	if kept {
		os.Remove(l.file.Path())
	}
	l.file = nil
}
