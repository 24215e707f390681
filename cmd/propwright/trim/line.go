package trim

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"

	"propwright/cmd/propwright/ports"
)

const (
	baud     = 115200
	mostLine = 256                    // bytes, far more than the sketch sends; what is longer is noise
	again    = 500 * time.Millisecond // then a line is sent once more: it may have been lost
	greeted  = 6 * time.Second        // most that a board takes from its reset to the sketch
)

// Patience is the most time that a move may take: the longest way takes 11 s, from 400 to
// 2600 us at 200 us a second.
const Patience = 15 * time.Second

// A Line is a board with the trim sketch.
type Line struct {
	port io.ReadWriteCloser
	name string
	said chan string // lines, closed when the port is
	quit chan struct{}
	once sync.Once
	mu   sync.Mutex // of writing
}

// Open opens a serial port and waits for the trim sketch of a prop. The error says what
// is on the port instead, or that of ports.Open.
func Open(name, prop string) (*Line, error) {
	port, err := ports.Open(name, baud)
	if err != nil {
		return nil, err
	}
	l := newLine(port, name)
	if err := l.greet(prop, greeted); err != nil {
		return nil, errors.Join(err, l.Close())
	}
	return l, nil
}

func newLine(port io.ReadWriteCloser, name string) *Line {
	l := &Line{port: port, name: name, said: make(chan string, 16), quit: make(chan struct{})}
	go l.listen()
	go l.keep()
	return l
}

// Close ends the pulses, which takes the sketch two seconds.
func (l *Line) Close() error {
	l.once.Do(func() { close(l.quit) })
	return l.port.Close()
}

// listen hands lines over. Those that nobody waits for are dropped, and so is noise
// without line ends.
func (l *Line) listen() {
	defer close(l.said)
	r := bufio.NewReaderSize(l.port, mostLine)
	for whole := true; ; {
		text, err := r.ReadSlice('\n')
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			whole = false
			continue
		case err != nil:
			return
		case whole:
			select {
			case l.said <- strings.TrimSpace(string(text)):
			default:
			}
		}
		whole = true
	}
}

// keep keeps the pulses going while a maker looks at the linkage.
func (l *Line) keep() {
	for {
		select {
		case <-l.quit:
			return
		case <-time.After(again):
			if l.write("") != nil {
				return
			}
		}
	}
}

func (l *Line) write(line string) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	_, err := io.WriteString(l.port, line+"\n")
	return err
}

// ask sends a line repeatedly until the right answer comes. The error says that the line
// is gone, or that no such answer came in time.
func (l *Line) ask(line string, patience time.Duration, is func(answer string) bool) (ok, gone bool) {
	late := time.After(patience)
	for {
		if l.write(line) != nil {
			return false, true
		}
		once := time.After(again)
	waiting:
		for {
			select {
			case answer, open := <-l.said:
				if !open {
					return false, true
				}
				if is(answer) {
					return true, false
				}
			case <-once:
				break waiting
			case <-late:
				return false, false
			}
		}
	}
}

// greet waits for the sketch to name its prop.
func (l *Line) greet(prop string, patience time.Duration) error {
	var other string
	ok, gone := l.ask("?", patience, func(answer string) bool {
		name, trim := strings.CutPrefix(answer, "trim ")
		if trim && name != prop {
			other = name
		}
		return trim && name == prop
	})
	switch {
	case ok:
		return nil
	case gone:
		return l.lost()
	case other != "":
		return fmt.Errorf("the trim sketch on %s is that of %q, not of %q: upload this one's with flash --trim", l.name, other, prop)
	}
	return fmt.Errorf("nothing on %s answers as the trim sketch of %q: upload it with flash --trim, and close other programs that use the port", l.name, prop)
}

func (l *Line) lost() error {
	return fmt.Errorf("the line to the board on %s is gone: look at the cable. Without it the pulses end after two seconds", l.name)
}

// Move turns a servo, by its number in the sketch, to a pulse width in microseconds and
// waits until it has been told to be there.
func (l *Line) Move(servo, us int) error {
	there, lost := fmt.Sprintf("at %d %d", servo, us), false
	ok, gone := l.ask(fmt.Sprintf("%d %d %d", servo, us, servo+us), Patience, func(answer string) bool {
		lost = answer == fmt.Sprintf("lost %d", servo)
		return lost || answer == there
	})
	switch {
	case lost:
		return errors.New("its expander does not answer: look at the expander's supply, its address and its two wires")
	case ok:
		return nil
	case gone:
		return l.lost()
	}
	return fmt.Errorf("the board on %s does not answer any more: reset it, and begin again", l.name)
}
