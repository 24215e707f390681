package bench

import (
	"errors"
	"fmt"
	"os"
)

// TB is what a bench needs of a test. Try provides one outside of tests.
type TB interface {
	Helper()
	Cleanup(func())
	TempDir() string
	Errorf(format string, args ...any)
	FailNow()
	Fatal(args ...any)
	Fatalf(format string, args ...any)
	Skip(args ...any)
}

// Try calls f and returns as an error what would have ended a test.
func Try(f func(TB)) (err error) {
	t := &trial{}
	defer func() {
		for i := len(t.cleanups) - 1; i >= 0; i-- {
			t.cleanups[i]()
		}
		if ended := recover(); ended != nil && ended != t {
			panic(ended)
		}
		err = errors.Join(t.errs...)
	}()
	f(t)
	return nil
}

// A trial is the TB of Try; it is also what it panics with.
type trial struct {
	errs     []error
	cleanups []func()
}

func (*trial) Helper() {}

func (t *trial) Cleanup(f func()) { t.cleanups = append(t.cleanups, f) }

func (t *trial) TempDir() string {
	dir, err := os.MkdirTemp("", "propwright-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

func (t *trial) Errorf(format string, args ...any) {
	t.errs = append(t.errs, fmt.Errorf(format, args...))
}

func (t *trial) FailNow() { panic(t) }

func (t *trial) Fatalf(format string, args ...any) {
	t.Errorf(format, args...)
	t.FailNow()
}

func (t *trial) Fatal(args ...any) { t.Fatalf("%s", fmt.Sprint(args...)) }

func (t *trial) Skip(args ...any) { t.Fatal(args...) }
