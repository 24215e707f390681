package live

import (
	"errors"
	"fmt"
	"io"
	"time"
)

// ErrClosed means that the serial line has ended.
var ErrClosed = errors.New("the line is closed: was the board unplugged?")

// Listen takes in what comes over the line, and checks several times a second whether
// the prop has answered, until stop is called or something goes wrong. It calls say with
// each sentence, and ended with the reason of the end: ErrClosed or a MarkError. These
// calls are in functions that queue must run one after the other; use the Prop and stop
// only in such functions.
func (p *Prop) Listen(line io.Reader, queue func(func()), say func(string), ended func(error)) (stop func()) {
	over := make(chan struct{})
	listens := true
	stop = func() {
		if listens {
			listens = false
			close(over)
		}
	}
	hears := func(said []string, err error) {
		for _, s := range said {
			say(s)
		}
		if err != nil && listens {
			stop()
			ended(err)
		}
	}
	go func() {
		for r := NewReader(line); ; {
			told, strange, closed := r.Next()
			queue(func() {
				if !listens {
					return
				}
				said, err := p.Take(told, strange, time.Now())
				if err == nil && closed != nil {
					err = ErrClosed
				}
				hears(said, err)
			})
			if closed != nil {
				return
			}
		}
	}()
	go func() {
		t := time.NewTicker(100 * time.Millisecond)
		defer t.Stop()
		for {
			select {
			case <-over:
				return
			case now := <-t.C:
				queue(func() {
					if listens {
						hears(p.Tick(now))
					}
				})
			}
		}
	}()
	return stop
}

// closed is that something could not be sent.
func closed(err error) error { return fmt.Errorf("%w (%w)", ErrClosed, err) }
