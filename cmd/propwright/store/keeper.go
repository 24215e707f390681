package store

import (
	"fmt"
	"sync"
	"time"

	"propwright/model"
)

// pause is the least time between two writings of the journal. A crash loses
// what was done in it and while the journal is written.
const pause = 250 * time.Millisecond

// A keeper writes the journal of one file in a goroutine of its own.
type keeper struct {
	file string
	disk sync.Mutex // held while a file is written; guards base
	base sum        // of the design file as last read or written here

	mu      sync.Mutex // guards the rest
	design  *model.Design
	pending bool // design, or its absence, is not in the journal yet
	failed  error
	wake    chan struct{} // nil while the goroutine does not run
	quit    chan struct{}
	done    chan struct{}
}

func newKeeper(file string, base sum) *keeper { return &keeper{file: file, base: base} }

// hand gives a design to the journal; nil removes it.
func (k *keeper) hand(d *model.Design) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.design, k.pending = d, true
	if k.wake == nil {
		k.wake, k.quit, k.done = make(chan struct{}, 1), make(chan struct{}), make(chan struct{})
		go k.run(k.wake, k.quit, k.done)
	}
	select {
	case k.wake <- struct{}{}:
	default: // it is awake
	}
}

// settled forgets what was handed over: the file has it.
func (k *keeper) settled() {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.design, k.pending = nil, false
}

func (k *keeper) trouble() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.failed
}

// stop ends the goroutine; what it has not written is still pending.
func (k *keeper) stop() {
	k.mu.Lock()
	quit, done := k.quit, k.done
	k.wake, k.quit = nil, nil
	k.mu.Unlock()
	if quit != nil {
		close(quit)
		<-done
	}
}

func (k *keeper) run(wake, quit <-chan struct{}, done chan<- struct{}) {
	defer close(done)
	for {
		select {
		case <-quit:
			return
		case <-wake:
		}
		k.write()
		select {
		case <-quit:
			return
		case <-time.After(pause):
		}
	}
}

// write brings the journal up to date.
func (k *keeper) write() {
	k.disk.Lock()
	defer k.disk.Unlock()
	k.mu.Lock()
	d, pending := k.design, k.pending
	k.pending = false
	k.mu.Unlock()
	if !pending {
		return
	}
	var err error
	if d == nil {
		err = Discard(k.file)
	} else if err = write(k.file, k.base, d.Format()); err != nil {
		err = fmt.Errorf("the journal for recovery cannot be written: %w", err)
	}
	k.mu.Lock()
	k.failed = err
	k.mu.Unlock()
}
