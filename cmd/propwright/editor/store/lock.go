package store

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/gofrs/flock"
)

// A Lock keeps a design file to one editor. It ends with the process, however
// that ends.
type Lock struct{ file *flock.Flock }

// lockName is the file beside a design's that is locked; the design's own is
// another one after every save.
func lockName(file string) string {
	dir, base := filepath.Split(file)
	return dir + "." + base + ".lock"
}

// Acquire locks a design file, which need not be there. It is an error if
// another editor has it. Where nothing can be written beside the file, or the
// system knows no such locks, the Lock holds nothing.
func Acquire(file string) (*Lock, error) {
	f := flock.New(lockName(file), flock.SetPermissions(0o666))
	switch locked, err := f.TryLock(); {
	case err != nil:
		return &Lock{}, nil
	case !locked:
		return nil, fmt.Errorf("%s is open in another editor; go on there, or leave that one first", file)
	}
	return &Lock{f}, nil
}

// Release gives the file free. The lock's own file is removed while it is
// still locked, so that no other editor's is; where the system keeps files that
// are open, it is removed afterwards.
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
