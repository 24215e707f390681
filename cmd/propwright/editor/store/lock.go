package store

import (
	"fmt"
	"os"
	"path/filepath"
)

// A Lock keeps a design file to one editor. It ends with the process, however
// that ends.
type Lock struct{ file *os.File }

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
	f, err := os.OpenFile(lockName(file), os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return &Lock{}, nil
	}
	if locked(f) {
		f.Close()
		return nil, fmt.Errorf("%s is open in another editor; go on there, or leave that one first", file)
	}
	return &Lock{f}, nil
}

// Release gives the file free.
func (l *Lock) Release() {
	if l.file != nil {
		os.Remove(l.file.Name())
		l.file.Close()
		l.file = nil
	}
}
